//! The kept plan: the one last given to the crews, asked for what a note leaves unsaid.

use std::path::Path;

use yardless_book::Progress;
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_plan::{Plan, StepRow};

use crate::book_file::BookFile;
use crate::plan_file;
use crate::trouble::Trouble;
use crate::trouble::words::Called;

/// A kept plan with its name.
pub struct Kept {
    /// What it is called.
    pub name: Called,
    /// Whether it was asked for by that name, and is not just the one beside the book.
    pub named: bool,
    /// The plan.
    pub plan: Plan,
    /// Its horizon.
    pub horizon: Horizon,
}

impl Kept {
    /// The plan named, else `plan.json` beside the book where it is there.
    pub fn find(book: &Path, named: Option<&Path>) -> Result<Option<Self>, Trouble> {
        let beside = book.with_file_name("plan.json");
        let Some(path) = named.or_else(|| beside.exists().then_some(beside.as_path())) else { return Ok(None) };
        let stored = plan_file::read(path)?;
        Ok(Some(Self {
            name: Called::File(path.display().to_string()),
            named: named.is_some(),
            plan: stored.plan,
            horizon: stored.horizon,
        }))
    }

    /// What it has of a step, in the order of time: a row for each span.
    pub fn rows(&self, job: &str, step: &str) -> Vec<&StepRow> {
        let mut rows: Vec<&StepRow> = self.plan.steps.iter().filter(|row| row.job == job && row.step == step).collect();
        rows.sort_by_key(|row| row.start);
        rows
    }

    /// Whether something of it lies before a half-day.
    pub fn reaches(&self, before: HalfDay) -> bool {
        self.plan.now.unwrap_or_else(|| self.horizon.half_day(0)) < before
    }

    /// Whether it was made from the book as it is, to the byte.
    pub fn is_of(&self, book: &BookFile) -> bool {
        self.plan.book_digest == book.written.digest
    }

    /// The units that it parks at a job, by row.
    pub fn parked(&self, job: &str) -> Vec<&[String]> {
        self.plan.parked.iter().filter(|row| row.job == job).map(|row| row.units.as_slice()).collect()
    }
}

/// How far the rows of a step are, in the order of time (W10).
#[derive(Clone, Copy, PartialEq)]
pub enum Stage<'r> {
    /// None has begun.
    Waits,
    /// This one has begun last.
    Within(&'r StepRow),
    /// The first span is over, the second still to come: it holds nothing.
    Between,
}

/// How far a step is by its rows, of which those have `begun` and are `over` that a half-day asked for says. `let_go`:
/// whether one with a second span alone, as it was let go at once, has been by then.
pub fn stage<'r>(
    rows: &[&'r StepRow],
    let_go: bool,
    begun: impl Fn(&StepRow) -> bool,
    over: impl Fn(&StepRow) -> bool,
) -> Stage<'r> {
    match rows.iter().rposition(|row| begun(row)) {
        None if let_go && rows.first().is_some_and(|row| row.span == 2) => Stage::Between,
        None => Stage::Waits,
        Some(last) if last + 1 < rows.len() && over(rows[last]) => Stage::Between,
        Some(last) => Stage::Within(rows[last]),
    }
}

/// The units that a step in progress holds by its rows, what the book has of it given: the book's own word, unless the
/// span that it is said of is over. `fresh`: the book has not changed since the rows were planned.
pub fn held(stage: Stage, rows: &[&StepRow], recorded: Option<&Progress>, fresh: bool) -> Option<Vec<String>> {
    let recorded = recorded.map(|progress| &progress.units);
    let alike = |a: &[String], b: &[String]| a.len() == b.len() && a.iter().all(|unit| b.contains(unit));
    match stage {
        Stage::Waits => recorded.cloned(),
        Stage::Between => Some(Vec::new()),
        Stage::Within(row) if row.span == 2 => {
            let first = rows.iter().find(|row| row.span != 2);
            let of_first =
                |units: &Vec<String>| units.is_empty() || first.map_or(fresh, |first| alike(units, &first.units));
            Some(recorded.filter(|units| !of_first(units)).unwrap_or(&row.units).clone())
        }
        Stage::Within(row) => Some(recorded.unwrap_or(&row.units).clone()),
    }
}
