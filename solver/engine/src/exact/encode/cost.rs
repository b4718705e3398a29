//! Rules C1, C4, C5, C16: what depends on a job's end and on its crews. C2, C3 and C6 stand on their columns.

use std::collections::{BTreeMap, BTreeSet};

use yardless_plan::shop::{Id, JobFacts, Shop};

use super::Encoding;
use super::holds::{ends_of, spans};
use super::program::{Col, Rule, States, Terms};
use super::work::RunColumn;

/// **C1, C5, C16.** Let f(h) = late cost + wait_half_day x h + open_half_day x the worked half-days from now up to and with h,
/// for an end at index h; it never falls. [`begins`] takes off those before the job begins. A job with one last step
/// pays f(end) on the runs of that step. A job with several pays, over its ticks,
///
/// ```text
/// f(h_0) (1 - y) + sum over k >= 1 of (f(h_k) - f(h_{k-1})) (1 - y - over(k-1))
/// ```
///
/// where over(k) <= ended_b(k) for every last step b.
pub(super) fn ends(shop: &Shop, e: &mut Encoding) {
    for (job, facts) in shop.jobs.pairs() {
        let Some(none) = e.left_out[job.index()] else { continue };
        if facts.follows_later.is_some() {
            continue;
        }
        let f = |h: usize| facts.late[h].0 + shop.wait_half_day().0 * h as i64 + shop.open_before(h + 1).0;
        let (_, last) = ends_of(shop, job);
        if let [only] = last[..] {
            for mode in e.modes_of[only.index()].clone().filter(|mode| e.modes[*mode].part.ends()) {
                for RunColumn { col, end, .. } in &e.modes[mode].runs {
                    e.program.cost[col.index()] += f(*end);
                }
            }
            continue;
        }
        let (_, over) = spans(shop, e, job);
        let mut rise = f(e.ticks[0]);
        for k in 1..e.ticks.len() {
            let step = f(e.ticks[k]) - f(e.ticks[k - 1]);
            rise += step;
            e.program.cost[over[k - 1].index()] -= step;
        }
        e.program.constant += rise;
        e.program.cost[none.index()] -= rise;
    }
}

/// **C16.** Let g(h) = open_half_day x the worked half-days from now up to h, h not counted. A job that has not begun, with
/// one first step, pays -g(start) on the runs of that step. One with several pays, with o(k) = open_half_day where the shop
/// works tick k, and 0 in overtime,
///
/// ```text
/// sum over k of o(k) started_j(k) - g(end of the horizon) (1 - y)
/// ```
///
/// which is -g(h) where h is its first start, and 0 where it is left out. A job that has begun is open from now: g(now) = 0.
pub(super) fn begins(shop: &Shop, e: &mut Encoding) {
    let all = shop.open_before(shop.len()).0;
    for (job, facts) in shop.jobs.pairs().filter(|_| all > 0) {
        if facts.started || facts.follows_later.is_some() {
            continue;
        }
        let Some(none) = e.left_out[job.index()] else { continue };
        let (first, _) = ends_of(shop, job);
        if let [only] = first[..] {
            for mode in e.modes_of[only.index()].clone().filter(|mode| e.modes[*mode].part.starts()) {
                for RunColumn { col, start, .. } in &e.modes[mode].runs {
                    e.program.cost[col.index()] -= shop.open_before(*start).0;
                }
            }
            continue;
        }
        let (started, _) = spans(shop, e, job);
        for (k, h) in e.ticks.iter().enumerate().filter(|(_, h)| shop.works[**h]) {
            e.program.cost[started[k].index()] += shop.open_before(h + 1).0 - shop.open_before(*h).0;
        }
        e.program.constant -= all;
        e.program.cost[none.index()] += all;
    }
}

/// **C4.** For a job with several own crews to choose from, u_c = 1 when crew c is on it, z = 1 when any own crew is:
///
/// ```text
/// sum of x_r of a step by crew c <= u_c          z <= sum of u_c,  z <= 1          cost extra_crew (sum of u_c - z)
/// ```
///
/// Where own crews have been on the job before, u_c costs for every other one and there is no z.
///
/// **Order.** Of crews that are alike but not pooled, the one listed later takes a job only if the one before it has
/// taken that job or an earlier one: any plan becomes such a plan by renaming them.
///
/// ```text
/// sum of x_r of a step of job j by crew c <= sum of u over jobs up to j of the crew before c
/// ```
pub(super) fn crews(shop: &Shop, e: &mut Encoding) {
    let price = shop.extra_crew().0;
    let ordered = e.team_pools.iter().any(|pool| pool.after.is_some());
    let mut used_so_far: BTreeMap<usize, Terms> = BTreeMap::new();
    for facts in &shop.jobs {
        let by_crew = by_crew(e, facts);
        // Crews that have been on the job are paid for, and whichever comes besides costs (N1).
        let before = &facts.crews_before;
        let own = |pool: &usize| {
            let crew = e.crew_of(shop, *pool);
            shop.crews[crew].own && !before.contains(&crew)
        };
        let able = by_crew.keys().filter(|pool| own(pool)).count();
        let priced = price > 0 && if before.is_empty() { facts.steps.len() > 1 && able > 1 } else { able > 0 };
        if !priced && !ordered {
            continue;
        }
        let counted: BTreeSet<usize> = by_crew.keys().copied().filter(|pool| priced && own(pool)).collect();
        let mut used: Vec<(usize, Col)> = Vec::new();
        for (pool, steps) in &by_crew {
            let counts = counted.contains(pool);
            let u = e.program.greatest(Rule::C4, 1, steps.clone());
            if counts {
                e.program.cost[u.index()] += price;
                used.push((*pool, u));
            }
            if ordered {
                // u is 1 only where some step is done by the crew.
                let mut row: Terms = steps.iter().flatten().map(|(c, _)| (*c, -1)).collect();
                row.push((u, 1));
                e.program.at_most(States::Order, row, 0);
                used_so_far.entry(*pool).or_default().push((u, 1));
            }
        }
        if priced && !before.is_empty() {
            e.extra_crews.extend(used.iter().map(|(_, u)| (*u, 1)));
        } else if priced {
            let any = e.program.least(Rule::C4, 1, vec![used.iter().map(|(_, u)| (*u, 1)).collect()]);
            e.program.cost[any.index()] -= price;
            e.extra_crews.extend(used.iter().map(|(_, u)| (*u, 1)).chain([(any, -1)]));
        }
        for (pool, steps) in &by_crew {
            let Some(before) = e.team_pools[*pool].after else { continue };
            let taken = used_so_far.get(&before).cloned().unwrap_or_default();
            for terms in steps {
                let mut row = terms.clone();
                row.extend(taken.iter().map(|(u, _)| (*u, -1)));
                e.program.at_most(States::Order, row, 0);
            }
        }
    }
}

/// By pool of the crew, helped or not, for each step that it may start: its runs.
fn by_crew(e: &Encoding, job: &JobFacts) -> BTreeMap<usize, Vec<Terms>> {
    let mut by_crew: BTreeMap<usize, Vec<Terms>> = BTreeMap::new();
    for step in job.step_ids() {
        let mut runs: BTreeMap<usize, Terms> = BTreeMap::new();
        // A second span is by the crew of the first.
        for mode in e.modes_of(step).filter(|mode| mode.part.starts()) {
            for run in &mode.runs {
                runs.entry(e.team_pools[run.pool].alone).or_default().push((run.col, 1));
            }
        }
        for (pool, terms) in runs {
            by_crew.entry(pool).or_default().push(terms);
        }
    }
    by_crew
}
