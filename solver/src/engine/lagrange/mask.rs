//! Which runs a part of all plans may use, and which jobs it must do or leave out.

use std::collections::BTreeMap;

use crate::shop::JobId;

/// What a part of all plans may do with a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::engine) enum May {
    Any,
    Do,
    LeaveOut,
}

/// A part of all plans.
#[derive(Clone, Debug, Default)]
pub(in crate::engine) struct Mask {
    /// By number of the run.
    pub(in crate::engine) runs: Vec<bool>,
    pub(in crate::engine) jobs: BTreeMap<JobId, May>,
}

impl Mask {
    pub(in crate::engine) fn may(&self, job: JobId) -> May {
        self.jobs.get(&job).copied().unwrap_or(May::Any)
    }
}
