//! Winters played week by week: planned again every Monday and at every storm, and nothing lost on the way.

use yardless_book::half_day::{HalfDay, Horizon};
use yardless_book::{Book, Code, Job, PathPart, WeekDay};
use yardless_check::check;
use yardless_engine::{Limits, impossible, plan, replan};
use yardless_plan::Plan;
use yardless_plan::shop::{KeptStep, Shop};

use yardless_support::draw::Draw;
use yardless_support::generate::full::full;
use yardless_support::generate::{Shape, generate};
use yardless_support::monday;
use yardless_support::news::{news, stand_in, tell};
use yardless_support::season::{horizon, play, surprise};

const WEEKS: u32 = 4;
/// Winters in a test run; YARDLESS_WINTERS plays another number.
const WINTERS: u64 = 12;
/// From the first Monday of December on.
const WEEKS_PLAYED: u32 = 14;
/// Weeks of a shop of persons in a test run; YARDLESS_FULL_WEEKS plays another number.
const FULL_WEEKS: u32 = 20;
/// Of each such winter.
const FULL_PLAYED: u32 = 10;

/// A shop from a half-day on. What news has made impossible the owner changes, as its fault tells: a start that was fixed is
/// fixed no more, a trailer that a storm keeps where it has no spot stands at the roadside. Any other fault that history
/// has made is a failure.
fn shop(book: &mut Book, now: HalfDay, kept: Option<&[KeptStep]>) -> Shop {
    let (horizon, now) = horizon(now, WEEKS);
    loop {
        let faults = match Shop::again(book, horizon, now, kept) {
            Ok(shop) => return shop,
            Err(faults) => faults,
        };
        for fault in &faults {
            match (fault.code, &fault.path.0[..]) {
                (Code::FixedStart, [_, PathPart::Index(job), _, PathPart::Index(step), ..]) => {
                    book.jobs[*job].steps[*step].fixed = None;
                }
                (Code::TooManyTrailers, [_, PathPart::Index(place), ..]) => {
                    let spots = book.places[*place].trailer_spots.expect("a limit");
                    book.places[*place].trailer_spots = Some(spots + 1);
                }
                _ => panic!("{fault:?}"),
            }
        }
    }
}

#[track_caller]
fn holds(shop: &Shop, plan: &Plan, seed: u64) {
    let verdict = check(shop, plan);
    let now = shop.horizon.half_day(shop.now);
    assert!(verdict.holds(), "seed {seed}, {now}: {:?}", verdict.breaches);
    assert_eq!((plan.costs, plan.cost), (verdict.costs, verdict.costs.total()), "seed {seed}, {now}");
}

/// Every step of every job has a row, comes later, or its job is left out with a reason.
#[track_caller]
fn nothing_is_lost(book: &Book, plan: &Plan, seed: u64) {
    for job in &book.jobs {
        let out = plan.left_out.iter().find(|row| row.job == job.id);
        let later = plan.later.iter().find(|row| row.job == job.id);
        let row = |id: &String| plan.steps.iter().any(|row| row.job == job.id && row.step == *id);
        let comes = |id: &String| later.is_some_and(|later| later.steps.is_empty() || later.steps.contains(id));
        let either = |id: &String| row(id) != comes(id);
        let told = match out {
            Some(out) => later.is_none() && !out.why.is_empty(),
            None => job.steps.iter().all(|step| either(&step.id)),
        };
        assert!(told, "seed {seed}, {:?}: {} is lost: {out:?}, {later:?}", plan.now, job.id);
    }
}

/// The steps that are done, as the book has them.
fn done(book: &Book) -> Vec<String> {
    let steps = book.jobs.iter().flat_map(|job| job.steps.iter().map(move |step| (job, step)));
    steps.filter_map(|(job, step)| step.done.as_ref().map(|done| format!("{} {} {done:?}", job.id, step.id))).collect()
}

/// What winters come to.
#[derive(Debug, Default)]
struct Tally {
    planned: usize,
    /// Jobs that came to their end.
    over: usize,
    /// Jobs left out though begun, and not because time has run out for a step that must follow within so long.
    stuck: usize,
    /// Steps between their spans.
    between: usize,
    /// Helpers who came instead of others.
    came: usize,
    /// Plans in which jobs are done in part.
    in_part: usize,
}

/// Plays a winter from its first plan on; `people` say what there is besides the weather and machines.
fn winter(seed: u64, mut book: Book, weeks: u32, people: bool, tally: &mut Tally) {
    let mut draw = Draw::new(seed ^ 0x5ea5);
    let mut said = Draw::new(seed ^ 0x6e65_7773);
    let calls = book.jobs.clone();
    let limits = Limits::steps(30);
    let mut shop_now = Shop::new(&book, Horizon::new(monday(), WEEKS).expect("a horizon")).expect("no fault");
    let mut kept = plan(&shop_now, "", &limits, &mut |_| {});
    holds(&shop_now, &kept, seed);
    let end = HalfDay::am(monday() + chrono::Days::new(7 * u64::from(weeks)));
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
        if people {
            tally.came += stand_in(&mut book, &shop_now, &kept, now, &mut said);
        }
        now = shop_now.horizon.half_day(index);
        let written = serde_json::to_vec(&book).expect("a book is JSON");
        if let Err(faults) = yardless_book::read(&written) {
            panic!("seed {seed}, {now}: {:?}", faults.all.iter().map(|(fault, _)| fault).collect::<Vec<_>>());
        }
        let power = |job: &Job| book.places.iter().find(|place| place.id == job.place).and_then(|of| of.power_from);
        let left = |job: &Job| job.steps.iter().filter(|step| step.between_spans(power(job))).count();
        tally.between += book.jobs.iter().map(left).sum::<usize>();
        surprise(&mut book, now, &mut draw);
        if people {
            news(&mut book, &calls, now, &mut said);
        }
        let after = done(&book);
        assert!(history.iter().all(|step| after.contains(step)), "seed {seed}: history was changed");
        shop_now = shop(&mut book, now, Some(&kept.kept()));
        kept = replan(&shop_now, "", &kept, &limits, &mut |_| {});
        holds(&shop_now, &kept, seed);
        nothing_is_lost(&book, &kept, seed);
        tally.planned += 1;
        tally.in_part += usize::from(kept.later.iter().any(|row| !row.steps.is_empty()));
        let begun = |id: &String| shop_now.jobs.pairs().find(|(_, job)| job.id == *id && job.started);
        let out = kept.left_out.iter().filter_map(|row| begun(&row.job));
        tally.stuck += out.filter(|(job, _)| impossible(&shop_now, *job).is_none()).count();
        if people {
            tell(&mut book, &kept, now, &mut said);
        }
    }
    tally.over += shop_now.jobs.iter().filter(|job| job.over()).count();
}

/// What makes a winter harder: overtime in every other one, and steps that may be left and come back to in every third.
fn harden(book: &mut Book, seed: u64) {
    if seed.is_multiple_of(2) {
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
}

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok().and_then(|n| n.parse().ok())
}

#[test]
fn winters_are_planned_through_and_nothing_is_lost() {
    let mut tally = Tally::default();
    let winters = number("YARDLESS_WINTERS").unwrap_or(WINTERS);
    for seed in 0..winters {
        let mut book = generate(Shape::new(10, WEEKS, 3), seed);
        harden(&mut book, seed);
        winter(seed, book, WEEKS_PLAYED, false, &mut tally);
    }
    println!("{tally:?}");
    let Tally { planned, over, stuck, between, .. } = tally;
    assert!(over > winters as usize * 5, "only {over} jobs came to their end");
    assert!(between > 0, "no step lay between its spans");
    // Two steps of one crew that both run over cannot both go on at once (W3, W4).
    assert!(stuck * 100 <= planned, "{stuck} jobs that had begun were left out in {planned} plans");
}

#[test]
fn winters_of_persons_are_planned_through_and_nothing_is_lost() {
    let mut tally = Tally::default();
    let weeks = number("YARDLESS_FULL_WEEKS").unwrap_or(u64::from(FULL_WEEKS));
    let winters = weeks.div_ceil(u64::from(FULL_PLAYED));
    for seed in 0..winters {
        let shape = if seed.is_multiple_of(2) { Shape::new(10, WEEKS, 3) } else { Shape::new(6, WEEKS, 2) };
        let mut book = full(shape, seed);
        harden(&mut book, seed);
        winter(seed, book, FULL_PLAYED, true, &mut tally);
    }
    println!("{tally:?}");
    let Tally { planned, over, stuck, came, in_part, .. } = tally;
    assert!(over > winters as usize * 3, "only {over} jobs came to their end");
    assert!(came > 0 && in_part > 0, "{came} came instead of others, {in_part} plans in part");
    // What its season shuts in, or keeps away from the one trailer, has no end in these weeks.
    assert!(stuck * 20 <= planned, "{stuck} jobs that had begun were left out in {planned} plans");
}
