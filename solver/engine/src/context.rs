//! What a search keeps to beside the shop: its limits, what must be done, what it may do at all.
//!
//! The shop says what the book says and is never changed. What the engine finds out on the way, or asks only a part of,
//! stands here.

use yardless_plan::shop::{JobId, Shop};

use crate::limits::Limits;

/// What a search keeps to.
#[derive(Clone, Debug)]
pub(crate) struct Context {
    /// How long and how hard to search.
    pub(crate) limits: Limits,
    /// Most jobs in progress that a plan leaves without an end: a plan is known that leaves no more (N1).
    most_unended: usize,
    /// Whether only jobs in progress are planned, as if every other one came later: they wait for none of them (N1).
    only_in_progress: bool,
}

impl Context {
    /// All jobs that are neither over nor later, and nothing known of those in progress.
    pub(crate) fn new(limits: &Limits) -> Self {
        Self { limits: limits.clone(), most_unended: usize::MAX, only_in_progress: false }
    }

    /// Any plan, without limits.
    pub(crate) fn free() -> Self {
        Self::new(&Limits::none())
    }

    /// The same, where a plan is known that leaves no more than so many jobs in progress without an end.
    pub(crate) fn with_most_unended(&self, most_unended: usize) -> Self {
        Self { most_unended, ..self.clone() }
    }

    /// The same for the jobs in progress alone.
    pub(crate) fn with_jobs_in_progress_alone(&self) -> Self {
        Self { only_in_progress: true, ..self.clone() }
    }

    /// Most jobs in progress that a plan leaves without an end.
    pub(crate) fn most_unended(&self) -> usize {
        self.most_unended
    }

    /// Whether there is something to plan of a job.
    pub(crate) fn plans(&self, shop: &Shop, job: JobId) -> bool {
        let facts = &shop.jobs[job];
        facts.planned() && (facts.started || !self.only_in_progress)
    }

    /// Whether every plan does the job: where one ends all jobs in progress, each does (N1).
    pub(crate) fn must_do(&self, shop: &Shop, job: JobId) -> bool {
        self.most_unended == 0 && shop.jobs[job].started && self.plans(shop, job)
    }
}
