//! What lateness and leaving a job out cost: rules C1 and C2, and ranks.

use chrono::NaiveDate;
use yardless_book::money::Cents;
use yardless_book::{Book, Job, Rank, Step};

use super::making::Making;

/// The job's rank, where it has one.
fn rank<'b>(book: &'b Book, job: &Job) -> Option<&'b Rank> {
    job.rank.as_ref().and_then(|id| book.ranks.iter().find(|rank| rank.id == *id))
}

/// C1: the price of a worked date past the job's `due`; its own, else its rank's, else the price list's.
pub(super) fn late_day(book: &Book, job: &Job) -> Cents {
    job.late_day.or_else(|| rank(book, job)?.late_day).unwrap_or(book.prices.late_day)
}

/// C2: its own, else its rank's, else by the rule.
pub(super) fn left_out(making: &Making, job: &Job, late_day: Cents) -> Cents {
    let last = making.horizon.last_date();
    job.left_out.or_else(|| rank(making.book, job)?.left_out).unwrap_or_else(|| match job.due {
        Some(due) if due <= last => late_day * (20 + making.calendar.worked_dates(due, last)),
        _ => late_day * 5,
    })
}

/// C1: what a step costs that ends on a date, by its own `due`.
pub(super) fn step_late(making: &Making, job: &Job, step: &Step, end: NaiveDate) -> Cents {
    let Some(due) = step.due else { return Cents::ZERO };
    step.late_day.unwrap_or_else(|| late_day(making.book, job)) * making.calendar.worked_dates(due, end)
}
