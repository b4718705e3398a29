//! The kept plan stands (N3): midway through generated weeks, where the plan given out still holds by the checker and
//! none is cheaper by `worth_changing`, planning again gives that very plan.

use yardless_book::half_day::Horizon;
use yardless_book::money::Cents;
use yardless_book::{Book, WeekDay};
use yardless_check::check;
use yardless_engine::{Limits, STANDS, plan, replan};
use yardless_plan::shop::{Amount, Shop, StepId};
use yardless_plan::{LaterRow, LeftOutRow, ParkedRow, Plan, StepRow};

use yardless_support::draw::Draw;
use yardless_support::generate::{Shape, generate};
use yardless_support::monday;
use yardless_support::season::{horizon, play, surprise};

/// Weeks planned; YARDLESS_REPLANNINGS plans again another number of times.
const WEEKS: u32 = 3;
const REPLANNINGS: usize = 60;

/// The plan given out as the book has it from now on, read from the text of N1: what is done is as the book says, what
/// is in progress goes on by its crew, in its way, with its units until what is left is done, and a job that has begun
/// keeps the units that the book names until its last step ends. `None`: a step in progress cannot end.
fn from_now(book: &Book, shop: &Shop, kept: &Plan) -> Option<Plan> {
    let now = shop.horizon.half_day(shop.now);
    let mut plan = Plan {
        from: shop.horizon.monday(),
        weeks: shop.horizon.weeks(),
        now: Some(now),
        bound: None,
        proven: false,
        steps: Vec::new(),
        parked: Vec::new(),
        left_out: Vec::new(),
        later: Vec::new(),
        ..kept.clone()
    };
    plan.hauls.retain(|haul| haul.at >= now);
    let mut open = shop.steps.ids();
    for (job, facts) in book.jobs.iter().zip(shop.jobs.iter()) {
        let mut rows: Vec<StepRow> = Vec::new();
        let mut whole = true;
        for step in &job.steps {
            let told = kept.steps.iter().find(|row| row.job == job.id && row.step == step.id);
            let row = |crew: &str, with: &[String], way: &Option<String>, (start, end), units: &[String]| StepRow {
                job: job.id.clone(),
                step: step.id.clone(),
                way: way.clone().unwrap_or_else(|| "usual".to_owned()),
                crew: crew.to_owned(),
                with: with.to_vec(),
                start,
                end,
                units: units.to_vec(),
                span: 1,
                overtime: told.is_some_and(|told| told.overtime),
            };
            if let Some(done) = &step.done {
                rows.push(StepRow {
                    overtime: false,
                    ..row(&done.crew, &done.with, &done.way, (done.start, done.end), &[])
                });
                continue;
            }
            let id = open.next().expect("an open step");
            if let Some(going) = &step.progress {
                let (end, overtime) = end(shop, id, told.is_some_and(|told| told.overtime), going.left)?;
                let end = shop.horizon.half_day(end);
                let row = row(&going.crew, &going.with, &going.way, (going.start, end), &going.units);
                rows.push(StepRow { overtime, ..row });
            } else {
                rows.extend(told.cloned());
                whole &= told.is_some();
            }
        }
        let begun = job.steps.iter().any(|step| step.done.is_some() || step.progress.is_some());
        let over = job.steps.iter().all(|step| step.done.is_some());
        if facts.later {
            plan.later.push(LaterRow { job: job.id.clone(), steps: Vec::new() });
        } else if whole {
            plan.steps.extend(rows);
            let units = if begun {
                job.parked.iter().flat_map(|parked| parked.units.clone()).collect()
            } else {
                let told = kept.parked.iter().find(|row| row.job == job.id);
                told.map_or_else(Vec::new, |row| row.units.clone())
            };
            if !over && !units.is_empty() {
                plan.parked.push(ParkedRow { job: job.id.clone(), units });
            }
        } else {
            plan.left_out.push(LeftOutRow { job: job.id.clone(), why: String::new() });
        }
    }
    plan.costs = check(shop, &plan).costs;
    plan.cost = plan.costs.total();
    Some(plan)
}

/// The half-day in which what is left of a step in progress is done, by its crew with those that help it and in its way
/// (W3), and whether it works in overtime until then (W9).
fn end(shop: &Shop, step: StepId, overtime: bool, left: f64) -> Option<(usize, bool)> {
    let facts = &shop.steps[step];
    let team = &shop.teams[*facts.teams.first()?];
    let base = facts.fixed.way?;
    let way = facts.ways.iter().position(|way| way.base == base && way.overtime == overtime)?;
    let hours = matches!(facts.ways[way].amount, Amount::Hours(_));
    let (mut left, mut late) = (left, false);
    for h in (shop.now..shop.len()).filter(|h| shop.obstacle(step, way, team, *h).is_none()) {
        let people = shop.present(team, h).min(facts.max_people.unwrap_or(u32::MAX));
        left -= if hours { f64::from(people) * shop.book.shop.half_day_hours } else { 1.0 };
        late |= shop.overtime[h];
        if left < 1e-7 {
            return Some((h, late));
        }
    }
    None
}

/// What the crews and the owner go by, the steps in one order: a line a row.
fn rows(plan: &Plan) -> String {
    let mut steps = plan.steps.clone();
    steps.sort_by(|a, b| (&a.job, &a.step, a.span).cmp(&(&b.job, &b.step, b.span)));
    let out: Vec<&String> = plan.left_out.iter().map(|row| &row.job).collect();
    let rows = serde_json::to_string(&(steps, &plan.parked, &plan.hauls, &plan.later, out)).expect("a plan is JSON");
    rows.replace("},", "},\n")
}

#[test]
fn plan_that_holds_stands_unless_another_is_worth_changing_to() {
    let most = std::env::var("YARDLESS_REPLANNINGS").ok().and_then(|n| n.parse().ok()).unwrap_or(REPLANNINGS);
    let (mut asked, mut stood, mut wrong) = (0, 0, Vec::new());
    for seed in 0.. {
        let mut draw = Draw::new(seed ^ 0x0005_7a4d);
        let mut book = generate(Shape::new(5, WEEKS, 2), 40_000 + seed);
        // Small changes are worth their while at times.
        book.prices.worth_changing = Cents(draw.pick(&[5_000, 5_000, 500, 1]));
        book.prices.change = Cents(draw.pick(&[6_000, 100, 1]));
        if seed % 2 == 0 {
            book.shop.overtime_days = vec![WeekDay::Sat];
            book.prices.overtime_half_day = Cents(draw.pick(&[500, 4_000]));
        }
        let limits = Limits::steps(60);
        let mut shop = Shop::new(&book, Horizon::new(monday(), WEEKS).expect("a horizon")).expect("no fault");
        let mut kept = plan(&shop, "", &limits, &mut |_| {});
        for _ in 0..4 {
            let until = (shop.now + draw.between(1, 9)).min(shop.len() - 1);
            play(&mut book, &shop, &kept, until, &mut draw);
            let now = shop.horizon.half_day(until);
            // Some have got on better than planned.
            let going = book.jobs.iter_mut().flat_map(|job| &mut job.steps).filter_map(|step| step.progress.as_mut());
            going.filter(|_| draw.below(4) == 0).for_each(|progress| progress.left = progress.left.min(1.0));
            if draw.below(3) == 0 {
                surprise(&mut book, now, &mut draw);
            }
            let (weeks, index) = horizon(now, WEEKS);
            let Ok(again) = Shop::again(&book, weeks, index, Some(&kept.kept())) else { break };
            shop = again;
            let given = from_now(&book, &shop, &kept);
            let new = replan(&shop, "", &kept, &limits, &mut |_| {});
            asked += 1;
            if let Some(given) = given.filter(|given| check(&shop, given).holds()) {
                let begun = |row: &&LeftOutRow| shop.jobs.iter().any(|job| job.id == row.job && job.started);
                let without_end = |plan: &Plan| plan.left_out.iter().filter(begun).count();
                let cheaper = new.cost <= given.cost - book.prices.worth_changing;
                let stands = rows(&new) == rows(&given);
                stood += usize::from(stands);
                if !stands && (!cheaper || new.stopped == STANDS) && without_end(&new) >= without_end(&given) {
                    wrong.push(format!(
                        "seed {seed}, {}: {} for {} ({})\n{}\n{}",
                        now,
                        new.cost,
                        given.cost,
                        new.stopped,
                        rows(&given),
                        rows(&new)
                    ));
                } else if new.cost > given.cost {
                    wrong
                        .push(format!("seed {seed}, {now}: {} is dearer than the kept plan, {}", new.cost, given.cost));
                }
            }
            kept = new;
        }
        if asked >= most {
            break;
        }
    }
    println!("planned again {asked} times, the plan given out stood {stood} times");
    assert!(stood * 3 > asked, "only {stood} of {asked} stood");
    assert!(wrong.is_empty(), "{} of {asked}:\n{}", wrong.len(), wrong[..wrong.len().min(2)].join("\n\n"));
}
