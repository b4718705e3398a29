//! C3, C12, C13, C17, H8: what a haul costs between two spots of a pool, and what is posted between them.

use yardless_plan::shop::Shop;

use crate::model::UnitPool;

/// What a haul costs, in cents, and whether it takes all of its half-day.
pub(super) struct ArcCost {
    pub(super) cost: i64,
    pub(super) long: bool,
}

/// The haul between two spots in a half-day; for merged places the cheapest cost and, if any is, short (see
/// [`super::flow::flows`]).
pub(super) fn cheapest(shop: &Shop, pool: &UnitPool, (from, to): (usize, usize), h: usize) -> Option<ArcCost> {
    // By whether they are long: the least cost, the half-day on the road too (C12, C13).
    let mut least: [Option<i64>; 2] = [None; 2];
    for p in pool.spots[from].places() {
        for q in pool.spots[to].places() {
            if shop.roads_open(pool.moves, *p, *q, h).is_none() {
                continue;
            }
            let Some(time) = shop.haul_time(pool.moves, *p, *q) else { continue };
            let road = if time.long && shop.works[h] { shop.road_cost(pool.units[0], *p).0 } else { 0 };
            let cost = shop.haul_cost(pool.moves, time.minutes).0 + road;
            let least = &mut least[usize::from(time.long)];
            *least = Some(least.map_or(cost, |least| least.min(cost)));
        }
    }
    let there = if shop.works[h] { pool.stand_cents(shop, to) } else { 0 };
    match least {
        [Some(short), long] => {
            let cost = long.map_or(short, |long| short.min(long - there));
            Some(ArcCost { cost, long: false })
        }
        [None, long] => long.map(|cost| ArcCost { cost, long: true }),
    }
}

/// C17: what a haul at the start of a half-day changes in what it costs that the unit stands at its spots as that begins.
pub(super) fn away(shop: &Shop, pool: &UnitPool, (from, to): (usize, usize), h: usize, long: bool) -> i64 {
    pool.away_cents(shop, from, h) - if long { 0 } else { pool.away_cents(shop, to, h) }
}

/// H8: the weight posted on the way between two spots in a half-day; of merged places the most of any way.
pub(super) fn most_posted(shop: &Shop, pool: &UnitPool, (from, to): (usize, usize), h: usize) -> Option<u32> {
    let ways = pool.spots[from].places().iter().flat_map(|p| pool.spots[to].places().iter().map(move |q| (*p, *q)));
    let mut most = Some(0);
    for posted in ways.map(|(p, q)| shop.posted_between(p, q, h)) {
        most = most.zip(posted).map(|(most, posted)| most.max(posted));
    }
    most
}

/// Whether some truck may make a haul between two spots in a half-day.
pub(super) fn truck_for(shop: &Shop, pool: &UnitPool, ends: (usize, usize), h: usize) -> bool {
    let posted = most_posted(shop, pool, ends, h);
    let takes = |truck| shop.can_take_under(truck, pool.units[0], posted);
    shop.trucks.pairs().any(|(truck, facts)| facts.may_come(h) && takes(truck))
}
