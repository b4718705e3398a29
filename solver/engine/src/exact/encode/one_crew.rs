//! Rows that hold where no job has an own crew beyond its first: for a branch of the proof.

use std::collections::BTreeMap;

use yardless_plan::shop::{JobId, Part, Shop, StepId};

use super::program::{Row, States, Terms};
use super::{Encoding, RunColumn};

impl Encoding {
    /// **One crew a job.** In a plan in which every job has one own crew at most (C4 costs nothing), for steps a and b
    /// of a job that only own crews may do, every crew c, link a -> b (wait w) and tick at half-day h:
    ///
    /// ```text
    /// sum of x_r of a by c = sum of x_r of b by c
    /// started_b by c (h) <= ended_a by c (h - 1 - w)
    /// ```
    ///
    /// The second is W6 crew by crew: the relaxation may no longer start b by one crew on what another has ended.
    pub fn one_crew(&self, shop: &Shop) -> Vec<Row> {
        let mut rows = Vec::new();
        if self.extra_crews.is_empty() {
            return rows;
        }
        // Several crews that have been on a job before may all go on with it at no cost.
        for job in shop.jobs.ids().filter(|job| shop.jobs[*job].crews_before.len() < 2) {
            let own: Vec<StepId> = shop.jobs[job].step_ids().filter(|step| self.only_own(shop, *step)).collect();
            for pair in own.windows(2) {
                self.same_crew(pair[0], pair[1], &mut rows);
            }
            self.order_by_crew(shop, job, &own, &mut rows);
        }
        rows
    }

    fn only_own(&self, shop: &Shop, step: StepId) -> bool {
        let by_crew = self.by_crew(step, Part::starts);
        !by_crew.is_empty() && by_crew.keys().all(|pool| shop.crews[self.crew_of(shop, *pool)].own)
    }

    /// The runs of a step by crew: those that it starts with, or those that it ends with (W10).
    fn by_crew(&self, step: StepId, may: impl Fn(Part) -> bool) -> BTreeMap<usize, Vec<RunColumn>> {
        let mut by_crew: BTreeMap<usize, Vec<RunColumn>> = BTreeMap::new();
        for run in self.modes_of(step).filter(|mode| may(mode.part)).flat_map(|mode| &mode.runs) {
            by_crew.entry(self.team_pools[run.pool].alone).or_default().push(*run);
        }
        by_crew
    }

    fn same_crew(&self, a: StepId, b: StepId, rows: &mut Vec<Row>) {
        let (by_a, by_b) = (self.by_crew(a, Part::starts), self.by_crew(b, Part::starts));
        let mut pools: Vec<usize> = by_a.keys().chain(by_b.keys()).copied().collect();
        pools.sort_unstable();
        pools.dedup();
        for pool in pools {
            let of = |runs: &BTreeMap<usize, Vec<RunColumn>>, sign: i64| -> Terms {
                runs.get(&pool).into_iter().flatten().map(|run| (run.col, sign)).collect()
            };
            let terms = [of(&by_a, 1), of(&by_b, -1)].concat();
            rows.push(Row { states: States::Branch, at_least: Some(0), at_most: Some(0), terms });
        }
    }

    fn order_by_crew(&self, shop: &Shop, job: JobId, own: &[StepId], rows: &mut Vec<Row>) {
        let of_job = shop.jobs[job].step_ids();
        for b in of_job.filter(|step| own.contains(step)) {
            for link in shop.steps[b].after.iter().filter(|link| own.contains(&link.before)) {
                let before = self.by_crew(link.before, Part::ends);
                for (pool, runs) in self.by_crew(b, Part::starts) {
                    let ended = before.get(&pool).map(Vec::as_slice).unwrap_or_default();
                    let mut starts: Vec<usize> = runs.iter().map(|run| run.start).collect();
                    starts.sort_unstable();
                    starts.dedup();
                    for h in starts {
                        let mut terms: Terms =
                            runs.iter().filter(|run| run.start <= h).map(|run| (run.col, 1)).collect();
                        terms.extend(ended.iter().filter(|run| run.end + 1 + link.wait <= h).map(|run| (run.col, -1)));
                        rows.push(Row { states: States::Branch, at_least: None, at_most: Some(0), terms });
                    }
                }
            }
        }
    }
}
