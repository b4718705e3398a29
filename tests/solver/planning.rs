//! The engine from outside: the cases, trying everything, planted plans, laws, and two published yardsticks.

#[path = "../support/mod.rs"]
mod support;

use chrono::NaiveDate;
use support::exhaustive::best;
use support::generate::{Shape, generate};
use support::planted::{Size, planted};
use support::rewrite::{a_week_later, renamed, reordered};
use support::tiny::tiny;
use support::{cases, monday, yardsticks};
use yardless_solver::book::Book;
use yardless_solver::engine::{Limits, plan};
use yardless_solver::half_day::Horizon;
use yardless_solver::money::Cents;
use yardless_solver::plan::{Plan, check};
use yardless_solver::shop::Shop;

/// Longer than any book here takes: a proof that does not come is a failure, not a matter of the machine.
const PATIENCE: f64 = 300.0;

/// Plans a book, and asks of every plan what must be true of all: it holds, and its bound is no lie about its cost.
#[track_caller]
fn planned(book: &Book, from: NaiveDate, weeks: u32, limits: &Limits) -> Plan {
    let shop = Shop::new(book, Horizon::new(from, weeks).expect("a horizon")).expect("a book without fault");
    let plan = plan(&shop, "", limits, &mut |_| {});
    let verdict = check(&shop, &plan);
    assert!(verdict.holds(), "{:?}", verdict.breaches);
    assert_eq!((plan.costs, plan.cost), (verdict.costs, verdict.costs.total()));
    assert!(plan.bound.is_none_or(|bound| bound <= plan.cost));
    assert_eq!(plan.proven, plan.bound == Some(plan.cost));
    plan
}

#[track_caller]
fn proven(book: &Book, from: NaiveDate, weeks: u32) -> Plan {
    let plan = planned(book, from, weeks, &Limits::seconds(PATIENCE));
    assert!(plan.proven, "stopped: {}", plan.stopped);
    plan
}

#[test]
fn cases_are_proven_at_their_best_cost() {
    let cases = cases::all();
    assert!(cases.len() >= 57);
    let mut wrong = Vec::new();
    for case in cases {
        let plan = planned(&case.book, case.from, case.weeks, &Limits::seconds(PATIENCE));
        let mut left_out: Vec<_> = plan.left_out.iter().map(|row| row.job.clone()).collect();
        left_out.sort();
        if !plan.proven || plan.cost != Cents(case.best_cents) || left_out != case.left_out {
            let best = Cents(case.best_cents);
            wrong.push(format!(
                "{}: {}, bound {:?}, left out {left_out:?}; the best is {best}",
                case.name, plan.cost, plan.bound
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn tiny_books_cost_what_trying_everything_finds() {
    let mut compared = 0;
    for seed in 0..200 {
        let book = tiny(seed);
        let Some(best) = best(&book, monday(), 1, 300_000) else { continue };
        let plan = proven(&book, monday(), 1);
        assert_eq!(plan.cost, Cents(best.cents), "tiny book {seed}: {}", serde_json::to_string(&book).expect("JSON"));
        compared += 1;
    }
    // The few that take too many states are passed over; no more than that.
    assert!(compared >= 190, "{compared}");
}

#[test]
fn planted_plans_are_never_cheaper_than_the_proven_one() {
    for seed in 0..12 {
        let hidden = planted(Size { jobs: 4, weeks: 2, crews: 2 }, seed);
        let plan = proven(&hidden.book, monday(), 2);
        assert!(plan.cost <= hidden.plan.cost, "planted book {seed}: {} over {}", plan.cost, hidden.plan.cost);
    }
}

#[test]
fn planted_plans_are_never_cheaper_than_a_bound() {
    for (size, seed) in
        [(10, 0), (10, 1), (16, 2), (24, 3)].map(|(jobs, seed)| (Size { jobs, weeks: 4, crews: 3 }, seed))
    {
        let hidden = planted(size, seed);
        let plan = planned(&hidden.book, monday(), 4, &Limits::seconds(4.0));
        let bound = plan.bound.expect("a bound");
        assert!(bound <= hidden.plan.cost, "planted book {seed}: bound {bound} over {}", hidden.plan.cost);
    }
}

/// Small books for the laws, proven within a moment.
fn small(seasons: bool) -> impl Iterator<Item = Book> {
    (0..6).map(move |seed| generate(Shape { seasons, ..Shape::new(3, 2, 2) }, seed))
}

#[test]
fn one_more_carried_unit_never_costs_more() {
    for book in small(true) {
        let mut more = book.clone();
        let mut blower =
            more.equipment.iter().find(|unit| unit.kinds == ["blowing machine"]).expect("a blower").clone();
        blower.id = "one more".to_owned();
        more.equipment.push(blower);
        assert!(proven(&more, monday(), 2).cost <= proven(&book, monday(), 2).cost);
    }
}

#[test]
fn renaming_ids_keeps_cost() {
    for book in small(true) {
        assert_eq!(proven(&renamed(&book), monday(), 2).cost, proven(&book, monday(), 2).cost);
    }
}

#[test]
fn the_order_of_lists_keeps_cost() {
    for book in small(true) {
        assert_eq!(proven(&reordered(&book), monday(), 2).cost, proven(&book, monday(), 2).cost);
    }
}

#[test]
fn shifting_a_week_shifts_the_plan() {
    let limits = Limits::steps(200);
    for book in small(false) {
        let mut expected = serde_json::to_value(planned(&book, monday(), 2, &limits)).expect("JSON");
        a_week_later(&mut expected);
        let mut json = serde_json::to_value(&book).expect("JSON");
        a_week_later(&mut json);
        let shifted = planned(&support::book(json), monday() + chrono::Days::new(7), 2, &limits);
        assert_eq!(serde_json::to_value(shifted).expect("JSON"), expected);
    }
}

#[test]
fn same_seed_and_steps_give_the_same_plan_byte_for_byte() {
    for (jobs, weeks, crews, steps) in [(4, 2, 2, 3), (8, 3, 2, 30), (12, 4, 3, 9)] {
        let book = generate(Shape::new(jobs, weeks, crews), 7);
        let once = || serde_json::to_vec(&planned(&book, monday(), weeks, &Limits::steps(steps))).expect("JSON");
        assert!(once() == once(), "{jobs} jobs, {steps} steps of work");
    }
}

/// The makespan of a yardstick's best plan, and a proof that none is shorter: the bound lies above what a plan one
/// half-day shorter could cost at the very most.
#[track_caller]
fn makespan(book: &Book, weeks: u32) -> usize {
    let plan = planned(book, monday(), weeks, &Limits::seconds(PATIENCE));
    let horizon = Horizon::new(monday(), weeks).expect("a horizon");
    let last = plan.steps.iter().map(|row| horizon.index(row.end).expect("an index")).max().expect("steps");
    // C5: the job's end at HALF_DAY dollars an index, and a cent an index for each step, none after the job's end.
    let shorter = yardsticks::HALF_DAY * 100 * (last as i64 - 1) + (plan.steps.len() * (last - 1)) as i64;
    assert!(plan.bound.expect("a bound") > Cents(shorter), "not proved: {:?} for {}", plan.bound, plan.cost);
    last + 1
}

#[test]
fn fisher_and_thompson_6_by_6_proves_55() {
    assert_eq!(makespan(&yardsticks::fisher_thompson(), 5), 55);
}

#[test]
fn patterson_1_proves_19() {
    assert_eq!(makespan(&yardsticks::patterson(), 2), 19);
}
