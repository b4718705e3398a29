//! The kept plan: the one last given to the crews, asked for what a note leaves unsaid.

use std::path::Path;

use yardless_solver::half_day::Horizon;
use yardless_solver::plan::{Plan, StepRow};

use crate::plan_file;
use crate::trouble::Trouble;

/// A kept plan with its name.
pub struct Kept {
    /// The file's name.
    pub name: String,
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
        Ok(Some(Self { name: path.display().to_string(), plan: stored.plan, horizon: stored.horizon }))
    }

    /// What it has of a step, in the order of time: a row for each span.
    pub fn rows(&self, job: &str, step: &str) -> Vec<&StepRow> {
        let mut rows: Vec<&StepRow> = self.plan.steps.iter().filter(|row| row.job == job && row.step == step).collect();
        rows.sort_by_key(|row| row.start);
        rows
    }

    /// The units that it parks at a job.
    pub fn parked(&self, job: &str) -> &[String] {
        self.plan.parked.iter().find(|row| row.job == job).map_or(&[], |row| &row.units)
    }
}
