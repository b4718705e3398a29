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

use yardless_plan::shop::{JobId, PlaceId, UnitId};

use super::mask::Mask;
use super::paths::Ways;
use super::{Relaxation, Sums};

/// By how much runs and jobs left out lift the bound, in cents.
#[derive(Clone, Debug)]
pub(crate) struct Dearer {
    /// The bound at these prices, in cents.
    pub(crate) bound: f64,
    /// By number of the run.
    pub(crate) runs: Vec<f64>,
    pub(crate) left_out: BTreeMap<JobId, f64>,
}

/// The same with hauls.
#[derive(Clone, Debug)]
pub(crate) struct Excess {
    pub(crate) dearer: Dearer,
    ways: Vec<Ways>,
}

/// A haul: the units that may make it, from, to, half-day, in the evening.
pub(crate) type Haul<'a> = (&'a [UnitId], PlaceId, PlaceId, usize, bool);

impl Relaxation {
    /// The excesses of runs and jobs left out at some prices.
    pub(crate) fn dearer(&self, prices: &[f64], mask: &Mask) -> Dearer {
        let sums = Sums::new(self, prices);
        let within = self.within(mask);
        let bound = within.solve(prices).bound;
        let mut dearer = Dearer { bound, runs: vec![f64::INFINITY; self.runs], left_out: BTreeMap::new() };
        for job in &within.jobs {
            job.dearer(self, prices, &sums, mask, &mut dearer);
        }
        dearer
    }

    /// All excesses at some prices.
    pub(crate) fn excess(&self, prices: &[f64], mask: &Mask) -> Excess {
        let sums = Sums::new(self, prices);
        let ways = self.pools.iter().map(|pool| pool.ways(self, &sums)).collect();
        Excess { dearer: self.dearer(prices, mask), ways }
    }

    /// By how much the bound rises with a haul, at least.
    pub(crate) fn haul_excess(&self, excess: &Excess, (units, from, to, h, evening): Haul<'_>) -> f64 {
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
