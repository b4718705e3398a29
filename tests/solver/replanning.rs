//! Planning again, from outside: the cases of rescheduling, and tiny books midway through their week against trying
//! everything (N1 to N3, W9).

use chrono::NaiveDate;
use serde_json::{Value, json};
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_book::money::Cents;
use yardless_book::{Book, Fault, Job};
use yardless_check::check;
use yardless_engine::{Limits, STANDS, lagrangian_bound, plan_from, replan};
use yardless_plan::shop::{KeptStep, Shop};
use yardless_plan::{LeftOutRow, Plan, Rule, StepRow};

use yardless_support::exhaustive::best_from;
use yardless_support::midway::{Midway, midway_with};
use yardless_support::tiny::Fields;
use yardless_support::{cases, monday};

const PATIENCE: f64 = 120.0;
/// Far more states than any case or midway book takes.
const MOST: usize = 500_000;

/// What a kept plan says of steps.
fn kept_steps(kept: &Value) -> Vec<KeptStep> {
    serde_json::from_value::<Plan>(kept.clone()).expect("a plan").kept()
}

fn shop(book: &Book, from: NaiveDate, weeks: u32, now: usize, kept: Option<&Value>) -> Result<Shop, Vec<Fault>> {
    let kept = kept.map(kept_steps).unwrap_or_default();
    Shop::again(book, Horizon::new(from, weeks).expect("a horizon"), now, Some(&kept))
}

/// Plans, and asks of every plan what must be true of all.
#[track_caller]
fn planned(shop: &Shop) -> Plan {
    let plan = plan_from(shop, "", None, &Limits::seconds(PATIENCE), &mut |_| {});
    let verdict = check(shop, &plan);
    assert!(verdict.holds(), "{:?}", verdict.breaches);
    assert_eq!((plan.costs, plan.cost), (verdict.costs, verdict.costs.total()));
    assert!(plan.bound.is_none_or(|bound| bound <= plan.cost));
    plan
}

#[test]
fn cases_of_rescheduling_are_proven_at_their_best_cost() {
    let mut wrong = Vec::new();
    let cases: Vec<_> = cases::rescheduling().into_iter().chain(cases::splitting()).collect();
    assert!(cases.len() >= 37);
    for case in cases {
        let shop = shop(&case.book, case.from, case.weeks, case.now, case.kept.as_ref()).expect("no fault");
        let plan = planned(&shop);
        let mut left_out: Vec<_> = plan.left_out.iter().map(|row| row.job.clone()).collect();
        left_out.sort();
        let best = Cents(case.best_cents);
        if !plan.proven || plan.cost != best || left_out != case.left_out {
            let bound = plan.bound.map(|bound| bound.to_string());
            wrong.push(format!("{}: {}, bound {bound:?}, {left_out:?}; the best is {best}", case.name, plan.cost));
        }
        let bounds = [1, 40, 1000].map(|rounds| lagrangian_bound(&shop, rounds));
        if bounds.iter().any(|bound| *bound > best) {
            wrong.push(format!("{}: bounds by prices {bounds:?} over {best}", case.name));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Compares a book midway with trying everything, and says what is wrong; nothing where it is too big, or has a fault.
fn compared(seed: u64, made: &Midway, wrong: &mut Vec<String>) -> Option<(Plan, Plan)> {
    let best = best_from(&made.book, monday(), 1, made.now, Some(&made.kept), MOST)?;
    // A fixed start in which a unit is out is a fault of the book.
    let shop = shop(&made.book, monday(), 1, made.now, Some(&made.kept)).ok()?;
    let found: Plan = serde_json::from_value(best.plan.clone()).expect("a plan");
    let verdict = check(&shop, &found);
    let breaches: Vec<_> =
        verdict.breaches.iter().filter(|breach| !matches!(breach.rule, Rule::Cost | Rule::Bound)).collect();
    if !breaches.is_empty() || verdict.costs.total() != Cents(best.cents) {
        let best = Cents(best.cents);
        wrong.push(format!("{seed}: the checker finds {} and {breaches:?}; {best}", verdict.costs.total()));
    }
    let plan = planned(&shop);
    if plan.cost != Cents(best.cents) || !plan.proven {
        wrong.push(format!("{seed}: {}, bound {:?}; the best is {}", plan.cost, plan.bound, Cents(best.cents)));
    }
    Some((found, plan))
}

/// A tiny book midway, what trying everything finds for it, and its plan.
struct Replanned {
    made: Midway,
    found: Plan,
    plan: Plan,
}

impl Replanned {
    fn now(&self) -> HalfDay {
        Horizon::new(monday(), 1).expect("a horizon").half_day(self.made.now)
    }
}

/// Plans tiny books midway that give some fields: each as well as by trying everything. Those that are too big are passed
/// over.
#[track_caller]
fn replanned(fields: Fields, seeds: impl Iterator<Item = u64>) -> Vec<Replanned> {
    let (mut wrong, mut all) = (Vec::new(), Vec::new());
    for seed in seeds {
        let made = midway_with(seed, seed % 2 == 1, fields);
        let Some((found, plan)) = compared(seed, &made, &mut wrong) else { continue };
        let in_part = matches!(fields, Fields::InPart | Fields::PartEquipment);
        if in_part && found.later != plan.later && plan.left_out.len() == found.left_out.len() {
            wrong.push(format!("{seed}: later are {:?}, not {:?}", found.later, plan.later));
        }
        all.push(Replanned { made, found, plan });
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), all.len(), wrong.join("\n"));
    all
}

/// The same of so many, of which nearly all are small enough.
#[track_caller]
fn nearly_all_replanned(fields: Fields, books: u64) -> Vec<Replanned> {
    let all = replanned(fields, 0..books);
    assert!(all.len() as u64 > books * 9 / 10, "only {}", all.len());
    all
}

/// How many show something.
fn many(all: &[Replanned], shows: impl Fn(&Replanned) -> bool) -> u64 {
    all.iter().filter(|of| shows(of)).count() as u64
}

fn books(usual: u64) -> u64 {
    std::env::var("YARDLESS_MIDWAY").ok().and_then(|books| books.parse().ok()).unwrap_or(usual)
}

#[test]
fn tiny_books_midway_are_planned_as_well_as_by_trying_everything() {
    let books = books(MIDWAY);
    let all = replanned(Fields::First, (0..books).chain(GOES_ON_FROM_A_DAY_OFF));
    let spans = many(&all, |of| of.found.steps.iter().any(|row| row.span == 2));
    // A second span alone, before anything else can have been: it was left before now.
    let at_once = |of: &Replanned| {
        let now = of.now();
        of.found.steps.iter().any(|row: &StepRow| row.span == 2 && row.start == now)
    };
    let between = many(&all, at_once);
    assert!(
        all.len() as u64 > books * 9 / 10 && spans >= books / 40,
        "only {}, {spans} with a step in two spans",
        all.len()
    );
    assert!(between >= books / 60, "only {between} with a step come back to at once");
}

#[test]
fn tiny_books_with_waits_midway_are_planned_as_well_as_by_trying_everything() {
    let all = nearly_all_replanned(Fields::Waits, books(MIDWAY));
    let broken_words = many(&all, |of| of.plan.costs.told > Cents(0));
    // One that keeps its crew and its date, and not its half-day.
    let moved = |kept: &KeptStep, row: &StepRow| {
        (&kept.job, &kept.step, &kept.crew) == (&row.job, &row.step, &row.crew)
            && kept.start.date() == row.start.date()
            && kept.start != row.start
    };
    let same_date = many(&all, |of| {
        let kept = kept_steps(&of.made.kept);
        of.plan.steps.iter().any(|row| kept.iter().any(|kept| moved(kept, row)))
    });
    assert!(broken_words >= 5 && same_date >= 5, "{broken_words} with a word broken, {same_date} moved within a date");
}

#[test]
fn tiny_books_with_help_midway_are_planned_as_well_as_by_trying_everything() {
    let books = books(MIDWAY * 9 / 10);
    let all = nearly_all_replanned(Fields::Help, books);
    let helped = many(&all, |of| of.found.steps.iter().any(is_helped));
    let spans = many(&all, |of| of.found.steps.iter().any(|row| row.span == 2 && is_helped(row)));
    assert!(helped >= books / 4 && spans >= 3, "{helped} with help, {spans} with help in a second span");
}

#[test]
fn tiny_books_with_stops_midway_are_planned_as_well_as_by_trying_everything() {
    let books = books(MIDWAY / 2);
    let all = nearly_all_replanned(Fields::Stops, books);
    let beside = many(&all, |of| {
        let steps = of.found.steps.iter().filter(|row| row.start >= of.now());
        let mut at: Vec<_> = steps.map(|row| (&row.crew, row.start, row.end)).collect();
        let rows = at.len();
        at.sort();
        at.dedup();
        at.len() < rows
    });
    assert!(beside >= books / 10, "{beside} with work side by side");
}

#[test]
fn tiny_books_in_part_midway_are_planned_as_well_as_by_trying_everything() {
    let all = nearly_all_replanned(Fields::InPart, books(IN_PART));
    let in_part = many(&all, |of| of.plan.parts().count() > 0);
    let begun = many(&all, |of| {
        let job = |id: &str| of.made.book.jobs.iter().find(|job| job.id == id).expect("a job");
        of.plan.parts().any(|row| job(&row.job).steps.iter().any(yardless_book::Step::started))
    });
    let dropped = many(&all, |of| {
        let kept = kept_steps(&of.made.kept);
        of.plan.parts().any(|row| kept.iter().any(|kept| kept.job == row.job && row.steps.contains(&kept.step)))
    });
    assert!(in_part >= 20 && begun >= 10 && dropped >= 3, "{in_part} in part, {begun} begun, {dropped} dropped");
}

#[test]
fn tiny_books_with_days_midway_are_planned_as_well_as_by_trying_everything() {
    let books = books(MIDWAY / 2);
    let driven = many(&nearly_all_replanned(Fields::Days, books), |of| of.plan.costs.driving > Cents(0));
    assert!(driven >= books / 10, "{driven} with rounds");
}

#[test]
fn tiny_books_with_costs_midway_are_planned_as_well_as_by_trying_everything() {
    let books = books(COSTS_MIDWAY);
    let all = replanned(Fields::Costs, 0..books);
    let standing = many(&all, |of| of.plan.costs.standing > Cents(0));
    let hire = many(&all, |of| of.plan.costs.hire > Cents(0));
    let open = many(&all, |of| of.plan.costs.open > Cents(0));
    let shown = standing > books / 4 && hire > books / 10 && open > books / 5;
    let enough = all.len() as u64 > books * 8 / 10;
    assert!(enough && shown, "{}: {standing} with standing, {hire} with hire, {open} open", all.len());
}

#[test]
fn tiny_books_with_dates_to_be_home_midway_are_planned_as_well_as_by_trying_everything() {
    let books = books(COSTS_MIDWAY);
    let all = replanned(Fields::Home, 0..books);
    let home = many(&all, |of| of.plan.costs.home > Cents(0));
    let clear = many(&all, |of| of.plan.costs.clear > Cents(0));
    let enough = all.len() as u64 > books * 7 / 10;
    let shown = home > books / 5 && clear > books / 20;
    assert!(enough && shown, "{}: {home} late home, {clear} not cleared in time", all.len());
}

#[test]
fn tiny_books_with_equipment_midway_are_planned_as_well_as_by_trying_everything() {
    nearly_all_replanned(Fields::Equipment, books(MIDWAY));
}

#[test]
fn tiny_books_in_part_with_equipment_midway_are_planned_as_well_as_by_trying_everything() {
    let books = books(MIDWAY / 2);
    let all = replanned(Fields::PartEquipment, 0..books);
    let from_step_to_step = many(&all, |of| {
        let in_part = |job: &Job| of.plan.parts().any(|row| row.job == job.id);
        let held = |job: &Job| of.plan.parked.iter().any(|row| row.job == job.id);
        of.made.book.jobs.iter().any(|job| in_part(job) && job.parks_apart() && held(job))
    });
    let enough = all.len() as u64 > books * 8 / 10 && from_step_to_step >= books / 30;
    assert!(enough, "only {}, {from_step_to_step} parked in part", all.len());
}

/// Whether a row names helpers.
fn is_helped(row: &StepRow) -> bool {
    !row.with.is_empty()
}

const COSTS_MIDWAY: u64 = 60;
const IN_PART: u64 = 120;
const MIDWAY: u64 = 100;
/// A step is in progress and nobody works now: what the prices took out was another run than the program's.
const GOES_ON_FROM_A_DAY_OFF: [u64; 1] = [1258];

#[test]
fn kept_plan_that_leaves_more_without_an_end_than_need_be_does_not_stand() {
    // Of three jobs in progress x wants both crews, y and z one each: one plan ends x alone, for 16.16 + 150 + 2 x 10, the
    // other y and z, for 2 x 16.08 + 1000.
    let case = cases::rescheduling().into_iter().find(|case| case.name == "few-without-end").expect("the case");
    let shop = |book: &Book| shop(book, case.from, case.weeks, case.now, None).expect("no fault");
    let mut alone = case.book.clone();
    alone.jobs.retain(|job| job.id == "x");
    let whole = shop(&case.book);
    let out = |id: &str| LeftOutRow { job: id.to_owned(), why: String::new() };
    let rest = planned(&shop(&alone));
    let mut kept = Plan { left_out: vec![out("y"), out("z")], bound: None, proven: false, ..rest };
    kept.costs = check(&whole, &kept).costs;
    kept.cost = kept.costs.total();
    assert_eq!((kept.cost, check(&whole, &kept).breaches), (Cents(18_616), Vec::new()));
    let new = replan(&whole, "", &kept, &Limits::seconds(PATIENCE), &mut |_| {});
    assert_eq!((new.cost, new.left_out.len()), (Cents(103_216), 1));
}

#[test]
fn kept_plan_stands_between_the_spans_of_a_step_and_within_the_second() {
    let case = cases::splitting().into_iter().find(|case| case.name == "may_split/left-before").expect("the case");
    let row = |job: &str, crew: &str, span: u32, at: &str| {
        json!({
            "job": job, "step": "blow", "way": "usual", "crew": crew, "start": at, "end": at, "units": ["blower"], "span": span
        })
    };
    // y on Tuesday am, x again on Wednesday: a half-day later than could be, which is worth no change.
    let kept = json!({
        "plan": 1, "from": "2026-12-07", "weeks": 1, "cost": 0,
        "steps": [row("x", "north", 1, "2026-12-07 am"), row("x", "north", 2, "2026-12-09 am"),
            row("y", "south", 1, "2026-12-08 am")],
        "hauls": [
            { "unit": "blower", "from": "a", "to": "b", "at": "2026-12-07 pm", "truck": "t1", "minutes": 40 },
            { "unit": "blower", "from": "b", "to": "a", "at": "2026-12-08 pm", "truck": "t1", "minutes": 40 }
        ]
    });
    let mut book = serde_json::to_value(&case.book).expect("JSON");
    let done = json!({ "crew": "south", "start": "2026-12-08 am", "end": "2026-12-08 am" });
    book["jobs"][1]["steps"][0]["done"] = done;
    book["jobs"][0].as_object_mut().expect("a job").remove("due");
    let again = |book: &Value, kept: &Value, now: usize| {
        let book: Book = serde_json::from_value(book.clone()).expect("a book");
        let shop = shop(&book, case.from, case.weeks, now, Some(kept)).expect("no fault");
        let kept: Plan = serde_json::from_value(kept.clone()).expect("a plan");
        let new = replan(&shop, "", &kept, &Limits::seconds(PATIENCE), &mut |_| {});
        let verdict = check(&shop, &new);
        assert!(verdict.holds(), "{:?}", verdict.breaches);
        let x = new.steps.iter().filter(|row| row.job == "x");
        let rows: Vec<_> = x.map(|row| (row.span, row.start.to_string(), row.end.to_string())).collect();
        (new.stopped, new.cost, rows)
    };
    let at = |text: &str| text.to_owned();
    // Tuesday pm: y ended at index 2, 4.02; the haul 10; x at index 4, 80 + 8.04.
    let between = again(&book, &kept, 3);
    let rest = vec![(2, at("2026-12-09 am"), at("2026-12-09 am"))];
    assert_eq!(between, (at(STANDS), Cents(10_206), rest));
    // Two half-days are left and Wednesday am is over: the second span is what goes on, and has been come back to.
    let mut kept = kept.clone();
    kept["steps"][1]["end"] = json!("2026-12-09 pm");
    book["equipment"][0]["place"] = json!("a");
    book["jobs"][0]["steps"][0]["progress"]["units"] = json!(["blower"]);
    let on = vec![(1, at("2026-12-07 am"), at("2026-12-09 pm"))];
    assert_eq!(again(&book, &kept, 5), (at(STANDS), Cents(402 + 1005), on));
}

/// The generator came in Wednesday's evening, when the trailer was to leave the one spot: that haul is Thursday's first.
#[test]
fn trailer_over_the_spots_midway_is_hauled_away_at_once() {
    let towed = |id: &str| json!({ "id": id, "kinds": [id], "moves": "towed", "place": "drive" });
    let book = yardless_support::book(json!({
        "book": 1,
        "shop": { "name": "Midway", "time_zone": "America/New_York" },
        "places": [{ "id": "drive", "trailer_spots": 1 }, { "id": "field" }],
        "drives": [{ "from": "drive", "to": "field", "minutes": 20 }],
        "crews": [],
        "trucks": [{ "id": "truck", "tow_lb": 9000 }],
        "equipment": [towed("trailer"), towed("generator")],
        "jobs": []
    }));
    let plan = planned(&shop(&book, monday(), 1, 6, None).expect("no fault"));
    // 20 + 30 minutes towed, and nothing else to do.
    assert_eq!((plan.cost, plan.proven, plan.hauls.len()), (Cents(5000), true, 1));
    assert_eq!((plan.hauls[0].at.to_string().as_str(), plan.hauls[0].evening), ("2026-12-10 am", false));
}
