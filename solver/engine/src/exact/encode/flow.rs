//! Rules E1, E4, E8, H1 to H3, H5, C12, C13, C17: where the units of each pool stand, and their hauls.

use std::collections::BTreeMap;

use yardless_plan::shop::Shop;

use super::Encoding;
use super::arc_cost::{away, cheapest, truck_for};
use super::holds::{HeldBy, asks};
use super::program::{Col, Rule, Terms};
use crate::model::{DemandKey, Spot, UnitPool};

/// The stands and hauls of one pool.
#[derive(Clone, Debug, Default)]
pub(crate) struct Flow {
    /// Units that stand at each spot in each tick: `at[spot][tick]`.
    pub(crate) at: Vec<Vec<Col>>,
    /// Its hauls.
    pub(crate) arcs: Vec<HaulArc>,
    /// Units that have come to each spot up to each tick, those that began there included.
    pub(crate) come: Vec<Vec<Col>>,
}

/// A column that counts hauls from one spot to another in one half-day.
#[derive(Clone, Copy, Debug)]
pub(crate) struct HaulArc {
    /// The column.
    pub(crate) col: Col,
    /// From this spot.
    pub(crate) from: usize,
    /// To this spot.
    pub(crate) to: usize,
    /// In this tick.
    pub(crate) tick: usize,
    /// At its end; else at its start.
    pub(crate) evening: bool,
    /// Takes its whole half-day on the road (H5).
    pub(crate) long: bool,
}

/// **E1, H1 to H3, H5, C3, C12, C13, C17.** For every pool, spots P and Q and tick k in which trucks and roads allow it, columns count
/// the hauls at its start and, in a pm and where short enough, in its evening. With
///
/// ```text
/// out(P,k), in(P,k)   hauls at the start that leave P; that reach P in the same half-day
/// eve(P,k)            hauls in the evening that leave P
/// next(P,k)           hauls in tick k that reach P only in the next half-day: in the evening, or all day on the road
/// hold(P,k)           units held at P in k;  on(P,k): in k and the next tick;  on2(P,k): in k-1, k and k+1
/// ```
///
/// and a gap wherever the shop does not work between two ticks:
///
/// ```text
/// at(P,k) = at(P,k-1) - eve(P,k-1) + next(P,k-1) - out(P,k) + in(P,k)                                     E1
/// out(P,k) + on(P,k-1) <= at(P,k-1) - eve(P,k-1) [+ next(P,k-1) after a gap]      only what stood there   H1
/// eve(P,k) + on2(P,k) <= at(P,k) - in(P,k)                     not what was hauled here this half-day     H1
/// eve(P,k) + on(P,k) <= at(P,k)                                nothing that is held on                    E2
/// hold(P,k) <= at(P,k)                                                                                    E2
/// ```
///
/// These are exact: walking the ticks, hold-overs keep their unit, new holds that go on take units that came this
/// half-day first, and evening hauls take units whose hold ends first; the rows are Hall's condition for it. A pool
/// that is out has no hauls and no holds (E4). No haul is made in the last half-day's evening: it could serve nothing.
///
/// With standing(P) and road(P) what a unit costs in a half-day that the shop works where it stands at P, or is on the road
/// from there, the sum over ticks, those of overtime apart, is
///
/// ```text
/// standing(P) at(P,k) + road(P) hauls in k from P that take all of it                                   C12, C13
/// ```
///
/// That is all units in all half-days that count, as each of them is a tick. Of places taken together standing(P) is the
/// least of theirs. Where a haul between such places may be short or long it is written as a short one: a long one pays
/// road(P) in place of standing(Q), so that the column costs the least of the short ones, and of the long ones with road(P)
/// - standing(Q).
///
/// With away(P,k) what it costs that a unit stands at P as tick k begins (C17), that is before(P,k) = at(P,k) - in(P,k) and
/// the hauls at its start that leave P:
///
/// ```text
/// sum of away(P,k) before(P,k)                                                                          C17
/// ```
///
/// **E8.** In a pool of shared units each need i at P has rows of its own, with hold_i, on_i and on2_i in place of the sums:
/// the most that any need holds must be there, not all together. Exact too: let units leave P in the order last come, first
/// gone (those that H1 holds back apart), and let every need that goes on beyond k hold those of the n_i that stand at P
/// after the evening hauls of k which have been there longest. The rows say that never fewer than n_i are left of them
/// while it holds, so that those stay. A need that ends in the half-day in which it starts holds any n_i that stand there.
pub(super) fn flows(shop: &Shop, e: &mut Encoding) {
    for p in 0..e.unit_pools.len() {
        let flow = arcs(shop, e, p);
        e.flows.push(flow);
        stands(shop, e, p);
        held(shop, e, p);
    }
}

fn arcs(shop: &Shop, e: &mut Encoding, p: usize) -> Flow {
    let pool = e.unit_pools[p].clone();
    let mut flow = Flow::default();
    let last = e.ticks.len() - 1;
    for (tick, h) in e.ticks.clone().into_iter().enumerate() {
        if pool.out[h] {
            continue;
        }
        for from in 0..pool.spots.len() {
            for to in (0..pool.spots.len()).filter(|to| *to != from) {
                let ends = (from, to);
                let Some(haul) = cheapest(shop, &pool, ends, h).filter(|_| truck_for(shop, &pool, ends, h)) else {
                    continue;
                };
                let most = pool.units.len() as i64;
                let kinds = [(true, false), (h % 2 == 1 && !haul.long && tick < last, true)];
                for evening in kinds.into_iter().filter(|(made, _)| *made).map(|(_, evening)| evening) {
                    if haul.long && tick == last {
                        continue;
                    }
                    let late = if evening { 0 } else { away(shop, &pool, (from, to), h, haul.long) };
                    let col = e.program.decide(haul.cost + late, most);
                    flow.arcs.push(HaulArc { col, from, to, tick, evening, long: haul.long });
                }
            }
        }
    }
    flow
}

/// ArcSums of arcs by spot and tick.
pub(super) struct ArcSums {
    pub(super) out: Vec<Vec<Terms>>,
    pub(super) eve: Vec<Vec<Terms>>,
    pub(super) into: Vec<Vec<Terms>>,
    pub(super) next: Vec<Vec<Terms>>,
}

pub(super) fn sums(e: &Encoding, p: usize) -> ArcSums {
    let empty = vec![vec![Terms::new(); e.ticks.len()]; e.unit_pools[p].spots.len()];
    let mut sums = ArcSums { out: empty.clone(), eve: empty.clone(), into: empty.clone(), next: empty };
    for arc in &e.flows[p].arcs {
        let one = (arc.col, 1);
        let leave = if arc.evening { &mut sums.eve } else { &mut sums.out };
        leave[arc.from][arc.tick].push(one);
        let reach = if arc.evening || arc.long { &mut sums.next } else { &mut sums.into };
        reach[arc.to][arc.tick].push(one);
    }
    sums
}

/// More than ever come to one place: a bound only so that every column has one.
const MOST_COME: i64 = 10_000;

/// E1, C12, C13: the columns at(P,k) with their cost, and the counts of what has come.
fn stands(shop: &Shop, e: &mut Encoding, p: usize) {
    let sums = sums(e, p);
    let pool = e.unit_pools[p].clone();
    let most = pool.units.len() as i64;
    for spot in 0..pool.spots.len() {
        let mut at: Vec<Col> = Vec::with_capacity(e.ticks.len());
        let mut come: Vec<Col> = Vec::with_capacity(e.ticks.len());
        for k in 0..e.ticks.len() {
            let mut change: Terms = plus(&sums.into[spot][k]).chain(minus(&sums.out[spot][k])).collect();
            let mut arrived: Terms = sums.into[spot][k].clone();
            let mut begin = 0;
            if let Some(before) = k.checked_sub(1) {
                change.extend(plus(&sums.next[spot][before]).chain(minus(&sums.eve[spot][before])));
                arrived.extend(plus(&sums.next[spot][before]));
                if change.is_empty() {
                    at.push(at[before]);
                } else {
                    change.push((at[before], 1));
                }
                if arrived.is_empty() {
                    come.push(come[before]);
                } else {
                    arrived.push((come[before], 1));
                }
            } else {
                begin = pool.begin[spot];
            }
            if at.len() == k {
                at.push(e.program.sum(most, change, begin));
            }
            if come.len() == k {
                come.push(e.program.sum(MOST_COME, arrived, begin));
            }
        }
        let standing = pool.stand_cents(shop, spot);
        for (col, _) in at.iter().zip(&e.ticks).filter(|(_, h)| shop.works[**h]) {
            e.program.cost[col.index()] += standing;
        }
        for (col, h) in at.iter().zip(&e.ticks) {
            e.program.cost[col.index()] += pool.away_cents(shop, spot, *h);
        }
        e.flows[p].at.push(at);
        e.flows[p].come.push(come);
    }
}

/// A pool's units at one spot in one tick.
#[derive(Clone, Copy)]
struct Here<'h> {
    pool: usize,
    spot: usize,
    k: usize,
    /// Its holds there that stand side by side, by position.
    holds: &'h [usize],
    at: &'h [Col],
}

/// H1 and E2 against the holds of the pool; of shared units against those of each need (E8).
fn held(shop: &Shop, e: &mut Encoding, pool: usize) {
    let sums = sums(e, pool);
    for spot in 0..e.unit_pools[pool].spots.len() {
        let holds: Vec<usize> =
            (0..e.holds.len()).filter(|i| e.holds[*i].pool == pool && e.holds[*i].spot == spot).collect();
        let at = e.flows[pool].at[spot].clone();
        let groups = if e.unit_pools[pool].shared { by_need(shop, e, &holds) } else { vec![holds] };
        for k in 0..e.ticks.len() {
            let before = e.program.rows.len();
            for holds in &groups {
                let here = Here { pool, spot, k, holds, at: &at };
                leave_at_start(e, &sums, here);
                out_stays(e, &sums, here);
                leave_in_evening(e, &sums, here);
                hold(e, here);
            }
            if groups.len() > 1 {
                e.program.once(before);
            }
        }
    }
    out_between_ticks(e, pool);
}

/// The holds of each need: those of a step's modes, of which one is chosen, together. One empty list where there are none.
fn by_need(shop: &Shop, e: &Encoding, holds: &[usize]) -> Vec<Vec<usize>> {
    let mut groups: BTreeMap<Option<DemandKey>, Vec<usize>> = BTreeMap::new();
    let mut others: Vec<Vec<usize>> = Vec::new();
    for i in holds {
        match asks(shop, e, e.holds[*i].by) {
            Some(key) => groups.entry(Some(key)).or_default().push(*i),
            // A job in progress that is left out.
            None => others.push(vec![*i]),
        }
    }
    others.extend(groups.into_values());
    if others.is_empty() { vec![Vec::new()] } else { others }
}

fn leave_at_start(e: &mut Encoding, sums: &ArcSums, here: Here<'_>) {
    let Here { pool, spot, k, holds, at } = here;
    let out = &sums.out[spot][k];
    if k == 0 {
        if !out.is_empty() {
            e.program.at_most(Rule::H1, out.clone(), e.unit_pools[pool].begin[spot]);
        }
        return;
    }
    let eve = &sums.eve[spot][k - 1];
    // Where nothing leaves between the two ticks, what is held on stays by itself.
    if out.is_empty() && eve.is_empty() {
        return;
    }
    let mut row: Terms = out.clone();
    row.extend(holds.iter().flat_map(|i| e.holds[*i].held_on(k - 1)));
    row.push((at[k - 1], -1));
    row.extend(plus(eve));
    let gap_before = e.ticks[k] > e.ticks[k - 1] + 1;
    if gap_before {
        row.extend(minus(&sums.next[spot][k - 1]));
        if !eve.is_empty() {
            let mut stay: Terms = eve.clone();
            stay.extend(holds.iter().flat_map(|i| e.holds[*i].held_on(k - 1)));
            stay.push((at[k - 1], -1));
            e.program.at_most(Rule::E2, stay, 0);
        }
    }
    e.program.at_most(Rule::H1, row, 0);
}

fn leave_in_evening(e: &mut Encoding, sums: &ArcSums, here: Here<'_>) {
    let Here { spot, k, holds, at, .. } = here;
    let eve = &sums.eve[spot][k];
    if eve.is_empty() {
        return;
    }
    let mut row: Terms = eve.clone();
    row.extend(plus(&sums.into[spot][k]));
    if k > 0 {
        for i in holds {
            row.extend(held_both_sides(e, *i, k));
        }
    }
    row.push((at[k], -1));
    e.program.at_most(Rule::H1, row, 0);
}

/// E2, and E4 of holds that do not wait while the pool is out.
fn hold(e: &mut Encoding, here: Here<'_>) {
    let Here { pool, k, holds, at, .. } = here;
    if holds.is_empty() {
        return;
    }
    let out = e.unit_pools[pool].out[e.ticks[k]];
    let (mut there, mut never) = (Terms::new(), Terms::new());
    for hold in holds.iter().map(|i| &e.holds[*i]) {
        if out && !hold.waits {
            never.extend(hold.in_use(k));
        }
        if !out || hold.waits || hold.rests.is_some() {
            there.extend(hold.held(k));
        }
    }
    if out && !never.is_empty() {
        e.program.at_most(Rule::E4, never, 0);
    }
    if !there.is_empty() {
        there.push((at[k], -1));
        e.program.at_most(Rule::E2, there, 0);
    }
}

/// E4 for the one unit of a pool that is out for a while: it is not hauled at the start of the first half-day of it
/// nor in the evening of the last.
///
/// ```text
/// o_P + on(P,k-1) <= at(P,k) - in(P,k)                                                  in the first
/// eve(P,k) + o_P + on2(P,k) <= at(P,k) - in(P,k),  eve(P,k) + o_P + on(P,k) <= at(P,k)   in the last
/// ```
fn out_stays(e: &mut Encoding, sums: &ArcSums, here: Here<'_>) {
    let Here { pool, spot, k, holds: mine, at } = here;
    let Some(one) = e.unit_pools[pool].one_out else { return };
    let Some(out) = mine.iter().find(|i| e.holds[**i].by == HeldBy::Out).and_then(|i| e.holds[*i].share) else {
        return;
    };
    let others: Vec<usize> = mine.iter().copied().filter(|i| e.holds[*i].by != HeldBy::Out).collect();
    let came = &sums.into[spot][k];
    if e.ticks[k] == one.first && !came.is_empty() {
        let mut row: Terms = plus(came).chain([(out, 1), (at[k], -1)]).collect();
        if k > 0 {
            row.extend(others.iter().flat_map(|i| e.holds[*i].held_on(k - 1)));
        }
        e.program.at_most(Rule::E4, row, 0);
    }
    let eve = &sums.eve[spot][k];
    if e.ticks[k] == one.last && !eve.is_empty() {
        let leaving: Terms = plus(eve).chain([(out, 1), (at[k], -1)]).collect();
        let mut held_on = leaving.clone();
        held_on.extend(others.iter().flat_map(|i| e.holds[*i].held_on(k)));
        e.program.at_most(Rule::E4, held_on, 0);
        let mut both = leaving;
        both.extend(plus(came));
        if k > 0 {
            for i in &others {
                both.extend(held_both_sides(e, *i, k));
            }
        }
        e.program.at_most(Rule::E4, both, 0);
    }
}

/// Units of a hold in k-1, k and k+1: started by k-1 and not ended by k. Where one may start and end within k that
/// difference could be -1, so that it becomes a column of its own, 0 at least.
fn held_both_sides(e: &mut Encoding, i: usize, k: usize) -> Terms {
    let hold = &e.holds[i];
    let difference = vec![(hold.started[k - 1], hold.factor), (hold.ended[k], -hold.factor)];
    if !hold.short[k] {
        return difference;
    }
    let upper = e.unit_pools[hold.pool].units.len() as i64;
    vec![(e.program.greatest(Rule::E2, upper, vec![difference]), 1)]
}

/// E4 counts nights and days off too: no hold goes on over a half-day between two ticks in which the pool is out.
fn out_between_ticks(e: &mut Encoding, p: usize) {
    for k in 0..e.ticks.len() {
        let next = e.ticks.get(k + 1).copied().unwrap_or(e.ticks[k]);
        if !(e.ticks[k] + 1..next).any(|h| e.unit_pools[p].out[h]) {
            continue;
        }
        let row: Terms =
            e.holds.iter().filter(|hold| hold.pool == p && !hold.waits).flat_map(|hold| hold.in_use_on(k)).collect();
        if !row.is_empty() {
            e.program.at_most(Rule::E4, row, 0);
        }
    }
}

pub(super) fn plus(terms: &Terms) -> impl Iterator<Item = (Col, i64)> + '_ {
    terms.iter().copied()
}
pub(super) fn minus(terms: &Terms) -> impl Iterator<Item = (Col, i64)> + '_ {
    terms.iter().map(|(col, n)| (*col, -n))
}

/// Whether every haul of the program is one that can really be made at that price: no merged places.
pub(super) fn exact(pools: &[UnitPool]) -> bool {
    pools.iter().all(|pool| pool.spots.iter().all(|spot| matches!(spot, Spot::At(_))))
}
