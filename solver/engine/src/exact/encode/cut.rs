//! Rows that whole plans satisfy anyway and that make the relaxation tighter.

use std::collections::BTreeSet;

use yardless_plan::shop::{Id, Shop};

use super::Encoding;
use super::holds::asks;
use super::program::{States, Terms};
use crate::context::Context;
use crate::model::{Asks, DemandKey, shared, short_of_time};

/// **Arrivals.** For every step, everything it wants and every tick k: units that can serve and have come to the place up
/// to k (those that stood there at the beginning included) are at least the units wanted by the step, once started, and
/// parked for its job at the same time:
///
/// ```text
/// sum over able pools of come(P,k) >= sum over modes of n_m started_m(k) + n started_j(k)
/// ```
///
/// Valid: all of them stand there together in the step's first half-day, so each has come. Without it half a start
/// now and half a start next week share half a haul. Where shared units can serve (E8), the two need not be others, and each
/// need has rows of its own.
pub(super) fn arrivals(shop: &Shop, e: &mut Encoding) {
    let mut wanted: BTreeSet<DemandKey> = BTreeSet::new();
    wanted.extend(e.holds.iter().filter_map(|hold| asks(shop, e, hold.by)));
    for (job, asked, want) in wanted {
        let holds: Vec<usize> = (0..e.holds.len())
            .filter(|i| {
                asks(shop, e, e.holds[*i].by).is_some_and(|(j, by, w)| {
                    let besides = by == Asks::Parked && !shared(shop, want);
                    j == job && w == want && (besides || by == asked)
                })
            })
            .collect();
        let mut able: Vec<(usize, usize)> = holds.iter().map(|i| (e.holds[*i].pool, e.holds[*i].spot)).collect();
        able.sort_unstable();
        able.dedup();
        let mut last = Terms::new();
        for k in 0..e.ticks.len() {
            let mut row: Terms = holds.iter().map(|i| (e.holds[*i].started[k], e.holds[*i].factor)).collect();
            row.extend(able.iter().map(|(pool, spot)| (e.flows[*pool].come[*spot][k], -1)));
            if row != last {
                e.program.at_most(States::Cut, row.clone(), 0);
                last = row;
            }
        }
        stays(e, &holds, &able);
    }
}

/// **Stays.** For the same needs and every tick k: units that stand there in k and those that come later are at least the
/// units wanted by what ends in k or later:
///
/// ```text
/// sum over able pools of at(P,k) + come(P,last) - come(P,k)
///     >= sum over modes of n_m (started_m(last) - ended_m(k-1)) + n (started_j(last) - over_j(k-1))
/// ```
///
/// Valid: all of them stand there together at some time from k on, so each stands there in k or has yet to come. Without
/// it a unit that passes through long before counts as one that has come.
fn stays(e: &mut Encoding, holds: &[usize], able: &[(usize, usize)]) {
    let end = e.ticks.len() - 1;
    for k in 1..e.ticks.len() {
        let mut row = Terms::new();
        for hold in holds.iter().map(|i| &e.holds[*i]) {
            row.extend([(hold.started[end], hold.factor), (hold.ended[k - 1], -hold.factor)]);
        }
        for (pool, spot) in able {
            let flow = &e.flows[*pool];
            row.extend([(flow.at[*spot][k], -1), (flow.come[*spot][end], -1), (flow.come[*spot][k], 1)]);
        }
        e.program.at_most(States::Cut, row, 0);
    }
}

/// **Crew time.** The rows of [`short_of_time`].
pub(super) fn crew_time(shop: &Shop, context: &Context, e: &mut Encoding) {
    for (jobs, short) in short_of_time(shop, context) {
        let row = jobs.iter().filter_map(|(job, work)| Some((e.left_out[job.index()]?, -work))).collect();
        e.program.at_most(States::Cut, row, -short);
    }
}
