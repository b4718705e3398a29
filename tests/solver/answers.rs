//! Questions asked of plans, from outside: dates to offer and what they cost against trying everything, units free judged by the
//! checker, smallest sets of facts verified by planning again, reasons for changes judged by the checker, what one more is worth against two proven
//! plans, and chances against distributions that are known.

#[path = "answers/chance.rs"]
mod chance;
#[path = "answers/changes.rs"]
mod changes;
#[path = "answers/free.rs"]
mod free;
#[path = "answers/matters.rs"]
mod matters;
#[path = "answers/offers.rs"]
mod offers;
#[path = "answers/why.rs"]
mod why;
#[path = "answers/worth.rs"]
mod worth;

use yardless_book::Book;
use yardless_book::half_day::Horizon;
use yardless_book::money::Cents;
use yardless_engine::{Limits, plan};
use yardless_plan::Plan;
use yardless_plan::shop::{KeptStep, Shop};

use yardless_support::monday;
use yardless_support::tiny::tiny;

/// Rounds with which tiny books are proven.
const STEPS: u64 = 800;
/// Far more states than a tiny book takes.
const MOST: usize = 500_000;
/// More than a tiny book's plan costs.
const NEVER: Cents = Cents(2_000_000);

fn horizon(weeks: u32) -> Horizon {
    Horizon::new(monday(), weeks).expect("a horizon")
}

fn shop(book: &Book, kept: &[KeptStep]) -> Shop {
    Shop::again(book, horizon(1), 0, Some(kept)).expect("no fault")
}

/// A tiny book, with a plan of it that is proven best.
fn planned(seed: u64) -> (Book, Plan) {
    let book = tiny(seed);
    let plan = plan(&shop(&book, &[]), "", &Limits::steps(STEPS), &mut |_| {});
    assert!(plan.proven, "{seed}: {:?}", plan.bound);
    (book, plan)
}

/// Has a job done by the end of a date, at whatever other cost.
fn must_end(book: &mut Book, job: &str, by: chrono::NaiveDate) {
    for job in book.jobs.iter_mut().filter(|other| other.id == job) {
        (job.due, job.late_day, job.left_out) = (Some(by), Some(NEVER), Some(NEVER * 100));
    }
}

fn end(plan: &Plan, job: &str) -> Option<chrono::NaiveDate> {
    plan.steps.iter().filter(|row| row.job == job).map(|row| row.end.date()).max()
}

/// Whether another job comes after a step of it.
fn leads(book: &Book, id: &str) -> bool {
    let links = book
        .jobs
        .iter()
        .filter(|job| job.id != id)
        .flat_map(|job| &job.steps)
        .flat_map(|step| step.after.iter().flatten());
    links.map(yardless_book::After::link).any(|link| link.job == Some(id))
}
