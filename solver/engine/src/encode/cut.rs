//! Rows that whole plans satisfy anyway and that make the relaxation tighter.

use std::collections::{BTreeMap, BTreeSet};

use yardless_plan::shop::{CrewId, Id, JobId, Part, Shop, StepId, Want};

use super::Encoding;
use super::holds::Holder;
use super::program::{States, Terms};

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
    let mut wanted: BTreeSet<Wants> = BTreeSet::new();
    wanted.extend(e.holds.iter().filter_map(|hold| asks(shop, e, hold.by)));
    for (job, step, want) in wanted {
        let holds: Vec<usize> = (0..e.holds.len())
            .filter(|i| {
                asks(shop, e, e.holds[*i].by)
                    .is_some_and(|(j, s, w)| j == job && w == want && (s.is_none() || s == step))
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
///     >= sum over modes of n_m (started_m(last) - ended_m(k-1)) + n (begun_j(last) - over_j(k-1))
/// ```
///
/// Valid: all of them stand there together at some time from k on, so each stands there in k or has yet to come. Without
/// it a unit that passes through long before counts as one that has come.
fn stays(e: &mut Encoding, holds: &[usize], able: &[(usize, usize)]) {
    let end = e.ticks.len() - 1;
    for k in 1..e.ticks.len() {
        let mut row = Terms::new();
        for hold in holds.iter().map(|i| &e.holds[*i]) {
            row.extend([(hold.begun[end], hold.factor), (hold.ended[k - 1], -hold.factor)]);
        }
        for (pool, spot) in able {
            let flow = &e.flows[*pool];
            row.extend([(flow.at[*spot][k], -1), (flow.come[*spot][end], -1), (flow.come[*spot][k], 1)]);
        }
        e.program.at_most(States::Cut, row, 0);
    }
}

/// Who wants what: the job, the step (none for parked needs) with whether it is its second span, and what is wanted.
pub(crate) type Wants = (JobId, Option<(StepId, bool)>, Want);

fn asks(shop: &Shop, e: &Encoding, by: Holder) -> Option<Wants> {
    match by {
        Holder::Mode(m, i) => {
            let mode = &e.modes[m];
            Some((shop.steps[mode.step].job, Some((mode.step, mode.part == Part::Second)), mode.needs[i].want))
        }
        Holder::Parked(job, i) => Some((job, None, shop.jobs[job].parked[i].want)),
        Holder::Out | Holder::Endless => None,
    }
}

/// **Crew time.** For a set S of crews and a half-day a, let W_j be the least worked half-days of job j's steps that only
/// crews of S may do and that cannot start before a, and D the sum of W over all jobs less the half-days in which the
/// crews of S are present from a on. If D is above 0 some jobs must be left out, whole ones:
///
/// ```text
/// sum of min(W_j, D) y_j >= D
/// ```
///
/// Valid: the jobs left out free at least D, and one that frees D alone is enough. Without it the relaxation leaves out
/// a fraction of the cheapest job. S runs over the sets of crews that may do some step, and unions of two.
pub(super) fn crew_time(shop: &Shop, e: &mut Encoding) {
    for (jobs, short) in short_of_time(shop) {
        let row = jobs.iter().filter_map(|(job, work)| Some((e.left_out[job.index()]?, -work))).collect();
        e.program.at_most(States::Cut, row, -short);
    }
}

/// The rows of [`crew_time`]: half-days that leaving each job out frees, and D.
pub(crate) fn short_of_time(shop: &Shop) -> Vec<(Vec<(JobId, i64)>, i64)> {
    let mut sets: BTreeSet<BTreeSet<CrewId>> = BTreeSet::new();
    let mut work: Vec<(JobId, BTreeSet<CrewId>, usize, i64)> = Vec::new();
    for (step, facts) in shop.steps.pairs().filter(|(_, facts)| shop.jobs[facts.job].planned()) {
        let runs = || {
            shop.choices(step).flat_map(|(_, _, runs)| {
                runs.iter().map(move |(start, end)| (start, runs.worked(start, end).count() as i64))
            })
        };
        let Some(mut least) = runs().map(|(_, worked)| worked).min() else { continue };
        for (way, crew, _) in shop.choices(step).filter(|_| facts.may_split) {
            // In two spans it may work when more of its crew are present (W10).
            let most = (0..shop.len()).map(|h| shop.done_in(step, way, crew, h)).max().unwrap_or(1).max(1);
            least = least.min((facts.ways[way].amount.total() + most - 1) / most);
        }
        let first = runs().map(|(start, _)| start).min().unwrap_or(0);
        let able: BTreeSet<CrewId> = shop.choices(step).map(|(_, crew, _)| crew).collect();
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
            let present: i64 = crews
                .iter()
                .map(|crew| shop.crews[*crew].people[*from..].iter().filter(|people| **people > 0).count() as i64)
                .sum();
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
