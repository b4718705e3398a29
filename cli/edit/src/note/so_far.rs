//! What a plan itself takes to have gone as planned before it begins: the plans that were given out till then.

use yardless_book::half_day::{HalfDay, Horizon};
use yardless_book::{Book, Step};
use yardless_plan::Plan;

use super::kept::Kept;
use super::step::{path, step as named};
use super::subject::StepAt;
use super::{Request, word};
use crate::book_file::BookFile;
use crate::trouble::Trouble;
use crate::{BookChange, Changes, edited};

/// A book with what earlier plans are taken to have done, and what that changes in it.
pub struct Laid {
    /// The book; `None`: it says all of it already.
    pub file: Option<BookFile>,
    /// What is changed.
    pub changes: Changes,
}

/// Lays over a book what the plans before a kept one are taken to have done, the earliest first, each up to where the next
/// begins and none beyond `until`. What the book knows of a later time stays.
pub fn lay(request: &Request, file: &BookFile, kept: &Kept, until: HalfDay) -> Result<Laid, Trouble> {
    let mut laid = Laid { file: None, changes: Changes::default() };
    for (plan, till) in before(&kept.plan) {
        let Ok(horizon) = Horizon::new(plan.from, plan.weeks) else { continue };
        let (till, of) = (till.min(until), laid.file.as_ref().unwrap_or(file));
        let stage = Kept { name: kept.name.clone(), named: kept.named, plan: plan.clone(), horizon };
        let mut changes = request.one_plan(of, stage, till, &[])?.changes;
        leave_known(&of.written.book, till, &mut changes);
        // Where every step is known, so is where the units stand.
        if changes.steps().next().is_none() {
            continue;
        }
        if let Some(new) = edited(of.name(), of.text(), &changes.edits)? {
            laid.file = Some(new.as_if(file));
        }
        laid.changes = std::mem::take(&mut laid.changes).then(changes);
    }
    Ok(laid)
}

/// The plans before one, the earliest first, each with the half-day up to which it went.
fn before(plan: &Plan) -> Vec<(&Plan, HalfDay)> {
    let all: Vec<&Plan> = plan.and_so_far().collect();
    let pairs = all.windows(2).rev();
    pairs.map(|two| (two[1], two[0].now.unwrap_or_else(|| HalfDay::am(two[0].from)))).collect()
}

/// Takes out what would be changed of steps of which the book knows how far they are at a half-day, or later.
fn leave_known(book: &Book, till: HalfDay, changes: &mut Changes) {
    for (job, of) in book.jobs.iter().enumerate() {
        for (step, _) in of.steps.iter().enumerate().filter(|(_, step)| is_known(step, till)) {
            let at = path(StepAt { job, step });
            let name = named(book, StepAt { job, step }).1;
            changes.edits.retain(|edit| !edit.path().0.starts_with(&at.0));
            changes.changed.retain(|change| !matches!(change, BookChange::Step { step, .. } if *step == name));
        }
    }
}

fn is_known(step: &Step, till: HalfDay) -> bool {
    let Some(progress) = &step.progress else { return step.done.is_some() };
    let planned = word::planned_till(&progress.extra);
    let said = word::said_at(&progress.extra).map(HalfDay::following);
    planned.max(said).is_some_and(|at| at >= till)
}
