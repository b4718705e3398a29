//! Rules C14 and C15: what the weeks and dates of crews cost.

use std::collections::BTreeMap;

use yardless_plan::shop::{CrewId, PlaceId, Shop};

use super::Encoding;
use super::crews::each_worked;
use super::program::{Col, Rule, States, Terms};

/// **C14.** For every crew and week in which half-days should stay open, with `free` in which it may work at no cost:
///
/// ```text
/// short >= sum over its half-days of works(h) - free          cost reserve_half_day x short
/// ```
///
/// works(h) is the sum of the x_r that work in it, and where several may, the greatest of them.
pub(super) fn reserves(shop: &Shop, e: &mut Encoding) {
    if shop.reserves.is_empty() {
        return;
    }
    let mut worked: BTreeMap<(CrewId, usize), Terms> = BTreeMap::new();
    each_worked(shop, e, |run, crew, _, _, h| worked.entry((crew, h)).or_default().push((run.col, 1)));
    let price = shop.book.prices.reserve_half_day.0;
    for reserve in &shop.reserves {
        let mut all = Terms::new();
        for h in &reserve.half_days {
            let Some(terms) = worked.get(&(reserve.crew, *h)) else { continue };
            if shop.capacity(reserve.crew) > 1 && terms.len() > 1 {
                let works = e.program.greatest(Rule::C14, 1, terms.iter().map(|term| vec![*term]).collect());
                all.push((works, 1));
            } else {
                all.extend(terms);
            }
        }
        if all.len() > reserve.free {
            e.program.over(Rule::C14, price, all, reserve.free as i64);
        }
    }
}

/// **C15.** For every crew whose drives are counted and every date, with am(P) the sum of the x_r by which it works at P in
/// the am, stops apart, and pm(Q) likewise, z chooses a round:
///
/// ```text
/// sum over Q of z_PQ + z_P0 = am(P)     sum over P of z_PQ + z_0Q = pm(Q)     sum of all z <= 1
/// cost of the round x z
/// ```
///
/// There is no z_PQ for a round that cannot be driven, or whose drive at noon is too long. Exact: am and pm are 0 or 1 (W4),
/// and where both are 1 the last row leaves only z_PQ.
pub(super) fn driving(shop: &Shop, e: &mut Encoding) {
    if !shop.counts_driving() {
        return;
    }
    let mut dates: BTreeMap<(CrewId, usize), [BTreeMap<PlaceId, Terms>; 2]> = BTreeMap::new();
    each_worked(shop, e, |run, crew, step, way, h| {
        if let Some(place) = shop.drives_to(step, way, crew) {
            let halves = dates.entry((crew, h / 2)).or_default();
            halves[h % 2].entry(place).or_default().push((run.col, 1));
        }
    });
    for ((crew, _), [am, pm]) in dates {
        rounds(shop, e, crew, &am, &pm);
    }
}

fn rounds(shop: &Shop, e: &mut Encoding, crew: CrewId, am: &BTreeMap<PlaceId, Terms>, pm: &BTreeMap<PlaceId, Terms>) {
    let cost = |am: Option<PlaceId>, pm: Option<PlaceId>| shop.round_cost(crew, am, pm).map(|cents| cents.0);
    let mut all = Terms::new();
    let mut of_am: BTreeMap<PlaceId, Vec<Col>> = BTreeMap::new();
    let mut of_pm: BTreeMap<PlaceId, Vec<Col>> = BTreeMap::new();
    for (p, at_p) in am {
        for (q, at_q) in pm {
            let Some(cents) = cost(Some(*p), Some(*q)) else { continue };
            let both = e.program.least(Rule::C15, 1, vec![at_p.clone(), at_q.clone()]);
            e.program.cost[both.index()] += cents;
            of_am.entry(*p).or_default().push(both);
            of_pm.entry(*q).or_default().push(both);
            all.push((both, 1));
        }
    }
    let sides = am.iter().map(|(p, terms)| (terms, of_am.get(p), cost(Some(*p), None)));
    let sides = sides.chain(pm.iter().map(|(q, terms)| (terms, of_pm.get(q), cost(None, Some(*q)))));
    for (terms, both, cents) in sides.collect::<Vec<_>>() {
        let both = both.into_iter().flatten().map(|col| (*col, -1));
        let alone = e.program.sum(1, terms.iter().copied().chain(both).collect(), 0);
        e.program.cost[alone.index()] += cents.unwrap_or(0);
        all.push((alone, 1));
    }
    if !am.is_empty() && !pm.is_empty() {
        e.program.at_most(States::Rule(Rule::C15), all, 1);
    }
}
