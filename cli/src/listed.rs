//! What of a judged plan does not hold, in the order in which it is listed.

use std::path::Path;

use yardless_check::Breach;
use yardless_edit::judged::Judged;
use yardless_view::breach::in_order;

use crate::answer::assumed;

/// By rule and then by words; of a plan judged from a half-day on, what all of it costs comes after what is to come.
pub fn listed(verdict: &Judged) -> Vec<Breach> {
    let apart = |breach: &&Breach| verdict.then.is_some() && breach.of_cost();
    let (cost, to_come): (Vec<&Breach>, Vec<&Breach>) = verdict.breaches.iter().partition(apart);
    let order = |breaches: Vec<&Breach>| in_order(&verdict.by, breaches.into_iter().cloned().collect());
    [order(to_come), order(cost)].concat()
}

/// What the reader of a judgement should know of the time before it.
pub fn before(verdict: &Judged, plan: &Path) -> Option<String> {
    let now = verdict.now;
    match &verdict.no_history {
        Some(why) => Some(format!(
            "what lies before {now} cannot be taken as history, so all of the plan is judged: {}",
            why.in_one_line()
        )),
        None => verdict.assumed.as_ref().map(|of| assumed(of, Some(plan))),
    }
}
