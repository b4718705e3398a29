//! Rows that whole plans satisfy anyway and that make the relaxation tighter.

use std::collections::BTreeSet;

use super::Encoding;
use super::holds::Holder;
use super::program::{Rule, Terms};
use crate::shop::{JobId, Shop, StepId, Want};

/// **Arrivals.** For every step, everything it wants and every tick k: units that can serve and have come to the place
/// up to k (begun there included) are at least the units wanted by the step, once started, and parked for its job at
/// the same time:
///
/// ```text
/// sum over able pools of come(P,k) >= sum over modes of n_m started_m(k) + n begun_j(k)
/// ```
///
/// Valid: all of them stand there together in the step's first half-day, so each has come. Without it half a start
/// now and half a start next week share half a haul.
pub(super) fn arrivals(shop: &Shop, e: &mut Encoding) {
    let mut wanted: BTreeSet<(JobId, Option<StepId>, Want)> = BTreeSet::new();
    for hold in &e.holds {
        let (job, step, want) = asks(shop, e, hold.by);
        wanted.insert((job, step, want));
    }
    for (job, step, want) in wanted {
        let holds: Vec<usize> = (0..e.holds.len())
            .filter(|i| {
                let (j, s, w) = asks(shop, e, e.holds[*i].by);
                j == job && w == want && (s.is_none() || s == step)
            })
            .collect();
        let mut able: Vec<(usize, usize)> = holds.iter().map(|i| (e.holds[*i].pool, e.holds[*i].spot)).collect();
        able.sort_unstable();
        able.dedup();
        let mut last = Terms::new();
        for k in 0..e.ticks.len() {
            let mut row: Terms = holds.iter().map(|i| (e.holds[*i].begun[k], e.holds[*i].factor)).collect();
            row.extend(able.iter().map(|(pool, spot)| (e.flows[*pool].come[*spot][k], -1)));
            if row != last {
                e.program.at_most(Rule::Cut, row.clone(), 0);
                last = row;
            }
        }
    }
}

/// The job, the step (none for parked needs) and what is wanted.
fn asks(shop: &Shop, e: &Encoding, by: Holder) -> (JobId, Option<StepId>, Want) {
    match by {
        Holder::Mode(m, i) => {
            let mode = &e.modes[m];
            (shop.steps[mode.step].job, Some(mode.step), mode.needs[i].want)
        }
        Holder::Parked(job, i) => (job, None, shop.jobs[job].parked[i].want),
    }
}
