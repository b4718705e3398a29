//! Rules W4, W11, W13, W16 and C8: what crews work on in a half-day, and which of a pool does it.

use std::collections::BTreeMap;

use yardless_plan::shop::{CrewId, Shop, Span, StepId, TeamId, greatest_common_divisor};

use super::Encoding;
use super::program::{Col, Rule, Terms};

/// **W4, W11, W13, W16.** For every crew pool and tick, with load(r) what the run takes of a crew's half-day:
///
/// ```text
/// sum of load(r) x_r over the runs in which its crews work, or help, in the half-day <= capacity x crews in the pool
/// ```
///
/// A step takes all of a crew's half-day, a stop its time of it, and of a crew that works on several at once each takes one
/// ([`Shop::capacity`], [`Shop::load`]). Pauses do not count: the crew is free in them.
pub(super) fn crews(shop: &Shop, e: &mut Encoding) {
    let mut busy: BTreeMap<(usize, usize), Vec<(Col, u64)>> = BTreeMap::new();
    each_worked(shop, e, |run, crew, step, way, h| {
        let takes = (run.col, shop.load(step, way, crew));
        busy.entry((e.team_pool_of[shop.alone(crew)], h)).or_default().push(takes);
    });
    for ((pool, _), loads) in busy {
        let crews = e.team_pools[pool].teams.len();
        if loads.len() > crews {
            let capacity = shop.capacity(e.crew_of(shop, pool)) * crews as u64;
            let common = loads.iter().map(|(_, load)| *load).fold(0, greatest_common_divisor).max(1);
            let terms: Terms = loads.into_iter().map(|(col, load)| (col, (load / common) as i64)).collect();
            e.program.at_most(Rule::W4, terms, (capacity / common) as i64);
        }
    }
}

/// **C8.** A crew that works on several steps or stops in a half-day of overtime is paid for it once. Their runs pay each,
/// and for every such crew and tick
///
/// ```text
/// overtime_half_day (v - sum of x_r)          v = the greatest of the x_r that work in it
/// ```
///
/// is added to the cost.
pub(super) fn overtime_once(shop: &Shop, e: &mut Encoding) {
    let mut several: BTreeMap<(CrewId, usize), Terms> = BTreeMap::new();
    each_worked(shop, e, |run, crew, _, _, h| {
        if shop.overtime[h] && shop.capacity(crew) > 1 {
            several.entry((crew, h)).or_default().push((run.col, 1));
        }
    });
    let price = shop.book.prices.overtime_half_day.0;
    for terms in several.into_values().filter(|terms| terms.len() > 1) {
        let works = e.program.greatest(Rule::C8, 1, terms.iter().map(|term| vec![*term]).collect());
        e.program.cost[works.index()] += price;
        for (col, _) in terms {
            e.program.cost[col.index()] -= price;
        }
    }
}

/// Calls for each run and crew that works in it, with step, way and half-day.
pub(super) fn each_worked(
    shop: &Shop,
    e: &Encoding,
    mut call: impl FnMut(&super::RunColumn, CrewId, StepId, usize, usize),
) {
    for mode in &e.modes {
        for run in &mode.runs {
            let team = e.team_pools[run.pool].teams[0];
            let span = Span { part: mode.part, way: mode.way, start: run.start, end: run.end };
            for h in shop.span_works(mode.step, team, span) {
                for crew in shop.working(&shop.teams[team], h) {
                    call(run, crew, mode.step, mode.way, h);
                }
            }
        }
    }
}

/// Which crew of a pool does each run: first come, first served over intervals (see [`crate::model`]).
pub(super) fn tell_crews_apart(pool: &[TeamId], spans: &[(usize, usize)]) -> Vec<TeamId> {
    // One alone may do several at once.
    if let [only] = pool {
        return vec![*only; spans.len()];
    }
    let mut order: Vec<usize> = (0..spans.len()).collect();
    order.sort_by_key(|i| spans[*i]);
    let mut free_from = vec![0; pool.len()];
    let mut told = vec![pool[0]; spans.len()];
    for i in order {
        let (start, end) = spans[i];
        let crew = free_from.iter().position(|from| *from <= start).unwrap_or(0);
        free_from[crew] = end + 1;
        told[i] = pool[crew];
    }
    told
}
