//! What the hauls of a pool cost from spot to spot, and when they may be made.

use yardless_plan::shop::{PlaceId, Shop};

use super::job::NONE;
use crate::model::UnitPool;

/// Hauls that take all their half-day.
#[derive(Clone, Debug)]
pub(super) struct LongHauls {
    /// From, to: cents.
    pub(super) cents: Vec<Vec<f64>>,
    /// The cheapest.
    pub(super) least: f64,
}

impl LongHauls {
    fn new(cents: Vec<Vec<f64>>) -> Self {
        Self { least: least(&cents), cents }
    }
}

/// The cheapest of some.
pub(super) fn least(cents: &[Vec<f64>]) -> f64 {
    cents.iter().flatten().copied().fold(NONE, f64::min)
}

/// From, to: cents of the hauls that take less than a half-day, and of those that take all of it, in overtime and in a half-day
/// that the shop works.
pub(super) fn haul_costs(shop: &Shop, of: &UnitPool) -> (Vec<Vec<f64>>, [LongHauls; 2]) {
    let n = of.spots.len();
    let mut short = vec![vec![NONE; n]; n];
    let mut long = [vec![vec![NONE; n]; n], vec![vec![NONE; n]; n]];
    for (p, from) in of.spots.iter().enumerate() {
        for (q, to) in of.spots.iter().enumerate().filter(|(q, _)| *q != p) {
            for (a, b) in from.places().iter().flat_map(|a| to.places().iter().map(move |b| (*a, *b))) {
                let Some(time) = shop.haul_time(of.moves, a, b) else { continue };
                let cents = shop.haul_cost(of.moves, time.minutes).0 as f64;
                let road = shop.road_cost(of.units[0], a).0 as f64;
                let costs = if time.long {
                    let [in_overtime, worked] = &mut long;
                    vec![(&mut in_overtime[p][q], cents), (&mut worked[p][q], cents + road)]
                } else {
                    vec![(&mut short[p][q], cents)]
                };
                for (cost, cents) in costs {
                    *cost = cost.min(cents);
                }
            }
        }
    }
    (short, long.map(LongHauls::new))
}

/// By tick and spot: whether a haul from or to it may be made: some truck that takes the unit there may come, and a road
/// of its is open.
pub(super) fn open(shop: &Shop, ticks: &[usize], of: &UnitPool) -> Vec<Vec<bool>> {
    let unit = &shop.units[of.units[0]];
    let stuck = unit.bound.iter().any(|job| shop.jobs[*job].rests());
    let free = |h: usize| !stuck && !of.out[h];
    let may = |place: &PlaceId, h: usize| {
        let posted = shop.posted(*place, h);
        let takes = |truck| shop.trucks[truck].may_come(h) && shop.can_take_under(truck, of.units[0], posted);
        shop.roads_open(of.moves, *place, *place, h).is_some() && shop.trucks.ids().any(takes)
    };
    let spots = |h: usize| of.spots.iter().map(|spot| free(h) && spot.places().iter().any(|p| may(p, h))).collect();
    ticks.iter().map(|h| spots(*h)).collect()
}
