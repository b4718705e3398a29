//! Winters played week by week: planned again every Monday and at every storm, and nothing lost on the way.

use yardless_book::half_day::{HalfDay, Horizon};
use yardless_book::{Book, Code, Job, PathPart, WeekDay};
use yardless_check::check;
use yardless_engine::{Limits, impossible, plan, replan};
use yardless_plan::Plan;
use yardless_plan::shop::{KeptStep, Shop};

use yardless_support::draw::Draw;
use yardless_support::generate::{Shape, generate};
use yardless_support::monday;
use yardless_support::season::{horizon, play, surprise};

const WEEKS: u32 = 4;
/// Winters in a test run; YARDLESS_WINTERS plays another number.
const WINTERS: u64 = 12;
/// From the first Monday of December on.
const WEEKS_PLAYED: u32 = 14;

/// A shop from a half-day on. A fixed start that the weather has made impossible is taken away, as its fault tells the
/// owner to do; any other fault that history has made is a failure.
fn shop(book: &mut Book, now: HalfDay, kept: Option<&[KeptStep]>) -> Shop {
    let (horizon, now) = horizon(now, WEEKS);
    Shop::again(book, horizon, now, kept).unwrap_or_else(|faults| {
        assert!(faults.iter().all(|fault| fault.code == Code::FixedStart), "{faults:?}");
        for fault in &faults {
            let [_, PathPart::Index(job), _, PathPart::Index(step), ..] = fault.path.0[..] else { panic!("{fault:?}") };
            book.jobs[job].steps[step].fixed = None;
        }
        Shop::again(book, horizon, now, kept).unwrap_or_else(|faults| panic!("{faults:?}"))
    })
}

#[track_caller]
fn holds(shop: &Shop, plan: &Plan) {
    let verdict = check(shop, plan);
    assert!(verdict.holds(), "{:?}", verdict.breaches);
    assert_eq!((plan.costs, plan.cost), (verdict.costs, verdict.costs.total()));
}

/// The steps that are done, as the book has them.
fn done(book: &Book) -> Vec<String> {
    let steps = book.jobs.iter().flat_map(|job| job.steps.iter().map(move |step| (job, step)));
    steps.filter_map(|(job, step)| step.done.as_ref().map(|done| format!("{} {} {done:?}", job.id, step.id))).collect()
}

#[test]
fn winters_are_planned_through_and_nothing_is_lost() {
    let (mut stuck, mut planned, mut over, mut between) = (0, 0, 0, 0);
    let winters = std::env::var("YARDLESS_WINTERS").ok().and_then(|n| n.parse().ok()).unwrap_or(WINTERS);
    for seed in 0..winters {
        let mut draw = Draw::new(seed ^ 0x5ea5);
        let mut book = generate(Shape::new(10, WEEKS, 3), seed);
        if seed % 2 == 0 {
            book.shop.overtime_days = vec![WeekDay::Sat];
            book.prices.overtime_half_day = yardless_book::money::Cents(6_000);
        }
        if seed % 3 == 1 {
            // Some plans then lie between the spans of a step when they are made again (W10).
            book.prices.come_back = yardless_book::money::Cents(100);
            for step in book.jobs.iter_mut().flat_map(|job| &mut job.steps) {
                step.may_split = true;
            }
        }
        let limits = Limits::steps(30);
        let first = Shop::new(&book, Horizon::new(monday(), WEEKS).expect("a horizon")).expect("no fault");
        let mut kept = plan(&first, "", &limits, &mut |_| {});
        holds(&first, &kept);
        let mut shop_now = first;
        let end = HalfDay::am(monday() + chrono::Days::new(7 * u64::from(WEEKS_PLAYED)));
        let mut now = HalfDay::am(monday());
        while now < end {
            // The next Monday, or a storm before it.
            let next = HalfDay::am(Horizon::monday_of(now.date()) + chrono::Days::new(7));
            let mut until = now.following();
            let storm = draw.below(14);
            while until < next && (until.date() - now.date()).num_days() < storm as i64 {
                until = until.following();
            }
            let history = done(&book);
            let index = shop_now.horizon.index(until).unwrap_or(shop_now.len() - 1);
            play(&mut book, &shop_now, &kept, index, &mut draw);
            now = shop_now.horizon.half_day(index);
            let written = serde_json::to_vec(&book).expect("a book is JSON");
            if let Err(faults) = yardless_book::read(&written) {
                panic!("seed {seed}, {now}: {:?}", faults.all.iter().map(|(fault, _)| fault).collect::<Vec<_>>());
            }
            let power = |job: &Job| book.places.iter().find(|place| place.id == job.place).and_then(|of| of.power_from);
            let left = |job: &Job| job.steps.iter().filter(|step| step.between_spans(power(job))).count();
            between += book.jobs.iter().map(left).sum::<usize>();
            surprise(&mut book, now, &mut draw);
            let after = done(&book);
            assert!(history.iter().all(|step| after.contains(step)), "seed {seed}: history was changed");
            shop_now = shop(&mut book, now, Some(&kept.kept()));
            kept = replan(&shop_now, "", &kept, &limits, &mut |_| {});
            holds(&shop_now, &kept);
            planned += 1;
            // Left out though begun, and not because time has run out for a step that must follow within so long.
            let begun = |id: &String| shop_now.jobs.pairs().find(|(_, job)| job.id == *id && job.started);
            let out = kept.left_out.iter().filter_map(|row| begun(&row.job));
            stuck += out.filter(|(job, _)| impossible(&shop_now, *job).is_none()).count();
        }
        over += shop_now.jobs.iter().filter(|job| job.over()).count();
    }
    assert!(over > winters as usize * 5, "only {over} jobs came to their end");
    assert!(between > 0, "no step lay between its spans");
    println!(
        "{planned} plans, {over} jobs over, {stuck} that had begun without an end, {between} steps between their spans"
    );
    // Two steps of one crew that both run over cannot both go on at once (W3, W4).
    assert!(stuck * 100 <= planned, "{stuck} jobs that had begun were left out in {planned} plans");
}
