//! Jobs in progress (N1): they come first of all, and as few as can be are left without an end.

use std::sync::Arc;

use yardless_plan::shop::{JobId, StepId, TeamId};

use super::{PartialPlan, Trial};

/// Orders tried before what finds no end is taken to have none.
const MOST_ORDERS: usize = 8;

/// A step in progress that goes on, and when it is worked on.
struct Running {
    job: JobId,
    step: StepId,
    way: usize,
    team: TeamId,
    worked: Vec<usize>,
}

impl PartialPlan<'_> {
    /// Puts in what is in progress. Jobs that find no end keep their units.
    pub(crate) fn insert_in_progress(&mut self, trials: &[Trial]) {
        let shop = self.shop();
        let in_progress = |job: &JobId| shop.jobs[*job].started && shop.jobs[*job].planned() && !self.done[*job];
        let mut order: Vec<JobId> = shop.jobs.ids().filter(in_progress).collect();
        let mut best: Option<(usize, i64, Self)> = None;
        for _ in 0..MOST_ORDERS {
            let mut tried = self.clone();
            let unended = tried.insert_in_order(&order, trials);
            let result = (unended.len(), tried.cost());
            if best.as_ref().is_none_or(|(unended, cents, _)| result < (*unended, *cents)) {
                best = Some((result.0, result.1, tried));
            }
            // Those that found no end come first the next time.
            let (first, then): (Vec<JobId>, Vec<JobId>) = order.iter().partition(|job| unended.contains(job));
            let next: Vec<JobId> = first.into_iter().chain(then).collect();
            if unended.is_empty() || next == order {
                break;
            }
            order = next;
        }
        if let Some((.., tried)) = best {
            *self = tried;
        }
    }

    /// Puts jobs in, in order and again as long as one finds its end; those that do not.
    fn insert_in_order(&mut self, order: &[JobId], trials: &[Trial]) -> Vec<JobId> {
        let mut waiting = order.to_vec();
        // At first no other step takes the crew of one that goes on; where that is in everybody's way, the first in order.
        let running: Vec<Running> = waiting.iter().flat_map(|job| self.running(*job)).collect();
        for keep in [true, false] {
            loop {
                let before = waiting.len();
                waiting.retain(|job| {
                    let others = running.iter().filter(|other| other.job != *job && !self.done[other.job] && keep);
                    let kept: Vec<Running> = others.map(|other| self.where_free(other)).collect();
                    for Running { step, way, team, worked, .. } in &kept {
                        self.timetable.mark((*step, *way, *team), &worked.iter().copied(), true);
                    }
                    let waits = !self.insert(*job, trials);
                    for Running { step, way, team, worked, .. } in &kept {
                        self.timetable.mark((*step, *way, *team), &worked.iter().copied(), false);
                    }
                    waits
                });
                if waiting.len() == before {
                    break;
                }
            }
        }
        let shop = self.shop();
        for job in &waiting {
            self.cents -= self.out_cents(*job) - shop.jobs[*job].left_out.0;
        }
        self.unended = Arc::new(waiting.clone());
        waiting
    }

    /// A step in progress in the half-days in which its crews have the time.
    fn where_free(&self, running: &Running) -> Running {
        let Running { step, way, team, .. } = *running;
        let free = |h: &usize| !self.timetable.busy(step, way, team, std::iter::once(*h));
        Running { worked: running.worked.iter().copied().filter(free).collect(), ..*running }
    }

    /// When the crews of a job's steps in progress work on them, overtime apart.
    fn running(&self, job: JobId) -> Vec<Running> {
        let shop = self.shop();
        let in_progress = shop.jobs[job].step_ids().filter(|step| shop.steps[*step].goes_on());
        let run = |step: StepId| {
            let (way, team, runs) = shop.choices(step).next()?;
            let worked = runs.worked(shop.now, runs.end_of(shop.now)?).collect();
            Some(Running { job, step, way, team, worked })
        };
        in_progress.filter_map(run).collect()
    }

    /// Jobs in progress that no way was found to end.
    pub(crate) fn unended(&self) -> &[JobId] {
        &self.unended
    }
}
