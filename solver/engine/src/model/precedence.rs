//! The order of a job's steps (W6).

use yardless_plan::shop::{JobId, Shop, StepId};

/// Steps of a job in an order in which each comes after those of the job that it waits for.
pub(crate) fn in_order(shop: &Shop, job: JobId) -> Vec<StepId> {
    let mut left: Vec<StepId> = shop.jobs[job].step_ids().collect();
    let mut order = Vec::new();
    while let Some(i) =
        left.iter().position(|step| shop.steps[*step].after.iter().all(|link| !left.contains(&link.before)))
    {
        order.push(left.remove(i));
    }
    order
}
