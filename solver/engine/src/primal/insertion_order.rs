//! Jobs put in one after the other, each as the best of some trials.

use yardless_plan::shop::{CrewId, JobId, StepId};

use super::insertion::{PartialPlan, Trial};

/// How a job is to be put in: as the best of some trials, its steps as they are listed or in their usual order.
pub(super) struct Trials {
    pub(super) trials: Vec<Trial>,
    pub(super) list: Option<Vec<StepId>>,
}

impl From<Vec<Trial>> for Trials {
    fn from(trials: Vec<Trial>) -> Self {
        Self { trials, list: None }
    }
}

/// Puts jobs in, in order; those that follow another one wait until it is in.
pub(super) fn insert_all(
    plan: &mut PartialPlan<'_>,
    jobs: &[JobId],
    over: &dyn Fn() -> bool,
    mut insertion: impl FnMut(JobId, &[CrewId]) -> Trials,
) {
    let mut waiting: Vec<JobId> = jobs.to_vec();
    loop {
        let before = waiting.len();
        waiting.retain(|job| {
            if over() {
                return true;
            }
            let Trials { trials, list } = insertion(*job, plan.crews_to_try(*job));
            match list {
                Some(list) => !plan.insert_listed(*job, &trials, &list),
                None => !plan.insert(*job, &trials),
            }
        });
        // Only a job that came in can have let another one in.
        if waiting.len() == before || waiting.iter().all(|job| !plan.waits(*job)) {
            return;
        }
    }
}
