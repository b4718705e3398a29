//! The rows of a plan as far as they can be read, and what becomes of each job.

use yardless_plan::StepRow;
use yardless_plan::shop::{JobId, Shop, StepId, Table, Team};

use super::later::Later;

/// A row of the plan whose job, step, way and crew are known.
pub(super) struct KnownRow<'a> {
    pub(super) way: usize,
    pub(super) team: Team,
    /// Its first and last index; `None` where they are not within the horizon, in this order.
    pub(super) span: Option<(usize, usize)>,
    pub(super) row: &'a StepRow,
}

/// What becomes of a job.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Fate {
    /// It costs nothing.
    Later,
    /// Not done, or not wholly.
    LeftOut,
    /// Done before now (N1).
    Over,
    /// Begun, and all that is left of it is later: nothing is planned, and what is parked stays (W12, E7).
    Rests,
    /// Done, from now or the start of its earliest step to the end of its latest.
    Done { start: usize, end: usize },
}

impl KnownRow<'_> {
    /// Whether it is the second span of its step (W10).
    pub(super) fn comes_back(&self) -> bool {
        self.row.span == 2
    }

    /// The half-days in which the step is worked on by it: those that lie in its pauses are none.
    pub(super) fn worked<'s>(&'s self, shop: &'s Shop, step: StepId) -> impl Iterator<Item = usize> + 's {
        let half_days = self.span.into_iter().flat_map(|(start, end)| start..=end);
        half_days.filter(move |h| shop.obstacle(step, self.way, &self.team, *h).is_none())
    }
}

/// The rows of each step, as far as they can be read: one, or two spans in their order.
pub(super) type Rows<'a> = Table<StepId, Vec<KnownRow<'a>>>;

/// The plan's work, as far as it can be read.
pub(super) struct Works<'a> {
    pub(super) steps: Rows<'a>,
    pub(super) fates: Table<JobId, Fate>,
    /// What comes later of the book.
    pub(super) later: Later,
}

/// Every row with its step.
pub(super) fn each<'w, 'a>(steps: &'w Rows<'a>) -> impl Iterator<Item = (StepId, &'w KnownRow<'a>)> {
    steps.pairs().flat_map(|(step, rows)| rows.iter().map(move |work| (step, work)))
}
