//! The Lagrangian relaxation: every job plans alone and pays for crews and equipment, every unit goes where it is paid to
//! be.
//!
//! Families of rows tie jobs and units together. With a price (a Lagrange multiplier) of 0 or more on each row they
//! fall apart into one schedule a job, one path a unit, and one round a date of each crew whose drives are counted:
//!
//! ```text
//! crew     share of tick k that work takes of crew c                 <= 1                                       W4 W11 W13 W16
//! hold     units of pool p held at P in k                            <= units that stand there                  E2 E3 E5
//! hold     the same for each need of shared units by itself          <= units that stand there                  E8
//! come     units wanted at P by what has started up to k             <= units that have come there up to k      E1 E2
//! stay     units wanted at P by what ends in tick k or later         <= units there in k and yet to come         E1 E2
//! order    b started up to h                                         <= a ended up to h - 1 - w                 W6
//! time     half-days that the crews of a set are short of            <= half-days that jobs left out free        W4
//! reserve  shares of a week that work takes of crew c                <= half-days that it may work + short       C14
//! visit    share of tick k that work at P takes of crew c            <= rounds of c that lead to P in k          C15
//! truck    hauls of units of w lb and more in k                      <= hauls that the trucks make               H4
//! spot     towed units that stand at P in k                          <= trailer spots of P                       E6
//! touch    runs of step s at P in which crew c works on date d       <= rounds of c that lead to P on d          C15
//!
//! bound(prices) = sum over jobs of min(left_out, cheapest schedule at these prices)
//!               + sum over units of the cheapest path at these prices
//!               + sum over crews and dates of the cheapest round at these prices, none at 0 ([`rounds`])
//!               - sum of the crew, truck and spot prices x how much there is of each
//!               + sum of time prices x half-days short - sum of reserve prices x half-days free
//! ```
//!
//! A reserve price is at most what a half-day short costs, so that being short never pays. Where rows `visit` would be too
//! many, a run pays for driving (C15), for each half-day in which it works for a crew with a home, stops apart, half of the
//! way there and back; all of it on a date whose other half the crew does not work at all. `order` is only for links that
//! [`schedule`] cannot keep by itself. Whatever the prices, no plan costs less than bound(prices): part of H1 is left
//! out, which only makes things cheaper, and each row is satisfied by every plan. What a step takes of a crew's
//! half-day is a whole number of 1,024ths, rounded down: all of it as a rule, less of a stop, and of a crew that works on
//! several steps at once. A job's own schedule is exact and whole, so that the
//! bound is at least that of the linear relaxation of those rows. Prices are multiples of 2^-10 cents and shares of 2^-10,
//! so that all sums are exact in floating point and the bound needs no tolerance. [`ascent`](super::ascent) looks for the
//! best prices.

mod building;
mod case_bound;
mod haul_costs;
pub(crate) mod job;
pub(crate) mod path;
mod rounds;
mod rows;
mod run_costs;
mod scarce;
pub(crate) mod schedule;
pub(crate) mod sums;

use std::collections::BTreeSet;

use yardless_plan::shop::{Id, JobId, Part, Shop, StepId, TeamId};

use super::domain::{Domain, JobDomain};
use crate::context::Context;
use crate::model::{short_of_time, unit_pools};
use building::Building;
use job::JobSubproblem;
use job::ScheduleTable;
use path::UnitSubproblem;
use rounds::CrewRounds;
use scarce::ScarceRows;
use sums::Priced;

/// What is wanted at one place: the rows `come`.
#[derive(Clone, Debug)]
struct DemandRow {
    /// Pools that can serve, and their spot.
    able: Vec<(usize, usize)>,
}

/// What a run does.
#[derive(Clone, Copy, Debug)]
pub(crate) struct RunFacts {
    pub(crate) job: JobId,
    pub(crate) step: StepId,
    pub(crate) part: Part,
    /// The rest that a span leaves or does; 0 of a whole run.
    pub(crate) rest: usize,
    pub(crate) way: usize,
    pub(crate) team: TeamId,
    /// Half-day index.
    pub(crate) start: usize,
}

/// A link whose order is kept by prices.
#[derive(Clone, Copy, Debug)]
struct PricedLink {
    before: StepId,
    wait: usize,
}

/// The relaxation of a shop: its jobs, its units, and where each row is among the prices.
#[derive(Clone, Debug)]
pub(crate) struct Relaxation {
    /// The half-days that the shop works.
    ticks: Vec<usize>,
    jobs: Vec<JobSubproblem>,
    pools: Vec<UnitSubproblem>,
    wanted: Vec<DemandRow>,
    priced: Vec<PricedLink>,
    /// Cost of jobs that no schedule can do.
    constant: f64,
    undoable: BTreeSet<JobId>,
    /// Jobs that every plan does (N1).
    must: Vec<JobId>,
    crews: usize,
    /// Spots of all pools.
    spots: usize,
    /// Families of `hold` rows: one a spot, then one for each need and spot of shared units, whose spots have none.
    holds: usize,
    /// The first `hold` row.
    hold: usize,
    come: usize,
    stay: usize,
    order: usize,
    time: usize,
    reserve: usize,
    visit: usize,
    touch: usize,
    /// The first row of what is scarce on the way.
    scarce_rows: usize,
    scarce: ScarceRows,
    rows: usize,
    /// Of the crews whose drives are counted.
    rounds: Vec<CrewRounds>,
    /// Families of rows `visit` and `touch`.
    visits: usize,
    touches: usize,
    /// By reserve its crew, the ticks that count and in how many of them it may work at no cost.
    reserves: Vec<(usize, Vec<usize>, f64)>,
    /// What a half-day short costs, cents: the most that a reserve's price may be.
    reserve_price: f64,
    /// Half-days that jobs left out free, and those the crews are short of.
    short: Vec<(Vec<(JobId, i64)>, i64)>,
    runs: usize,
}

/// The relaxation solved at some prices.
#[derive(Clone, Debug, Default)]
pub(crate) struct Solved {
    /// No plan costs less, in cents.
    pub(crate) bound: f64,
    /// By how much each row is broken.
    pub(crate) broken: Vec<f64>,
    /// The runs chosen, by number.
    pub(crate) chosen: Vec<usize>,
}

impl Relaxation {
    pub(crate) fn new(shop: &Shop, context: &Context) -> Self {
        let ticks: Vec<usize> = (0..shop.len()).filter(|h| shop.open[*h]).collect();
        let mut pools: Vec<UnitSubproblem> = unit_pools(shop, context, shop.places.len() > MOST_PLACES, false)
            .into_iter()
            .map(|pool| UnitSubproblem::new(shop, &ticks, pool))
            .collect();
        let mut spots = 0;
        for pool in &mut pools {
            pool.begin_at(spots);
            spots += pool.spots();
        }
        let mut new = Self {
            jobs: Vec::new(),
            wanted: Vec::new(),
            priced: Vec::new(),
            constant: shop.history.0 as f64,
            undoable: BTreeSet::new(),
            must: shop.jobs.ids().filter(|job| context.must_do(shop, *job)).collect(),
            crews: shop.crews.len(),
            spots,
            holds: spots,
            hold: shop.crews.len() * ticks.len(),
            come: 0,
            stay: 0,
            order: 0,
            time: 0,
            reserve: 0,
            visit: 0,
            touch: 0,
            scarce_rows: 0,
            scarce: ScarceRows::new(shop, &ticks, &pools),
            rounds: rounds::all(shop, &ticks),
            visits: 0,
            touches: 0,
            reserves: reserves(shop, &ticks),
            reserve_price: shop.book.prices.reserve_half_day.0 as f64,
            short: short_of_time(shop, context),
            rows: 0,
            runs: 0,
            pools,
            ticks,
        };
        new.add_jobs(shop, context);
        new.serve_rows();
        new.place_rows();
        new
    }

    fn add_jobs(&mut self, shop: &Shop, context: &Context) {
        let mut jobs = Vec::new();
        let mut building = Building::new(shop, self);
        for job in shop.jobs.ids().filter(|job| context.plans(shop, *job)) {
            if let Some(made) = building.job(job) {
                building.of.constant += shop.jobs[job].past_cost.0 as f64;
                jobs.push(made);
            } else {
                building.of.constant += shop.jobs[job].left_out.0 as f64;
                building.of.undoable.insert(job);
            }
        }
        for job in &mut jobs {
            job.finish(&self.priced, &mut self.runs);
        }
        self.jobs = jobs;
        self.rounds.iter_mut().for_each(|rounds| rounds.finish(shop));
    }

    /// All plans.
    pub(crate) fn all(&self) -> Domain {
        let jobs = self.must.iter().map(|job| (*job, JobDomain::Do)).collect();
        Domain { runs: vec![true; self.runs], jobs }
    }

    /// Each run, by its number.
    pub(crate) fn facts(&self) -> Vec<RunFacts> {
        let mut facts = Vec::with_capacity(self.runs);
        for (job, step) in self.jobs.iter().flat_map(|job| job.steps.iter().map(move |step| (job.id, step))) {
            for group in &step.groups {
                let (step, way, team) = (step.id, group.way, group.team);
                let (part, rest) = (group.part, group.rest);
                let runs = group.runs.iter();
                facts.extend(runs.map(|run| RunFacts { job, step, part, rest, way, team, start: run.from }));
            }
        }
        facts
    }

    /// The jobs that some schedule can do.
    pub(crate) fn jobs(&self) -> impl Iterator<Item = JobId> + '_ {
        self.jobs.iter().map(|job| job.id)
    }

    /// How many rows have a price.
    pub(crate) fn rows(&self) -> usize {
        self.rows
    }

    /// How many runs there are.
    pub(super) fn runs(&self) -> usize {
        self.runs
    }

    /// The half-days that the shop works.
    pub(super) fn ticks(&self) -> &[usize] {
        &self.ticks
    }

    /// The first tick at or after a half-day.
    pub(super) fn tick_from(&self, h: usize) -> usize {
        self.ticks.partition_point(|tick| *tick < h)
    }

    /// The units that are alike.
    pub(super) fn pools(&self) -> &[UnitSubproblem] {
        &self.pools
    }

    /// The plans of a domain, as they are solved again and again.
    pub(crate) fn within<'r>(&'r self, domain: &'r Domain) -> Restricted<'r> {
        Restricted { of: self, domain, jobs: self.jobs.iter().map(|job| job.within(domain)).collect() }
    }

    /// The position of a pool's spot among all.
    fn flat(&self, pool: usize, spot: usize) -> usize {
        self.pools[pool].first + spot
    }

    /// The first tick in which the step after a priced link may start, when the one before ends in a tick.
    fn free_after(&self, link: usize, end: usize) -> usize {
        self.ticks.partition_point(|h| *h < self.ticks[end] + 1 + self.priced[link].wait)
    }
}

/// The relaxation within a domain: its jobs have only the runs that they may use.
pub(crate) struct Restricted<'r> {
    of: &'r Relaxation,
    domain: &'r Domain,
    jobs: Vec<JobSubproblem>,
}

impl Restricted<'_> {
    /// What it is a part of.
    pub(super) fn relaxation(&self) -> &Relaxation {
        self.of
    }

    /// Its jobs.
    pub(super) fn jobs(&self) -> &[JobSubproblem] {
        &self.jobs
    }

    /// Solves all subproblems at some prices.
    pub(crate) fn solve(&self, prices: &[f64]) -> Solved {
        let of = self.of;
        let k = of.ticks.len();
        let mut solved = Solved { bound: 0.0, broken: vec![0.0; of.rows], chosen: Vec::new() };
        let broken = &mut solved.broken;
        let mut bound = of.constant;
        for row in 0..of.crews * k {
            bound -= prices[row];
            broken[row] -= 1.0;
        }
        for ((_, _, free), row) in of.reserves.iter().zip(of.reserve..) {
            bound -= prices[row] * free;
            broken[row] -= free;
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
        bound -= of.scarce.all(&prices[of.scarce_rows..], &mut broken[of.scarce_rows..]);
        let mut table = ScheduleTable::default();
        let at = Priced::new(of, prices);
        for job in &self.jobs {
            bound += job.solve(&at, self.domain.of_job(job.id), &mut table, &mut solved);
        }
        for (p, pool) in of.pools.iter().enumerate() {
            bound += pool.solve(&at, p, &mut solved);
        }
        for rounds in &of.rounds {
            bound += rounds.solve(of.round_rows(), prices, &mut solved.broken);
        }
        solved.bound = bound;
        of.add_up(&mut solved.broken);
        solved
    }
}

/// Places above which those where nothing wants a pool's units are taken together.
const MOST_PLACES: usize = 40;

fn reserves(shop: &Shop, ticks: &[usize]) -> Vec<(usize, Vec<usize>, f64)> {
    let tick = |h: &usize| ticks.partition_point(|tick| tick < h);
    let of = shop.reserves.iter();
    of.map(|of| (of.crew.index(), of.half_days.iter().map(tick).collect(), of.free as f64)).collect()
}
