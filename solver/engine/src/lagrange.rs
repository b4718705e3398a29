//! A bound from prices: every job plans alone and pays for crews and equipment, every unit goes where it is paid to be.
//!
//! Six families of rows tie jobs and units together. With a price of 0 or more on each row (a *Lagrangian
//! relaxation*) they fall apart into one schedule a job and one path a unit:
//!
//! ```text
//! crew     work by crew c in tick k                                  <= 1                                       W4
//! hold     units of pool p held at P in k                            <= units that stand there                  E2 E3 E5
//! come     units wanted at P by what has started up to k             <= units that have come there up to k      E1 E2
//! stay     units wanted at P by what ends in tick k or later         <= units there in k and yet to come         E1 E2
//! order    b started up to h                                         <= a ended up to h - 1 - w                 W6
//! time     half-days that the crews of a set are short of            <= half-days that jobs left out free        W4
//!
//! bound(prices) = sum over jobs of min(left_out, cheapest schedule at these prices)
//!               + sum over units of the cheapest path at these prices
//!               - sum of the crew prices + sum of time prices x half-days short
//! ```
//!
//! `order` is only for links that [`jobs`] cannot keep by itself. Whatever the prices, no plan costs less than
//! bound(prices): E6, H4 and part of H1 are left out, which only makes things cheaper, and each row is satisfied by
//! every plan. A job's own schedule is exact and whole, so that the bound is at least that of the linear relaxation of
//! those rows. Prices are multiples of 2^-10 cents, so that all sums are exact in floating point and the bound needs no
//! tolerance. [`ascent`] looks for the best prices.

mod ascent;
mod dearer;
mod excess;
mod jobs;
mod mask;
mod paths;
mod schedule;
mod sums;

use std::collections::{BTreeMap, BTreeSet};

use yardless_plan::shop::{CrewId, Id, JobId, Part, Shop, StepId};

use crate::encode;
use jobs::Job;
use paths::Pool;
use sums::Sums;

pub(super) use ascent::Ascent;
pub(super) use excess::Excess;
pub(super) use mask::{Mask, May};

/// What is wanted at one place: the rows `come`.
#[derive(Clone, Debug)]
struct Wanted {
    /// Pools that can serve, and their spot.
    able: Vec<(usize, usize)>,
}

/// What a run does.
#[derive(Clone, Copy, Debug)]
pub(super) struct RunFacts {
    pub(super) job: JobId,
    pub(super) step: StepId,
    pub(super) part: Part,
    /// The rest that a span leaves or does; 0 of a whole run.
    pub(super) rest: usize,
    pub(super) way: usize,
    pub(super) crew: CrewId,
    /// Half-day index.
    pub(super) start: usize,
}

/// A link whose order is kept by prices.
#[derive(Clone, Copy, Debug)]
struct PricedLink {
    before: StepId,
    wait: usize,
}

/// The relaxation of a shop: its jobs, its units, and where each row is among the prices.
#[derive(Clone, Debug)]
pub(super) struct Relaxation {
    /// The half-days that the shop works.
    ticks: Vec<usize>,
    jobs: Vec<Job>,
    pools: Vec<Pool>,
    wanted: Vec<Wanted>,
    priced: Vec<PricedLink>,
    /// Cost of jobs that no schedule can do.
    constant: f64,
    undoable: BTreeSet<JobId>,
    /// Jobs that every plan does (N1).
    must: Vec<JobId>,
    crews: usize,
    /// The first `hold` row of each pool.
    hold: Vec<usize>,
    come: usize,
    stay: usize,
    order: usize,
    time: usize,
    rows: usize,
    /// Half-days that jobs left out free, and those the crews are short of.
    short: Vec<(Vec<(JobId, i64)>, i64)>,
    runs: usize,
}

/// The relaxation solved at some prices.
#[derive(Clone, Debug, Default)]
pub(super) struct Solved {
    /// No plan costs less, in cents.
    pub(super) bound: f64,
    /// By how much each row is broken.
    pub(super) broken: Vec<f64>,
    /// The runs chosen, by number.
    pub(super) chosen: Vec<usize>,
}

impl Relaxation {
    pub(super) fn new(shop: &Shop) -> Self {
        let ticks: Vec<usize> = (0..shop.len()).filter(|h| shop.open[*h]).collect();
        let pools: Vec<Pool> = encode::unit_pools(shop, shop.places.len() > MOST_PLACES, false)
            .into_iter()
            .map(|pool| Pool::new(shop, &ticks, pool))
            .collect();
        let mut new = Self {
            jobs: Vec::new(),
            wanted: Vec::new(),
            priced: Vec::new(),
            constant: 0.0,
            undoable: BTreeSet::new(),
            must: shop.jobs.ids().filter(|job| shop.jobs[*job].must).collect(),
            crews: shop.crews.len(),
            hold: Vec::new(),
            come: 0,
            stay: 0,
            order: 0,
            time: 0,
            short: encode::short_of_time(shop),
            rows: 0,
            runs: 0,
            pools,
            ticks,
        };
        let mut wanted = BTreeMap::new();
        new.constant += shop.history.0 as f64;
        for job in shop.jobs.ids().filter(|job| shop.jobs[*job].planned()) {
            if let Some(made) = Job::new(shop, &mut new, &mut wanted, job) {
                new.constant += shop.jobs[job].past_cost.0 as f64;
                new.jobs.push(made);
            } else {
                new.constant += shop.jobs[job].left_out.0 as f64;
                new.undoable.insert(job);
            }
        }
        for job in &mut new.jobs {
            job.finish(&new.priced, &mut new.runs);
        }
        let mut first = 0;
        for (p, pool) in new.pools.iter_mut().enumerate() {
            pool.first = first;
            first += pool.spots();
            for (row, wanted) in new.wanted.iter().enumerate() {
                for (_, spot) in wanted.able.iter().filter(|(of, _)| *of == p) {
                    pool.serves[*spot].push(row);
                }
            }
        }
        let k = new.ticks.len();
        let mut rows = new.crews * k;
        for pool in &new.pools {
            new.hold.push(rows);
            rows += pool.spots() * k;
        }
        new.come = rows;
        new.stay = new.come + new.wanted.len() * k;
        new.order = new.stay + new.wanted.len() * k;
        new.time = new.order + new.priced.len() * k;
        new.rows = new.time + new.short.len();
        new
    }

    /// All plans.
    pub(super) fn all(&self) -> Mask {
        let jobs = self.must.iter().map(|job| (*job, May::Do)).collect();
        Mask { runs: vec![true; self.runs], jobs }
    }

    /// Each run, by its number.
    pub(super) fn facts(&self) -> Vec<RunFacts> {
        let mut facts = Vec::with_capacity(self.runs);
        for (job, step) in self.jobs.iter().flat_map(|job| job.steps.iter().map(move |step| (job.id, step))) {
            for group in &step.groups {
                let (step, way, crew) = (step.id, group.way, CrewId::from_index(group.crew));
                let (part, rest) = (group.part, group.rest);
                let runs = group.runs.iter();
                facts.extend(runs.map(|run| RunFacts { job, step, part, rest, way, crew, start: run.from }));
            }
        }
        facts
    }

    /// The jobs that some schedule can do.
    pub(super) fn jobs(&self) -> impl Iterator<Item = JobId> + '_ {
        self.jobs.iter().map(|job| job.id)
    }

    /// How many rows have a price.
    pub(super) fn rows(&self) -> usize {
        self.rows
    }

    /// A part of all plans, as it is solved again and again.
    pub(super) fn within<'r>(&'r self, mask: &'r Mask) -> Within<'r> {
        Within { of: self, mask, jobs: self.jobs.iter().map(|job| job.within(mask)).collect() }
    }
}

/// A part of all plans as the relaxation sees it: its jobs have only the runs that it may use.
pub(super) struct Within<'r> {
    of: &'r Relaxation,
    mask: &'r Mask,
    jobs: Vec<Job>,
}

impl Within<'_> {
    /// Solves all parts at some prices.
    pub(super) fn solve(&self, prices: &[f64]) -> Solved {
        let of = self.of;
        let k = of.ticks.len();
        let mut broken = vec![0.0; of.rows];
        let mut bound = of.constant;
        let mut chosen = Vec::new();
        for row in 0..of.crews * k {
            bound -= prices[row];
            broken[row] -= 1.0;
        }
        for ((jobs, short), row) in of.short.iter().zip(of.time..) {
            bound += prices[row] * *short as f64;
            broken[row] += *short as f64;
            // Jobs that no schedule can do are left out.
            for (_, freed) in jobs.iter().filter(|(job, _)| of.undoable.contains(job)) {
                bound -= prices[row] * *freed as f64;
                broken[row] -= *freed as f64;
            }
        }
        let mut table = schedule::Table::default();
        let sums = Sums::new(of, prices);
        for job in &self.jobs {
            bound += job.solve(self, prices, &sums, &mut table, &mut broken, &mut chosen);
        }
        for p in 0..of.pools.len() {
            bound += of.pools[p].solve(of, p, &sums, &mut broken);
        }
        // What has come or ended counts from its tick on: broken held the changes so far.
        for first in (of.come..of.stay).chain(of.order..of.time).step_by(k.max(1)) {
            for row in first + 1..first + k {
                broken[row] += broken[row - 1];
            }
        }
        // What is held until a tick, or comes after it, counts for the ticks before.
        for first in (of.stay..of.order).step_by(k.max(1)) {
            for row in (first..first + k - 1).rev() {
                broken[row] += broken[row + 1];
            }
        }
        Solved { bound, broken, chosen }
    }
}

/// Places above which those where nothing wants a pool's units are taken together.
const MOST_PLACES: usize = 40;

impl Relaxation {
    /// The position of a pool's spot among all.
    fn flat(&self, pool: usize, spot: usize) -> usize {
        self.pools[pool].first + spot
    }
}
