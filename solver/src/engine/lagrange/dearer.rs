//! By how much a job's cheapest schedule gets dearer with a given run: the dynamic program from both ends.

use super::excess::Excess;
use super::jobs::{Job, NONE};
use super::mask::{Mask, May};
use super::schedule::Table;
use super::{Relaxation, Sums};
use crate::shop::{CrewId, Id};

impl Job {
    /// By how much the job's cheapest schedule gets dearer with each run, and by leaving it out.
    pub(super) fn excess(&self, of: &Relaxation, prices: &[f64], sums: &Sums, mask: &Mask, excess: &mut Excess) {
        let costs = self.costs(of, prices, sums, mask);
        let mut via: Vec<Vec<Vec<f64>>> =
            costs.iter().map(|step| step.iter().map(|runs| vec![NONE; runs.len()]).collect()).collect();
        let may = mask.may(self.id);
        let left_out = self.left_out - sums.saves.get(&self.id).copied().unwrap_or(0.0);
        let mut least = if may == May::Do { NONE } else { left_out };
        self.each(|only, extra, parked, table| {
            self.schedule(of, &costs, sums, only, parked, table);
            let begin = |i: usize, s: usize| if i == 0 { self.begin(of, sums, parked, s) } else { 0.0 };
            let rest = self.rest(of, sums, extra, parked, table, &begin, &costs, only);
            for (i, step) in self.steps.iter().enumerate() {
                for (g, group) in step.groups.iter().enumerate() {
                    if only.is_some_and(|crew| group.own && group.crew != crew) {
                        continue;
                    }
                    for (r, (s, e, _)) in group.runs.iter().enumerate() {
                        let before: f64 = step.kept.iter().map(|kept| kept.before(table, *s).0).sum();
                        let whole = costs[i][g][r] + begin(i, *s) + before + rest[i][*e];
                        via[i][g][r] = via[i][g][r].min(whole);
                        least = least.min(whole);
                    }
                }
            }
        });
        excess.left_out.insert(self.id, left_out - least);
        if least == NONE {
            return;
        }
        for (step, via) in self.steps.iter().zip(&via) {
            for (group, via) in step.groups.iter().zip(via) {
                for (r, ((s, ..), via)) in group.runs.iter().zip(via).enumerate() {
                    excess.flat[group.first + r] = via - least;
                    excess.runs.insert((step.id, group.way, CrewId::from_index(group.crew), of.ticks[*s]), via - least);
                }
            }
        }
    }

    /// B(step, e): the cheapest rest of the job when a step ends in each tick.
    #[allow(clippy::too_many_arguments)]
    fn rest(
        &self,
        of: &Relaxation,
        sums: &Sums,
        extra: f64,
        parked: &[usize],
        table: &Table,
        begin: &impl Fn(usize, usize) -> f64,
        costs: &[Vec<Vec<f64>>],
        only: Option<usize>,
    ) -> Vec<Vec<f64>> {
        let k = of.ticks.len();
        let mut rest = vec![vec![NONE; k]; self.steps.len()];
        for last in &self.last {
            let mut least = NONE;
            for e in (0..k).rev() {
                let others: f64 = self.last.iter().filter(|o| *o != last).map(|o| table.least[*o][e].0).sum();
                least = least.min(extra + self.over(of, sums, parked, e) + others);
                rest[*last][e] = least;
            }
        }
        for i in (0..self.steps.len()).rev() {
            let step = &self.steps[i];
            for (n, kept) in step.kept.iter().enumerate() {
                // By start of this step: the rest of the job and this step with all before it but the one link.
                let mut from = vec![NONE; k];
                for (g, group) in step.groups.iter().enumerate() {
                    if only.is_some_and(|crew| group.own && group.crew != crew) {
                        continue;
                    }
                    for (r, (s, e, _)) in group.runs.iter().enumerate() {
                        let others: f64 = step
                            .kept
                            .iter()
                            .enumerate()
                            .filter(|(m, _)| *m != n)
                            .map(|(_, o)| o.before(table, *s).0)
                            .sum();
                        from[*s] = from[*s].min(costs[i][g][r] + begin(i, *s) + others + rest[i][*e]);
                    }
                }
                for (s, cost) in from.iter().enumerate().filter(|(_, cost)| **cost < NONE) {
                    let first = kept.from.as_ref().map_or(0, |from| from[s]);
                    for rest in rest[kept.step].get_mut(first..kept.until[s]).into_iter().flatten() {
                        *rest = rest.min(*cost);
                    }
                }
            }
        }
        rest
    }
}
