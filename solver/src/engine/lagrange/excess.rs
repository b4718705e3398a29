//! By how much the bound rises, at least, for plans with one given run, haul or job left out: what is too dear for any
//! better plan is taken out of the program.
//!
//! With B(b, e) the cheapest rest of the job's schedule when step b ends at e (against the order of the steps),
//!
//! ```text
//! excess(run s -> e of b) = S(b, s) + sum over kept links a of min E(a, .) + B(b, e) - job
//! excess(haul)            = cheapest path to it + haul + cheapest path on - cheapest path
//! ```

use std::collections::BTreeMap;

use super::mask::Mask;
use super::paths::Ways;
use super::{Relaxation, Sums};
use crate::shop::{CrewId, JobId, PlaceId, StepId, UnitId};

/// What lifts the bound by how much, in cents.
#[derive(Clone, Debug, Default)]
pub(in crate::engine) struct Excess {
    /// The bound at these prices, in cents.
    pub(in crate::engine) bound: f64,
    /// By step, way, crew and start.
    pub(in crate::engine) runs: BTreeMap<(StepId, usize, CrewId, usize), f64>,
    /// By job.
    pub(in crate::engine) left_out: BTreeMap<JobId, f64>,
    /// By number of the run.
    pub(in crate::engine) flat: Vec<f64>,
    ways: Vec<Ways>,
}

/// A haul: the units that may make it, from, to, half-day, in the evening.
pub(in crate::engine) type Haul<'a> = (&'a [UnitId], PlaceId, PlaceId, usize, bool);

impl Relaxation {
    /// The excesses at some prices.
    pub(in crate::engine) fn excess(&self, prices: &[f64], mask: &Mask, with_ways: bool) -> Excess {
        let sums = Sums::new(self, prices);
        let bound = self.solve(prices, mask).bound;
        let mut excess = Excess { bound, flat: vec![f64::INFINITY; self.runs], ..Excess::default() };
        for job in &self.jobs {
            job.excess(self, prices, &sums, mask, &mut excess);
        }
        for pool in self.pools.iter().filter(|_| with_ways) {
            excess.ways.push(pool.excess(self, &sums));
        }
        excess
    }

    /// By how much the bound rises with a haul, at least.
    pub(in crate::engine) fn haul_excess(&self, excess: &Excess, (units, from, to, h, evening): Haul<'_>) -> f64 {
        let tick = self.ticks.partition_point(|tick| *tick < h);
        let mut least = f64::INFINITY;
        for (pool, ways) in
            self.pools.iter().zip(&excess.ways).filter(|(p, _)| p.of.units.iter().any(|u| units.contains(u)))
        {
            let (Some(from), Some(to)) = (pool.of.spot(from), pool.of.spot(to)) else { return 0.0 };
            least = least.min(if from == to { 0.0 } else { pool.dear(ways, (from, to, tick, evening)) });
        }
        least
    }
}
