//! Rules E2, E3, E5, E7: which pool's units are held where, from when to when.

use yardless_plan::shop::{Id, JobId, Need, Part, PlaceId, Shop, StepId};

use super::Encoding;
use super::program::{Col, Rule, Terms};
use crate::context::Context;
use crate::model::{Asks, DemandKey, parked_asks};

/// Units of one pool held at one spot by one need, over all the times at which it may happen.
#[derive(Clone, Debug)]
pub(crate) struct PoolHold {
    /// What holds them.
    pub(crate) by: HeldBy,
    /// The unit pool.
    pub(crate) pool: usize,
    /// The spot of the pool.
    pub(crate) spot: usize,
    /// Units held for each 1 in the columns.
    pub(crate) factor: i64,
    /// By tick: above 0 once the hold has started.
    pub(crate) started: Vec<Col>,
    /// By tick: above 0 once it has ended.
    pub(crate) ended: Vec<Col>,
    /// By tick: whether a hold may start and end in it.
    pub(crate) short: Vec<bool>,
    /// Whether the work waits while the pool is out (N1).
    pub(crate) waits: bool,
    /// By tick, where it goes on past the planned part of its job: above 0 once that is over, from when on the pool may be
    /// out (E7).
    pub(crate) rests: Option<Vec<Col>>,
    /// How many units of this pool serve the need, where several pools may.
    pub(crate) share: Option<Col>,
}

/// What holds units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum HeldBy {
    /// A need of a mode, by their positions.
    Mode(usize, usize),
    /// A parked need of a job, by its position.
    Parked(JobId, usize),
    /// A job in progress, where it is left out: a unit of its own, to the end (N1).
    Unended,
    /// Nothing: the one unit of the pool that is out for a while stands there.
    Out,
}

impl PoolHold {
    /// Units held in tick k: started by k, not ended before.
    pub(super) fn held(&self, k: usize) -> Terms {
        let mut terms = vec![(self.started[k], self.factor)];
        terms.extend(k.checked_sub(1).map(|before| (self.ended[before], -self.factor)));
        terms
    }
    /// Units held both in tick k and in the next, and so over whatever lies between.
    pub(super) fn held_on(&self, k: usize) -> Terms {
        vec![(self.started[k], self.factor), (self.ended[k], -self.factor)]
    }
    /// Units in use in tick k, which are not out in it (E4): all that are held, until they rest.
    pub(super) fn in_use(&self, k: usize) -> Terms {
        let mut terms = vec![(self.started[k], self.factor)];
        terms.extend(k.checked_sub(1).map(|before| (self.over()[before], -self.factor)));
        terms
    }
    /// Units in use both in tick k and in the next.
    pub(super) fn in_use_on(&self, k: usize) -> Terms {
        vec![(self.started[k], self.factor), (self.over()[k], -self.factor)]
    }
    fn over(&self) -> &[Col] {
        self.rests.as_ref().unwrap_or(&self.ended)
    }
}

/// **E2, E5, E3.** A need for n units of a kind in mode m is served by the pools whose units can serve it. With one
/// such pool the units held in tick k are n (started_m(k) - ended_m(k-1)). With several, q_p counts those of pool p:
///
/// ```text
/// sum over p of q_p = n started_m(last)
/// started_p(k) <= q_p,  sum over p of started_p(k) = n started_m(k),  and likewise ended_p(k)
/// ```
///
/// which is exact for whole q: the step starts once, and from then on started_p = q_p. Parked needs (E3) are held the
/// same way from the job's first start to its last end (see [`spans`]); where they give steps (E7), from the start of the
/// one, started_a(k), to the end of the other, ended_b(k), which comes after a start of the first, so that the difference
/// is never below 0. Where what ends them is later they are held to the last tick, ended = 0, and only up to the end of the
/// job's planned part they are *in use*, which E4 looks at.
pub(super) fn holds(shop: &Shop, context: &Context, e: &mut Encoding) {
    for m in 0..e.modes.len() {
        let mode = e.modes[m].clone();
        let place = shop.jobs[shop.steps[mode.step].job].place;
        let mut short = vec![false; e.ticks.len()];
        for run in mode.runs.iter().filter(|run| e.tick_from(run.start) == e.tick_from(run.end)) {
            short[e.tick_from(run.start)] = true;
        }
        for (i, need) in mode.needs.iter().enumerate() {
            let (by, started, ended) = (HeldBy::Mode(m, i), &mode.started[..], &mode.ended[..]);
            NeedColumns { by, need: *need, place, started, ended, rests: None, short: &short }.serve(shop, e);
        }
    }
    unended(shop, context, e);
    for (job, facts) in shop.jobs.pairs() {
        if facts.parked.is_empty() || !context.plans(shop, job) || facts.follows_later.is_some() {
            continue;
        }
        let (started, over) = spans(shop, e, job);
        let short = vec![true; e.ticks.len()];
        let long = vec![false; e.ticks.len()];
        let never = if facts.in_part() { vec![e.program.decide(0, 0); e.ticks.len()] } else { Vec::new() };
        for (i, parked) in facts.parked.iter().enumerate() {
            let (by, need, place) = (HeldBy::Parked(job, i), parked.need, facts.place);
            let first = parked.from.map(|from| by_tick(e, |e, k| e.started(from, k)));
            let last = parked.to.map(|to| by_tick(e, |e, k| e.ended(to, k)));
            let (started, ended) = (first.as_ref().unwrap_or(&started), last.as_ref().unwrap_or(&over));
            let columns = if parked.on {
                NeedColumns { by, need, place, started, ended: &never, rests: Some(ended), short: &long }
            } else {
                NeedColumns { by, need, place, started, ended, rests: None, short: &short }
            };
            columns.serve(shop, e);
        }
    }
}

/// Who asks for the units of a hold.
pub(super) fn asks(shop: &Shop, e: &Encoding, by: HeldBy) -> Option<DemandKey> {
    match by {
        HeldBy::Mode(m, i) => {
            let mode = &e.modes[m];
            let by = Asks::Step(mode.step, mode.part == Part::Second);
            Some((shop.steps[mode.step].job, by, mode.needs[i].want))
        }
        HeldBy::Parked(job, i) => Some((job, parked_asks(shop, job, i), shop.jobs[job].parked[i].need.want)),
        HeldBy::Out | HeldBy::Unended => None,
    }
}

/// **N1, E7.** A job in progress that is left out keeps each unit that it holds now: 1 y held from the first tick on; one of
/// which all that is left is later keeps them in every plan.
fn unended(shop: &Shop, context: &Context, e: &mut Encoding) {
    let bound: Vec<(usize, JobId)> = (0..e.unit_pools.len())
        .flat_map(|pool| shop.units[e.unit_pools[pool].units[0]].bound.iter().map(move |job| (pool, *job)))
        .collect();
    for (pool, job) in bound {
        let left_out = e.left_out[job.index()].filter(|_| !context.must_do(shop, job));
        let rests = shop.jobs[job].rests().then(|| e.program.sum(1, Terms::new(), 1));
        let Some(held) = left_out.or(rests) else { continue };
        let never = e.program.decide(0, 0);
        let hold = PoolHold {
            by: HeldBy::Unended,
            pool,
            spot: e.unit_pools[pool].spot(shop.jobs[job].place).unwrap_or(0),
            factor: 1,
            started: vec![held; e.ticks.len()],
            ended: vec![never; e.ticks.len()],
            short: vec![false; e.ticks.len()],
            waits: true,
            rests: None,
            share: None,
        };
        e.holds.push(hold);
    }
}

/// **E4, for one unit of a pool.** o_P = 1 where the unit that is out for a while stands: a hold at P over that time.
///
/// ```text
/// sum over P of o_P = 1
/// ```
///
/// [`super::flow`] keeps it from being hauled in the first and the last half-day of it too.
pub(super) fn outs(e: &mut Encoding) {
    for pool in 0..e.unit_pools.len() {
        let Some(one) = e.unit_pools[pool].one_out else { continue };
        let (first, last) = (e.tick_of[one.first], e.tick_of[one.last]);
        let never = e.program.decide(0, 0);
        let mut all = Terms::new();
        for spot in 0..e.unit_pools[pool].spots.len() {
            let here = e.program.decide(0, 1);
            all.push((here, 1));
            let from = |tick: usize| (0..e.ticks.len()).map(|k| if k < tick { never } else { here }).collect();
            let hold = PoolHold {
                by: HeldBy::Out,
                pool,
                spot,
                factor: 1,
                started: from(first),
                ended: from(last),
                short: vec![first == last; e.ticks.len()],
                waits: false,
                rests: None,
                share: Some(here),
            };
            e.holds.push(hold);
        }
        e.program.equal(Rule::E4, all, 1);
    }
}

/// A need at a place, with the columns by which its units are held.
struct NeedColumns<'c> {
    by: HeldBy,
    need: Need,
    place: PlaceId,
    /// By tick: 1 once it holds units.
    started: &'c [Col],
    /// By tick: 1 once it holds none any more.
    ended: &'c [Col],
    /// By tick: 1 once it rests (E7).
    rests: Option<&'c [Col]>,
    /// By tick: whether it may start and end in it.
    short: &'c [bool],
}

impl NeedColumns<'_> {
    /// Has it served by the pools whose units can.
    fn serve(&self, shop: &Shop, e: &mut Encoding) {
        let able: Vec<usize> =
            (0..e.unit_pools.len()).filter(|p| shop.units[e.unit_pools[*p].units[0]].serves(self.need.want)).collect();
        let Some(last) = self.started.last().copied() else { return };
        match able[..] {
            [] => e.program.equal(Rule::E2, vec![(last, 1)], 0),
            [pool] => {
                let hold = self.hold(e, pool, self.started.to_vec(), self.ended.to_vec());
                e.holds.push(PoolHold { factor: self.need.count as i64, ..hold });
            }
            _ => self.share(&able, last, e),
        }
    }

    /// Shares it among several pools. `last`: whether it is served at all.
    fn share(&self, pools: &[usize], last: Col, e: &mut Encoding) {
        let n = self.need.count as i64;
        let shares: Vec<Col> = pools
            .iter()
            .map(|pool| {
                let units = e.unit_pools[*pool].units.len() as i64;
                e.program.decide(0, units.min(n))
            })
            .collect();
        let mut all: Terms = shares.iter().map(|share| (*share, 1)).collect();
        all.push((last, -n));
        e.program.equal(Rule::E2, all, 0);
        let started = split(e, &shares, self.started, n);
        let ended = split(e, &shares, self.ended, n);
        let rests = self.rests.map(|rests| split(e, &shares, rests, n));
        for (i, pool) in pools.iter().enumerate() {
            let column = |of: &[Vec<Col>]| of.iter().map(|cols| cols[i]).collect();
            let hold = self.hold(e, *pool, column(&started), column(&ended));
            e.holds.push(PoolHold { share: Some(shares[i]), rests: rests.as_deref().map(column), ..hold });
        }
    }

    /// What a pool holds for it, a unit for each 1 in the columns.
    fn hold(&self, e: &Encoding, pool: usize, started: Vec<Col>, ended: Vec<Col>) -> PoolHold {
        PoolHold {
            by: self.by,
            pool,
            spot: e.unit_pools[pool].spot(self.place).unwrap_or(0),
            factor: 1,
            started,
            ended,
            short: self.short.to_vec(),
            waits: self.need.want.waits(),
            rests: self.rests.map(<[Col]>::to_vec),
            share: None,
        }
    }
}

/// For each tick and share: min(share, n x column), and the rows that make their sum n x column.
fn split(e: &mut Encoding, shares: &[Col], columns: &[Col], n: i64) -> Vec<Vec<Col>> {
    let mut split: Vec<Vec<Col>> = Vec::with_capacity(columns.len());
    for (k, column) in columns.iter().enumerate() {
        if k > 0 && *column == columns[k - 1] {
            split.push(split[k - 1].clone());
            continue;
        }
        let parts: Vec<Col> = shares
            .iter()
            .map(|share| {
                let upper = e.program.upper[share.index()];
                e.program.least(Rule::E2, upper, vec![vec![(*share, 1)], vec![(*column, n)]])
            })
            .collect();
        let mut sum: Terms = parts.iter().map(|part| (*part, 1)).collect();
        sum.push((*column, -n));
        e.program.equal(Rule::E2, sum, 0);
        split.push(parts);
    }
    split
}

/// By tick: 1 once the job has started, and 1 once it is over. With one step that nothing in the job precedes (or
/// follows) these are sums; with several
///
/// ```text
/// started_j(k) >= started_a(k) for every first step a       over_j(k) <= ended_b(k) for every last step b
/// ```
///
/// which may err only towards holding longer and ending later, and costs never fall by either.
pub(super) fn spans(shop: &Shop, e: &mut Encoding, job: JobId) -> (Vec<Col>, Vec<Col>) {
    let (first, last) = ends_of(shop, job);
    let mut started: Vec<Col> = Vec::new();
    let mut over: Vec<Col> = Vec::new();
    let mut before: (Vec<Terms>, Vec<Terms>) = Default::default();
    // A job in progress is on from the first tick, unless it is left out.
    let on = e.left_out[job.index()].filter(|_| shop.jobs[job].started);
    let on = on.map(|left_out| e.program.sum(1, vec![(left_out, -1)], 1));
    for k in 0..e.ticks.len() {
        let starts: Vec<Terms> = first.iter().map(|a| e.started(*a, k)).collect();
        let ends: Vec<Terms> = last.iter().map(|b| e.ended(*b, k)).collect();
        // Nothing new in a tick: the same column serves.
        let begins = if let Some(on) = on {
            on
        } else if k > 0 && before.0 == starts {
            started[k - 1]
        } else if let [one] = &starts[..] {
            single(e, one)
        } else {
            e.program.greatest(Rule::E3, 1, starts.clone())
        };
        let ended = if k > 0 && before.1 == ends {
            over[k - 1]
        } else if let [one] = &ends[..] {
            single(e, one)
        } else {
            e.program.least(Rule::C1, 1, ends.clone())
        };
        started.push(begins);
        over.push(ended);
        before = (starts, ends);
    }
    (started, over)
}

/// By tick the column of a sum; where it is the same as before, the same column.
fn by_tick(e: &mut Encoding, sum: impl Fn(&Encoding, usize) -> Terms) -> Vec<Col> {
    let mut columns: Vec<Col> = Vec::with_capacity(e.ticks.len());
    let mut before: Option<Terms> = None;
    for k in 0..e.ticks.len() {
        let terms = sum(e, k);
        let column = match (columns.last(), &before) {
            (Some(column), Some(before)) if *before == terms => *column,
            _ => single(e, &terms),
        };
        columns.push(column);
        before = Some(terms);
    }
    columns
}

fn single(e: &mut Encoding, terms: &Terms) -> Col {
    match terms[..] {
        [(col, 1)] => col,
        _ => e.program.sum(1, terms.clone(), 0),
    }
}

/// The steps of a job that no other step of it precedes, and those that none follows.
pub(super) fn ends_of(shop: &Shop, job: JobId) -> (Vec<StepId>, Vec<StepId>) {
    let steps = shop.jobs[job].steps.clone();
    let inside = |step: &StepId| steps.contains(&step.index());
    let first = shop.jobs[job]
        .step_ids()
        .filter(|step| !shop.steps[*step].after.iter().any(|link| inside(&link.before)))
        .collect();
    let last = shop.jobs[job]
        .step_ids()
        .filter(|step| {
            !shop.jobs[job].step_ids().any(|other| shop.steps[other].after.iter().any(|l| l.before == *step))
        })
        .collect();
    (first, last)
}
