//! What the builder asks of a shop again and again: orders of steps, who follows whom, who may do what.

use crate::shop::{CrewId, JobFacts, JobId, Shop, StepId, Table};

/// What the builder asks of a shop again and again.
pub(super) struct Tables {
    /// Steps of each job in an order in which each comes after those it waits for.
    pub(super) order: Table<JobId, Vec<StepId>>,
    /// Half-days that at least pass between a step's end and the end of its job.
    pub(super) tail: Table<StepId, usize>,
    /// Jobs that have a step after one of this job's.
    pub(super) followers: Table<JobId, Vec<JobId>>,
    /// Jobs that one of this job's steps comes after.
    pub(super) leaders: Table<JobId, Vec<JobId>>,
    /// Own crews that may do some step of each job, where it has several of both.
    pub(super) crews: Table<JobId, Vec<CrewId>>,
}

impl Tables {
    pub(super) fn new(shop: &Shop) -> Self {
        let mut leaders: Table<JobId, Vec<JobId>> = Table::filled(shop.jobs.len(), Vec::new());
        let mut followers = leaders.clone();
        for (job, facts) in shop.jobs.pairs() {
            for link in facts.step_ids().flat_map(|step| &shop.steps[step].after) {
                let other = shop.steps[link.before].job;
                if other != job && !leaders[job].contains(&other) {
                    leaders[job].push(other);
                    followers[other].push(job);
                }
            }
        }
        let mut tail = Table::filled(shop.steps.len(), 0);
        let order: Table<JobId, Vec<StepId>> = shop.jobs.ids().map(|job| in_order(shop, job)).collect();
        let shortest = |step: StepId| {
            shop.choices(step).filter_map(|(_, _, runs)| runs.iter().map(|(s, e)| e + 1 - s).min()).min().unwrap_or(1)
        };
        for steps in &order {
            for step in steps.iter().rev() {
                let behind = tail[*step] + shortest(*step);
                for link in &shop.steps[*step].after {
                    if steps.contains(&link.before) {
                        tail[link.before] = tail[link.before].max(behind + link.wait);
                    }
                }
            }
        }
        let crews = shop.jobs.iter().map(|job| own_crews(shop, job)).collect();
        Self { order, tail, followers, leaders, crews }
    }
}

fn own_crews(shop: &Shop, job: &JobFacts) -> Vec<CrewId> {
    let mut crews: Vec<CrewId> =
        job.step_ids().flat_map(|step| &shop.steps[step].crews).copied().filter(|crew| shop.crews[*crew].own).collect();
    crews.sort_unstable();
    crews.dedup();
    if crews.len() < 2 || job.steps.len() < 2 || shop.extra_crew().0 == 0 { Vec::new() } else { crews }
}

fn in_order(shop: &Shop, job: JobId) -> Vec<StepId> {
    let mut left: Vec<StepId> = shop.jobs[job].step_ids().collect();
    let mut order = Vec::new();
    while let Some(i) =
        left.iter().position(|step| shop.steps[*step].after.iter().all(|link| !left.contains(&link.before)))
    {
        order.push(left.remove(i));
    }
    order
}
