//! Crew time that jobs left out must free: a cut of the program, and a row of the Lagrangian relaxation.
//!
//! For a set S of crews and a half-day a, let W_j be the least worked half-days of job j's steps that only crews of S may
//! do (helped or not, W11) and that cannot start before a, stops apart, and D the sum of W over all jobs less the half-days
//! in which the crews of S are present from a on, each as often as it works on steps at once (W13). If D is above 0 some
//! jobs must be left out, whole ones:
//!
//! ```text
//! sum of min(W_j, D) y_j >= D
//! ```
//!
//! Valid: the jobs left out free at least D, and one that frees D alone is enough. Without it the linear relaxation leaves
//! out a fraction of the cheapest job. S runs over the sets of crews that may do some step, and unions of two.

use std::collections::{BTreeMap, BTreeSet};

use yardless_plan::shop::{CrewId, JobId, Shop};

use crate::context::Context;

/// The rows: half-days that leaving each job out frees, and D.
pub(crate) fn short_of_time(shop: &Shop, context: &Context) -> Vec<(Vec<(JobId, i64)>, i64)> {
    let mut sets: BTreeSet<BTreeSet<CrewId>> = BTreeSet::new();
    let mut work: Vec<(JobId, BTreeSet<CrewId>, usize, i64)> = Vec::new();
    for (step, facts) in shop.steps.pairs().filter(|(_, facts)| context.plans(shop, facts.job)) {
        let runs = || {
            shop.choices(step).flat_map(|(_, _, runs)| {
                runs.iter().map(move |(start, end)| (start, runs.worked(start, end).count() as i64))
            })
        };
        let Some(mut least) = runs().map(|(_, worked)| worked).min() else { continue };
        // Stops share half-days (W16): how many of them is not counted here.
        if (0..facts.ways.len()).any(|way| facts.ways[way].load < shop.whole_half_day()) {
            continue;
        }
        for (way, team, _) in shop.choices(step).filter(|_| facts.may_split) {
            // In two spans it may work when more of its crew are present (W10).
            let most = (0..shop.len()).map(|h| shop.done_in(step, way, &shop.teams[team], h)).max().unwrap_or(1).max(1);
            least = least.min((facts.ways[way].amount.total() + most - 1) / most);
        }
        let first = runs().map(|(start, _)| start).min().unwrap_or(0);
        let able: BTreeSet<CrewId> = shop.choices(step).map(|(_, team, _)| shop.teams[team].crew).collect();
        sets.insert(able.clone());
        work.push((facts.job, able, first, least));
    }
    let single: Vec<BTreeSet<CrewId>> = sets.iter().take(MOST_SETS).cloned().collect();
    for (i, a) in single.iter().enumerate() {
        sets.extend(single[..i].iter().map(|b| a | b));
    }
    let firsts: BTreeSet<usize> = work.iter().map(|(_, _, first, _)| *first).collect();
    let mut rows = Vec::new();
    for crews in &sets {
        for from in &firsts {
            let there = |crew: CrewId| shop.crews[crew].people[*from..].iter().filter(|people| **people > 0).count();
            let present: i64 =
                crews.iter().map(|crew| i64::from(shop.crews[*crew].at_once) * there(*crew) as i64).sum();
            let mut by_job: BTreeMap<JobId, i64> = BTreeMap::new();
            for (job, able, first, least) in &work {
                if able.is_subset(crews) && first >= from {
                    *by_job.entry(*job).or_default() += least;
                }
            }
            let short = by_job.values().sum::<i64>() - present;
            if short > 0 {
                rows.push((by_job.into_iter().map(|(job, work)| (job, work.min(short))).collect(), short));
            }
        }
    }
    rows
}

/// Sets of crews whose unions are looked at.
const MOST_SETS: usize = 12;
