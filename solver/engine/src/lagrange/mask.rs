//! Which runs a part of all plans may use, and which jobs it must do or leave out.

use std::collections::BTreeMap;

use yardless_plan::shop::JobId;

/// What a part of all plans may do with a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum May {
    Any,
    Do,
    LeaveOut,
}

/// A part of all plans.
#[derive(Clone, Debug, Default)]
pub(crate) struct Mask {
    /// By number of the run.
    pub(crate) runs: Vec<bool>,
    pub(crate) jobs: BTreeMap<JobId, May>,
}

impl Mask {
    pub(crate) fn may(&self, job: JobId) -> May {
        self.jobs.get(&job).copied().unwrap_or(May::Any)
    }
}
