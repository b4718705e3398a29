//! Rules H4 and E6: how many hauls the trucks make, how many trailers a place takes.

use std::collections::{BTreeMap, BTreeSet};

use yardless_book::Moves;
use yardless_plan::shop::{CrewId, Shop, TruckFacts, within as is_within};

use super::Encoding;
use super::arc_cost::most_posted;
use super::flow::{minus, plus, sums};
use super::program::{Col, Rule, Terms};
use crate::model::Spot;

/// **H4.** In every tick, for carried units, and for towed ones at every weight w that some pool has:
///
/// ```text
/// hauls of carried units           <= sum of `carries` of the trucks available
/// hauls of towed units of >= w lb  <= sum of `tows` of the trucks available with tow_lb >= w
/// ```
///
/// In a half-day that is worked in overtime only, a truck with a crew counts with its `tows` or `carries` where the
/// crew works in it (W9): times the sum of x_r over its runs, its own and those that it helps with.
///
/// Exact: a truck that tows w tows all that is lighter, so that these nested sums are Hall's condition. Where ratings (H7),
/// or weights posted at an end of the haul in that half-day (H8), keep a truck from a unit that it is strong enough for, the
/// sets of trucks need not be nested, and Hall's condition is written for every union U of the sets that may make some haul:
///
/// ```text
/// hauls that only trucks of U may make <= sum of `tows`, or of `carries`, of the trucks of U available
/// ```
///
/// Beyond [`MOST_SETS`] unions some are left out, and the program is a relaxation.
pub(super) fn trucks(shop: &Shop, e: &mut Encoding) {
    if shop.weights_part {
        for moves in [Moves::Towed, Moves::Carried] {
            unions(shop, e, moves);
        }
        return;
    }
    let mut hauls: BTreeMap<(usize, Moves), BTreeMap<u32, Terms>> = BTreeMap::new();
    for (pool, flow) in e.unit_pools.iter().zip(&e.flows) {
        for arc in &flow.arcs {
            let by_weight = hauls.entry((arc.tick, pool.moves)).or_default();
            let weight = if pool.moves == Moves::Towed { pool.weight_lb } else { 0 };
            by_weight.entry(weight).or_default().push((arc.col, 1));
        }
    }
    for ((tick, moves), by_weight) in hauls {
        let h = e.ticks[tick];
        let mut heavier = Terms::new();
        for (weight, terms) in by_weight.into_iter().rev() {
            heavier.extend(terms);
            let able = |truck: &&TruckFacts| moves == Moves::Carried || truck.tow_lb >= weight;
            let able: Vec<&TruckFacts> = shop.trucks.iter().filter(able).collect();
            within(shop, e, heavier.clone(), &able, (moves, h));
        }
    }
}

/// Unions of sets of trucks beyond which some are left out.
const MOST_SETS: usize = 256;

fn unions(shop: &Shop, e: &mut Encoding, moves: Moves) {
    let sets = shop.truck_sets(moves, MOST_SETS);
    e.exact &= sets.len() < MOST_SETS;
    for (tick, h) in e.ticks.clone().into_iter().enumerate() {
        let pools = e.unit_pools.iter().zip(&e.flows).filter(|(pool, _)| pool.moves == moves);
        let made = pools.flat_map(|(pool, flow)| flow.arcs.iter().map(move |arc| (pool, arc)));
        let hauls: Vec<(Vec<bool>, Col)> = made
            .filter(|(_, arc)| arc.tick == tick)
            .map(|(pool, arc)| {
                let posted = most_posted(shop, pool, (arc.from, arc.to), h);
                (shop.takers_under(pool.units[0], posted), arc.col)
            })
            .collect();
        for set in &sets {
            let of = hauls.iter().filter(|(takers, _)| is_within(takers, set));
            let row: Terms = of.map(|(_, col)| (*col, 1)).collect();
            let able: Vec<&TruckFacts> =
                shop.trucks.iter().zip(set).filter(|(_, holds)| **holds).map(|(of, _)| of).collect();
            if !row.is_empty() {
                within(shop, e, row, &able, (moves, h));
            }
        }
    }
}

/// Some hauls are no more than some trucks make in a half-day.
fn within(shop: &Shop, e: &mut Encoding, mut row: Terms, trucks: &[&TruckFacts], (moves, h): (Moves, usize)) {
    let there = trucks.iter().filter(|truck| truck.available[h]);
    let most = there.map(|truck| i64::from(truck.capacity(moves))).sum();
    for truck in trucks.iter().filter(|truck| truck.in_overtime[h]) {
        let works = overtime(shop, e, truck.crew, h);
        row.extend(works.into_iter().map(|(col, n)| (col, -n * i64::from(truck.capacity(moves)))));
    }
    e.program.at_most(Rule::H4, row, most);
}

/// 1 where a crew works in overtime in a half-day, on its own or another's step: the sum of its runs where it works on one
/// at a time (W4), else the least of that sum and 1.
fn overtime(shop: &Shop, e: &mut Encoding, crew: Option<CrewId>, h: usize) -> Terms {
    let Some(crew) = crew else { return Terms::new() };
    let mut terms = Terms::new();
    for mode in e.modes.iter().filter(|mode| shop.steps[mode.step].ways[mode.way].overtime) {
        for run in mode.runs.iter().filter(|run| (run.start..=run.end).contains(&h)) {
            let team = e.team_pools[run.pool].teams[0];
            let works = shop.working(&shop.teams[team], h).any(|of| of == crew)
                && shop.runs(mode.step, mode.way, team).is_some_and(|runs| runs.workable[h]);
            if works {
                terms.push((run.col, 1));
            }
        }
    }
    if shop.capacity(crew) > 1 && terms.len() > 1 {
        vec![(e.program.least(Rule::H4, 1, vec![terms]), 1)]
    } else {
        terms
    }
}

/// **E6.** For every place with `trailer_spots` and every tick, and every half-day after a tick that the shop does not
/// work (what came in the evening, or after a day on the road, stands there then):
///
/// ```text
/// sum over towed pools of at(P,k) <= trailer_spots
/// sum over towed pools of at(P,k) - eve(P,k) + next(P,k) <= trailer_spots        before a gap
/// ```
pub(super) fn spots(shop: &Shop, e: &mut Encoding) {
    let towed: Vec<usize> = (0..e.unit_pools.len()).filter(|p| e.unit_pools[*p].moves == Moves::Towed).collect();
    let sums: Vec<_> = towed.iter().map(|p| sums(e, *p)).collect();
    for place in shop.places.ids() {
        let Some(spots) = shop.places[place].spots else { continue };
        let here: Vec<(usize, usize, usize)> = towed
            .iter()
            .enumerate()
            .filter_map(|(i, p)| {
                let spot = e.unit_pools[*p].spots.iter().position(|spot| *spot == Spot::At(place))?;
                Some((i, *p, spot))
            })
            .collect();
        let units: usize = here.iter().map(|(_, p, _)| e.unit_pools[*p].units.len()).sum();
        if units <= spots {
            continue;
        }
        let mut said: BTreeSet<Terms> = BTreeSet::new();
        for k in 0..e.ticks.len() {
            let standing: Terms = here.iter().map(|(_, p, spot)| (e.flows[*p].at[*spot][k], 1)).collect();
            let gap_after = e.ticks[k] + 1 < e.ticks.get(k + 1).copied().unwrap_or(shop.len());
            if gap_after {
                let mut after = standing.clone();
                for (i, _, spot) in &here {
                    after.extend(plus(&sums[*i].next[*spot][k]).chain(minus(&sums[*i].eve[*spot][k])));
                }
                e.program.at_most(Rule::E6, after, spots as i64);
            }
            if said.insert(standing.clone()) {
                e.program.at_most(Rule::E6, standing, spots as i64);
            }
        }
    }
}
