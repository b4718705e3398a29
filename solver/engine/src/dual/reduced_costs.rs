//! Reduced costs: by how much the bound rises, at least, for plans with one given run, haul or job left out. What is too
//! dear for any better plan is fixed at 0.
//!
//! With B(b, e) the cheapest rest of the job's schedule when step b ends at e (against the order of the steps),
//!
//! ```text
//! reduced cost(run s -> e of b) = S(b, s) + sum over exact links a of min E(a, .) + B(b, e) - job
//! reduced cost(haul)            = cheapest path to it + haul + cheapest path on - cheapest path
//! ```
//!
//! They hold because the subproblems are apart: all others cost what they cost in the bound, and the one that has to
//! use the run or the haul costs its cheapest solution that does. A cheaper plan than the incumbent has no run, haul or
//! job left out whose reduced cost is above incumbent - 1 - bound.

use std::collections::BTreeMap;
use std::sync::Arc;

use yardless_plan::shop::{JobId, Part, PlaceId, UnitId};

use super::domain::{Domain, JobDomain};
use super::relaxation::Relaxation;
use super::relaxation::job::ScheduleTable;
use super::relaxation::job::{CrewCase, Group, JobSubproblem, NONE, Run, SubproblemStep};
use super::relaxation::path::PathCosts;
use super::relaxation::schedule::InCase;
use super::relaxation::sums::Priced;

/// Of runs and of jobs left out, in cents.
#[derive(Clone, Debug)]
pub(crate) struct WorkReducedCosts {
    /// The bound at these prices, in cents.
    pub(crate) bound: f64,
    /// By number of the run.
    pub(crate) runs: Vec<f64>,
    pub(crate) left_out: BTreeMap<JobId, f64>,
}

/// The same with what hauls need.
#[derive(Clone, Debug)]
pub(crate) struct ReducedCosts {
    pub(crate) work: WorkReducedCosts,
    /// By pool.
    paths: Vec<PathCosts>,
}

/// The relaxation at its best prices for all plans, and the reduced costs there.
pub(crate) struct RootBound {
    pub(crate) of: Arc<Relaxation>,
    pub(crate) reduced_costs: ReducedCosts,
}

/// A haul by one of some units.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PooledHaul<'a> {
    pub(crate) units: &'a [UnitId],
    pub(crate) from: PlaceId,
    pub(crate) to: PlaceId,
    /// Half-day index.
    pub(crate) at: usize,
    pub(crate) evening: bool,
}

impl Relaxation {
    /// The reduced costs of runs and jobs left out at some prices.
    pub(crate) fn work_reduced_costs(&self, prices: &[f64], domain: &Domain) -> WorkReducedCosts {
        let at = Priced::new(self, prices);
        let within = self.within(domain);
        let bound = within.solve(prices).bound;
        let mut costs = WorkReducedCosts { bound, runs: vec![f64::INFINITY; self.runs()], left_out: BTreeMap::new() };
        for job in within.jobs() {
            job.reduced_costs(&at, domain.of_job(job.id), &mut costs);
        }
        costs
    }

    /// All reduced costs at some prices.
    pub(crate) fn reduced_costs(&self, prices: &[f64], domain: &Domain) -> ReducedCosts {
        let at = Priced::new(self, prices);
        let paths = self.pools().iter().enumerate().map(|(p, pool)| pool.path_costs(&at, p)).collect();
        ReducedCosts { work: self.work_reduced_costs(prices, domain), paths }
    }

    /// By how much the bound rises with a haul, at least.
    pub(crate) fn haul_reduced_cost(&self, costs: &ReducedCosts, haul: PooledHaul<'_>) -> f64 {
        let tick = self.tick_from(haul.at);
        let mut least = f64::INFINITY;
        let able = |pool: &[UnitId]| pool.iter().any(|unit| haul.units.contains(unit));
        for (pool, paths) in self.pools().iter().zip(&costs.paths).filter(|(pool, _)| able(&pool.of.units)) {
            let (Some(from), Some(to)) = (pool.of.spot(haul.from), pool.of.spot(haul.to)) else { return 0.0 };
            let path = || pool.reduced_cost(paths, (from, to), tick, haul.evening);
            least = least.min(if from == to { 0.0 } else { path() });
        }
        least
    }
}

impl JobSubproblem {
    /// By how much the job's cheapest schedule gets dearer with each run, and by leaving it out: the dynamic program
    /// from both ends.
    fn reduced_costs(&self, at: &Priced<'_>, may: JobDomain, reduced: &mut WorkReducedCosts) {
        if may == JobDomain::LeaveOut {
            // No plan of the domain does it: leaving it out is no dearer, whatever doing it would cost.
            reduced.left_out.insert(self.id, 0.0);
            return;
        }
        let costs = self.costs(at);
        let mut via = vec![NONE; costs.len()];
        let mut table = ScheduleTable::default();
        let left_out = self.left_out(at);
        let mut least = if may == JobDomain::Do { NONE } else { left_out };
        self.each(|case| {
            let on = InCase { at, costs: &costs, case };
            self.schedule(on, &mut table);
            let rest = self.rest(on, &table);
            for (i, step) in self.steps.iter().enumerate() {
                let back = step.back(case, &rest[i], &costs);
                for (_, group) in step.groups_in(case) {
                    let runs = (group.first..).zip(&group.runs).filter(|(_, run)| case.may(run));
                    for (r, run) in runs {
                        let before = match group.part {
                            Part::Second => table.left[i][group.rest][run.start].0,
                            _ => self.before(on, &table, i, run.start),
                        };
                        let whole = costs[r] + before + group.onward(run, &rest[i], &back);
                        via[r] = via[r].min(whole);
                        least = least.min(whole);
                    }
                }
            }
        });
        reduced.left_out.insert(self.id, left_out - least);
        if least == NONE {
            return;
        }
        let runs = self.steps.iter().flat_map(|step| &step.groups).flat_map(|group| &group.runs);
        for (run, via) in runs.zip(&via) {
            reduced.runs[run.number] = via - least;
        }
    }

    /// B(step, e): the cheapest rest of the job when a step ends in each tick.
    fn rest(&self, on: InCase<'_>, table: &ScheduleTable) -> Vec<Vec<f64>> {
        let InCase { at, costs, case } = on;
        let k = at.of.ticks().len();
        let mut rest = vec![vec![NONE; k]; self.steps.len()];
        for last in &self.last {
            let mut least = NONE;
            for e in (0..k).rev() {
                let others: f64 = self.last.iter().filter(|o| *o != last).map(|o| table.least[*o][e].0).sum();
                least = least.min(self.over(on, e) + others);
                rest[*last][e] = least;
            }
        }
        for i in (0..self.steps.len()).rev() {
            let step = &self.steps[i];
            for (e, rest) in rest[i].iter_mut().enumerate() {
                *rest += self.release(on, i, e);
            }
            let back = step.back(case, &rest[i], costs);
            for (n, link) in step.links.iter().enumerate() {
                // By start of this step: the rest of the job and this step with all before it but the one link.
                let mut from = vec![NONE; k];
                for (_, group) in step.groups_in(case).filter(|(_, group)| group.part.starts()) {
                    let runs = (group.first..).zip(&group.runs).filter(|(_, run)| case.may(run));
                    for (r, run) in runs {
                        let s = run.start;
                        let others = step.links.iter().enumerate().filter(|(m, _)| *m != n);
                        let before: f64 = others.map(|(_, other)| other.before(table, s).0).sum();
                        let onward = group.onward(run, &rest[i], &back);
                        from[s] = from[s].min(costs[r] + self.begin(on, i, s) + before + onward);
                    }
                }
                for (s, cost) in from.iter().enumerate().filter(|(_, cost)| **cost < NONE) {
                    let first = link.from.as_ref().map_or(0, |from| from[s]);
                    for rest in rest[link.step].get_mut(first..link.until[s]).into_iter().flatten() {
                        *rest = rest.min(*cost);
                    }
                }
            }
        }
        rest
    }
}

impl SubproblemStep {
    /// By rest and tick (W10): the least cost of a second span that starts then or later, and of what follows it; `rest`
    /// is what follows where the step ends in each tick.
    fn back(&self, case: CrewCase<'_>, rest: &[f64], costs: &[f64]) -> Vec<Vec<f64>> {
        let mut back = vec![vec![NONE; rest.len() + 1]; self.rests];
        for (_, group) in self.groups_in(case).filter(|(_, group)| group.part == Part::Second) {
            for (r, run) in (group.first..).zip(&group.runs).filter(|(_, run)| case.may(run)) {
                let least = &mut back[group.rest][run.start];
                *least = least.min(costs[r] + rest[run.end]);
            }
        }
        for by_tick in &mut back {
            for tick in (0..rest.len()).rev() {
                by_tick[tick] = by_tick[tick].min(by_tick[tick + 1]);
            }
        }
        back
    }
}

impl Group {
    /// What follows a run.
    fn onward(&self, run: &Run, rest: &[f64], back: &[Vec<f64>]) -> f64 {
        if self.part.ends() { rest[run.end] } else { back[self.rest][run.ready] }
    }
}
