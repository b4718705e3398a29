//! What a plan itself takes to have gone as planned before it begins: the plans that were given out till then.

use yardless_book::half_day::{HalfDay, Horizon};
use yardless_book::{Book, Step};
use yardless_plan::{Plan, StepRow};

use super::kept::Kept;
use super::{Request, word};
use crate::book_file::BookFile;
use crate::trouble::Trouble;
use crate::{Changes, edited};

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
        let plan = open(&of.written.book, plan, till);
        let stage = Kept { name: kept.name.clone(), named: kept.named, plan, horizon };
        let changes = request.one_plan(of, stage, till, &[])?.changes;
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

/// A plan without the rows of steps of which the book knows how far they are at a half-day, or later.
fn open(book: &Book, plan: &Plan, till: HalfDay) -> Plan {
    let step = |row: &StepRow| {
        let job = book.jobs.iter().find(|job| job.id == row.job)?;
        job.steps.iter().find(|step| step.id == row.step)
    };
    let steps = plan.steps.iter().filter(|row| !step(row).is_some_and(|step| is_known(step, till)));
    Plan { steps: steps.cloned().collect(), ..plan.clone() }
}

fn is_known(step: &Step, till: HalfDay) -> bool {
    let extra = step.progress.as_ref().map_or(&step.extra, |progress| &progress.extra);
    let planned = word::planned_till(extra);
    let said = word::said_at(extra).map(HalfDay::following);
    step.done.is_some() || planned.max(said).is_some_and(|at| at >= till)
}
