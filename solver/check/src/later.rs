//! What comes later of a book: jobs as a whole (W1, W14), and steps of jobs that are planned in part (W12).

use yardless_book::Job;
use yardless_plan::shop::{Id, JobId, Shop, StepId, Table};

/// What comes later, as the book has it.
pub(super) struct Later {
    /// Jobs of which every step is.
    pub(super) jobs: Table<JobId, bool>,
    /// Steps that are later where their job is done.
    pub(super) steps: Table<StepId, bool>,
}

impl Later {
    /// The steps of a job that are planned where it is done.
    pub(super) fn planned(&self, shop: &Shop, job: JobId) -> Vec<StepId> {
        open(shop, job).filter(|step| !self.steps[*step]).collect()
    }

    /// The others that are not done.
    pub(super) fn of(&self, shop: &Shop, job: JobId) -> Vec<StepId> {
        open(shop, job).filter(|step| self.steps[*step]).collect()
    }

    /// Whether some step of a job is later where it is done.
    pub(super) fn is_part(&self, shop: &Shop, job: JobId) -> bool {
        open(shop, job).any(|step| self.steps[step])
    }
}

/// The steps of a job that are not done.
pub(super) fn open(shop: &Shop, job: JobId) -> impl Iterator<Item = StepId> + use<> {
    shop.jobs[job].step_ids().chain(shop.jobs[job].later_ids())
}

/// A job as the book has it.
pub(super) fn text(shop: &Shop, job: JobId) -> &Job {
    &shop.book.jobs[job.index()]
}

/// Whether a job may be planned in part.
pub(super) fn in_part(shop: &Shop, job: JobId) -> bool {
    text(shop, job).in_part.unwrap_or(shop.book.shop.in_part)
}
