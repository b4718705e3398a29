//! What is taken to have gone as planned where nobody has said how it went.

use serde::Serialize;
use yardless_book::half_day::HalfDay;

use crate::{Plan, StepRow};

/// What is taken to have gone as planned.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Assumed {
    /// All that lies before this half-day.
    pub until: HalfDay,
    /// The steps of which the book does not say how far they are, `job/step`, in the book's order; one at least.
    pub steps: Vec<String>,
}

impl Plan {
    /// What of it has begun before a half-day: the rows of those steps, the hauls, and what is parked.
    #[must_use]
    pub fn up_to(&self, until: HalfDay) -> Self {
        let of_step = |a: &StepRow, b: &StepRow| a.job == b.job && a.step == b.step;
        let begun = |row: &&StepRow| self.steps.iter().any(|of| of_step(of, row) && of.start < until);
        let steps: Vec<StepRow> = self.steps.iter().filter(begun).cloned().collect();
        Self {
            parked: self.parked.iter().filter(|row| steps.iter().any(|of| of.job == row.job)).cloned().collect(),
            hauls: self.hauls.iter().filter(|haul| haul.at < until).cloned().collect(),
            left_out: Vec::new(),
            later: Vec::new(),
            steps,
            ..self.clone()
        }
    }

    /// The plan, and before it each of those whose course it assumes, from the latest to the earliest.
    pub fn and_so_far(&self) -> impl Iterator<Item = &Self> {
        std::iter::successors(Some(self), |plan| plan.so_far.as_deref())
    }
}
