//! A bound that needs no solver: every job as if it were alone in the world.

use yardless_plan::shop::{JobId, Shop};

use crate::model::in_order;

/// No plan costs less, in cents: for each job the cheaper of leaving it out and of its earliest end by its own steps,
/// waits and crews, hauls and all other jobs forgotten, its site open no longer than its longest step takes at least (C16);
/// and every unit, in each half-day that counts, where standing costs it least (C12, C13): the road costs no less than the
/// place that it leads from.
pub(crate) fn bound_alone(shop: &Shop) -> i64 {
    let least = |unit| shop.places.ids().map(|place| shop.stand_cost(unit, place).0).min().unwrap_or(0);
    let standing = shop.units.ids().map(least).sum::<i64>() * shop.worked_before(shop.len());
    shop.jobs.ids().filter(|job| shop.jobs[*job].planned()).map(|job| job_alone(shop, job)).sum::<i64>()
        + standing
        + shop.history.0
}

fn job_alone(shop: &Shop, job: JobId) -> i64 {
    let facts = &shop.jobs[job];
    if facts.follows_later.is_some() {
        return facts.left_out.0;
    }
    let mut ends = std::collections::BTreeMap::new();
    let mut cents = facts.past_cost.0;
    let (mut last, mut open) = (0, 0);
    for step in in_order(shop, job) {
        let first = shop.steps[step]
            .after
            .iter()
            .filter_map(|link| ends.get(&link.before).map(|end: &usize| end + 1 + link.wait))
            .max()
            .unwrap_or(0);
        let end = shop
            .choices(step)
            .filter_map(|(_, _, runs)| {
                runs.iter().filter(|(s, _)| *s >= first && shop.start_allowed(step, *s)).map(|(_, e)| e).min()
            })
            .min();
        let Some(end) = end else { return facts.left_out.0 };
        let extra = shop.choices(step).map(|(way, _, _)| shop.steps[step].ways[way].extra.0).min().unwrap_or(0);
        // The site is open while the step is done (C16).
        let spans = shop.choices(step).flat_map(|(_, _, runs)| runs.iter());
        let least = spans.map(|(start, end)| shop.open_cost(job, start, end).0).min().unwrap_or(0);
        open = open.max(if shop.steps[step].may_split { 0 } else { least });
        ends.insert(step, end);
        last = last.max(end);
        cents += end as i64 + extra;
    }
    facts.left_out.0.min(cents + facts.late[last].0 + shop.wait_half_day().0 * last as i64 + open)
}
