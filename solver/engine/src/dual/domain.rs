//! The domain of a node: which runs its plans may use, and which jobs they must do or leave out.

use std::collections::BTreeMap;

use yardless_plan::shop::JobId;

/// What plans of a domain do with a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum JobDomain {
    Any,
    Do,
    LeaveOut,
}

/// Plans by what they may do.
#[derive(Clone, Debug, Default)]
pub(crate) struct Domain {
    /// By number of the run.
    pub(crate) runs: Vec<bool>,
    pub(crate) jobs: BTreeMap<JobId, JobDomain>,
}

impl Domain {
    /// What its plans do with a job.
    pub(crate) fn of_job(&self, job: JobId) -> JobDomain {
        self.jobs.get(&job).copied().unwrap_or(JobDomain::Any)
    }
}
