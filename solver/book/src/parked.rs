//! Of what is parked at a job: whether its needs are told apart, and which of them it holds now (E7, N1).

use super::{Job, Parked, Step};

impl Job {
    /// Whether a plan has a row for each parked need of the job: some need of it gives `from` or `to` (E7).
    pub fn parks_apart(&self) -> bool {
        self.parked.iter().any(|need| need.from.is_some() || need.to.is_some())
    }

    /// Whether the job, once begun, holds what a parked need takes from now on: `from` has begun, where it is given, and
    /// `to` is not done (E7).
    pub fn holds_now(&self, need: &Parked) -> bool {
        let step = |id: &Option<String>| id.as_ref().and_then(|id| self.steps.iter().find(|step| step.id == *id));
        step(&need.from).is_none_or(Step::started) && step(&need.to).is_none_or(|step| step.done.is_none())
    }
}
