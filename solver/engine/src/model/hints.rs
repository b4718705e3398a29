//! How a plan may do some of its steps: what a warm start has of another plan, and a Lagrangian heuristic of an average.

use yardless_plan::shop::{StepId, TeamId};

/// How a step may be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Hint {
    /// The way, by its position.
    pub(crate) way: usize,
    pub(crate) team: TeamId,
    /// Index of the first worked half-day.
    pub(crate) start: usize,
}

/// Hints for some steps.
pub(crate) type Hints = Vec<(StepId, Hint)>;
