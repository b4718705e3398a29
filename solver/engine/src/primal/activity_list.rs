//! The order in which a project's steps are put in: an activity list, as serial schedule generation takes it (Kolisch and
//! Hartmann, "Heuristic algorithms for the resource-constrained project scheduling problem", in Weglarz (ed.), *Project
//! Scheduling*, Kluwer, 1999).
//!
//! A job of many steps that may be done in many orders is a project. Put in by the starts of its steps in a plan it becomes that
//! plan again, or one that is no later; some steps sooner or later on the list, it becomes another.

use yardless_plan::shop::{Id, JobId, Shop, StepId};

/// From so many pairs of steps on that may come in either order a job is a project.
const LEAST_PAIRS: usize = 10;

/// Whether a job's steps may be done in many orders.
pub(crate) fn is_project(shop: &Shop, job: JobId, order: &[StepId]) -> bool {
    let n = order.len();
    let position = |step: StepId| order.iter().position(|of| *of == step);
    let mut after = vec![vec![false; n]; n];
    for (i, step) in order.iter().enumerate() {
        let before = shop.steps[*step].after.iter().filter(|link| shop.steps[link.before].job == job);
        for p in before.filter_map(|link| position(link.before)) {
            let theirs = after[p].clone();
            after[i].iter_mut().zip(theirs).for_each(|(mine, theirs)| *mine |= theirs);
            after[i][p] = true;
        }
    }
    let pairs = (0..n).flat_map(|i| (0..i).map(move |j| (i, j)));
    pairs.filter(|(i, j)| !after[*i][*j]).count() >= LEAST_PAIRS
}

/// The list of a project's steps by their starts in a plan, changed here and there: one step elsewhere, those of some time
/// mixed, or a few anywhere.
pub(crate) fn changed_list(
    shop: &Shop,
    order: &[StepId],
    start: impl Fn(StepId) -> Option<usize>,
    rng: &mut fastrand::Rng,
) -> Vec<StepId> {
    let mut keys: Vec<f64> = order.iter().map(|step| start(*step).unwrap_or(0) as f64 + rng.f64() * 0.5).collect();
    let n = keys.len();
    let end = keys.iter().copied().fold(0.0, f64::max);
    match rng.u8(..8) {
        0..3 => keys[rng.usize(..n)] = rng.f64() * end,
        3..6 => {
            let width = end * (0.1 + 0.3 * rng.f64());
            let from = rng.f64() * (end - width).max(0.0);
            for key in keys.iter_mut().filter(|key| (from..from + width).contains(key)) {
                *key = from + rng.f64() * width;
            }
        }
        _ => {
            for _ in 0..2 + rng.usize(..3) {
                keys[rng.usize(..n)] = rng.f64() * end;
            }
        }
    }
    list(shop, order, &keys)
}

/// The steps by their keys, least first, each as soon as those that it comes after are on the list.
fn list(shop: &Shop, order: &[StepId], keys: &[f64]) -> Vec<StepId> {
    let position = |step: StepId| order.iter().position(|of| *of == step);
    let before: Vec<Vec<usize>> = order
        .iter()
        .map(|step| shop.steps[*step].after.iter().filter_map(|link| position(link.before)).collect())
        .collect();
    let mut listed = vec![false; order.len()];
    let mut list = Vec::with_capacity(order.len());
    while list.len() < order.len() {
        let ready = (0..order.len()).filter(|i| !listed[*i] && before[*i].iter().all(|before| listed[*before]));
        let Some(next) = ready.min_by(|a, b| keys[*a].total_cmp(&keys[*b])) else { break };
        listed[next] = true;
        list.push(order[next]);
    }
    debug_assert_eq!(list.len(), order.len(), "{:?}", order.first().map(|step| step.index()));
    list
}
