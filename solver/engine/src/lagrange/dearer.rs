//! By how much a job's cheapest schedule gets dearer with a given run: the dynamic program from both ends.

use yardless_plan::shop::Part;

use super::excess::Dearer;
use super::jobs::{Group, Job, Mode, NONE, Run, Step};
use super::mask::{Mask, May};
use super::schedule::Table;
use super::{Relaxation, Sums};

impl Job {
    /// By how much the job's cheapest schedule gets dearer with each run, and by leaving it out.
    pub(super) fn dearer(&self, of: &Relaxation, prices: &[f64], sums: &Sums, mask: &Mask, dearer: &mut Dearer) {
        if mask.may(self.id) == May::LeaveOut {
            // No plan of the part does it: leaving it out is no dearer, whatever doing it would cost.
            dearer.left_out.insert(self.id, 0.0);
            return;
        }
        let costs = self.costs(of, prices, sums);
        let mut via = vec![NONE; costs.len()];
        let mut table = Table::default();
        let left_out = self.left_out(sums);
        let mut least = if mask.may(self.id) == May::Do { NONE } else { left_out };
        self.each(|mode| {
            self.schedule(of, &costs, sums, mode, &mut table);
            let rest = self.rest(of, sums, mode, &table, &costs);
            for (i, step) in self.steps.iter().enumerate() {
                let back = step.back(mode, &rest[i], &costs);
                for (_, group) in step.groups_in(mode) {
                    let runs = (group.first..).zip(&group.runs).filter(|(_, run)| mode.may(run));
                    for (r, run) in runs {
                        let before = match group.part {
                            Part::Second => table.left[i][group.rest][run.start].0,
                            _ => self.before(of, sums, mode, &table, i, run.start),
                        };
                        let whole = costs[r] + before + group.onward(run, &rest[i], &back);
                        via[r] = via[r].min(whole);
                        least = least.min(whole);
                    }
                }
            }
        });
        dearer.left_out.insert(self.id, left_out - least);
        if least == NONE {
            return;
        }
        let runs = self.steps.iter().flat_map(|step| &step.groups).flat_map(|group| &group.runs);
        for (run, via) in runs.zip(&via) {
            dearer.runs[run.number] = via - least;
        }
    }

    /// B(step, e): the cheapest rest of the job when a step ends in each tick.
    fn rest(&self, of: &Relaxation, sums: &Sums, mode: Mode<'_>, table: &Table, costs: &[f64]) -> Vec<Vec<f64>> {
        let k = of.ticks.len();
        let mut rest = vec![vec![NONE; k]; self.steps.len()];
        for last in &self.last {
            let mut least = NONE;
            for e in (0..k).rev() {
                let others: f64 = self.last.iter().filter(|o| *o != last).map(|o| table.least[*o][e].0).sum();
                least = least.min(self.over(of, sums, mode, e) + others);
                rest[*last][e] = least;
            }
        }
        for i in (0..self.steps.len()).rev() {
            let step = &self.steps[i];
            let back = step.back(mode, &rest[i], costs);
            for (n, kept) in step.kept.iter().enumerate() {
                // By start of this step: the rest of the job and this step with all before it but the one link.
                let mut from = vec![NONE; k];
                for (_, group) in step.groups_in(mode).filter(|(_, group)| group.part.starts()) {
                    let runs = (group.first..).zip(&group.runs).filter(|(_, run)| mode.may(run));
                    for (r, run) in runs {
                        let s = run.start;
                        let others = step.kept.iter().enumerate().filter(|(m, _)| *m != n);
                        let before: f64 = others.map(|(_, other)| other.before(table, s).0).sum();
                        let onward = group.onward(run, &rest[i], &back);
                        from[s] = from[s].min(costs[r] + self.begin(of, sums, mode, i, s) + before + onward);
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

impl Step {
    /// By rest and tick (W10): the least cost of a second span that starts then or later, and of what follows it; `rest`
    /// is what follows where the step ends in each tick.
    fn back(&self, mode: Mode<'_>, rest: &[f64], costs: &[f64]) -> Vec<Vec<f64>> {
        let mut back = vec![vec![NONE; rest.len() + 1]; self.rests];
        for (_, group) in self.groups_in(mode).filter(|(_, group)| group.part == Part::Second) {
            for (r, run) in (group.first..).zip(&group.runs).filter(|(_, run)| mode.may(run)) {
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
