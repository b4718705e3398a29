//! Rules W1 to W3, W5, W6, W8: who does which step in which run.

use std::collections::{BTreeMap, BTreeSet};

use yardless_plan::shop::{Id, Need, Part, Shop, Span, StepId};

use super::Encoding;
use super::program::{Col, Rule, Terms};
use crate::context::Context;

/// A way of a step together with what it then holds: starts before there is power are a mode of their own (E5), and so
/// are first and second spans (W10).
#[derive(Clone, Debug)]
pub(crate) struct Mode {
    /// The step.
    pub(crate) step: StepId,
    /// What part of it.
    pub(crate) part: Part,
    /// The way.
    pub(crate) way: usize,
    /// What it holds from start to end.
    pub(crate) needs: Vec<Need>,
    /// Runs: column, pool of teams, first and last half-day.
    pub(crate) runs: Vec<RunColumn>,
    /// By tick: 1 once it has started (a sum of runs).
    pub(crate) started: Vec<Col>,
    /// By tick: 1 once it has ended.
    pub(crate) ended: Vec<Col>,
}

/// One column of work: the step is done in the mode by a team of the pool from start to end.
#[derive(Clone, Copy, Debug)]
pub(crate) struct RunColumn {
    /// The column.
    pub(crate) col: Col,
    /// The pool of teams.
    pub(crate) pool: usize,
    /// Index of the first worked half-day.
    pub(crate) start: usize,
    /// Index of the last worked half-day.
    pub(crate) end: usize,
    /// The rest of the step that a span leaves or does; 0 of a whole run.
    pub(crate) rest: usize,
}

/// **W1, W3, W5, W8.** For every step of every job and every run r = (way, team, start -> end) that the shop's tables
/// allow, x_r = 1 when it is done so; y_j = 1 when the job is left out.
///
/// ```text
/// sum over runs of the step of x_r + y_j = 1          one row a step; of spans, first ones
/// ```
///
/// Of jobs in progress (N1) no more are left out than a plan is known to leave so; their y is 0 where that is none.
///
/// Exact, because the end follows from the start (W3) and what is fixed only takes runs away (W8). A job that follows
/// a later one has y_j = 1 and no runs. Runs for which the shop lacks units or spots are not made (E4, E6, see
/// [`Shop::equipped`]). With the runs come their sums by tick (a tick is a half-day that the shop works, the only ones
/// in which work starts or ends and hauls are made):
///
/// ```text
/// started_m(k) = started_m(k-1) + sum of x_r that start at k       ended_m(k) likewise
/// ```
pub(super) fn runs(shop: &Shop, context: &Context, e: &mut Encoding) {
    e.program.constant += shop.history.0;
    let mut in_progress = Terms::new();
    for (job, facts) in shop.jobs.pairs() {
        if !context.plans(shop, job) {
            e.left_out.push(None);
            e.modes_of.extend(facts.step_ids().chain(facts.later_ids()).map(|_| 0..0));
            continue;
        }
        // What done steps cost is paid unless the job is left out.
        let none = e.program.decide(facts.left_out.0 - facts.past_cost.0, i64::from(!context.must_do(shop, job)));
        e.program.constant += facts.past_cost.0;
        e.left_out.push(Some(none));
        if facts.started {
            in_progress.push((none, 1));
        }
        for step in facts.step_ids() {
            let first_mode = e.modes.len();
            if facts.follows_later.is_none() {
                modes(shop, e, step);
            }
            e.modes_of.push(first_mode..e.modes.len());
            let starting = e.modes[first_mode..].iter().filter(|mode| mode.part.starts());
            let mut terms: Terms = starting.flat_map(|mode| &mode.runs).map(|run| (run.col, 1)).collect();
            terms.push((none, 1));
            e.program.equal(Rule::W1, terms, 1);
        }
        e.modes_of.extend(facts.later_ids().map(|_| 0..0));
    }
    if in_progress.len() > context.most_unended() {
        e.program.at_most(Rule::N1, in_progress, context.most_unended() as i64);
    }
}

fn modes(shop: &Shop, e: &mut Encoding, step: StepId) {
    // (way, units for power) -> runs by pool and start, so that teams of one pool share a column.
    let mut made: BTreeMap<(usize, usize), BTreeMap<(usize, usize), usize>> = BTreeMap::new();
    for (way, team, runs) in shop.choices(step) {
        for (start, end) in runs.iter().filter(|(start, _)| shop.start_allowed(step, *start)) {
            if shop.equipped(step, Part::Whole, way, start, end) {
                made.entry((way, shop.power(step, way, start))).or_default().insert((e.team_pool_of[team], start), end);
            }
        }
    }
    for ((way, _), runs) in made {
        let runs: Vec<RunColumn> = runs
            .into_iter()
            .map(|((pool, start), end)| {
                // C5's cent for the step's end, C1 of its own, C6 to C8, C10 and C11.
                let team = e.team_pools[pool].teams[0];
                let col = e.program.decide(end as i64 + shop.run_cost(step, way, team, start, end).0, 1);
                RunColumn { col, pool, start, end, rest: 0 }
            })
            .collect();
        mode(shop, e, step, Part::Whole, way, runs);
    }
    spans(shop, e, step);
}

fn mode(shop: &Shop, e: &mut Encoding, step: StepId, part: Part, way: usize, runs: Vec<RunColumn>) {
    let first = runs.iter().map(|run| run.start).min().unwrap_or(0);
    let started = sums(e, &runs, |run| run.start);
    let ended = sums(e, &runs, |run| run.end);
    e.modes.push(Mode { step, part, way, needs: shop.needs(step, part, way, first).collect(), runs, started, ended });
}

/// **W10.** A step that may split has, besides its whole runs, first spans that leave a rest and second ones that do it:
/// x_f and x_g. For every rest (team, way, what is left) and every half-day h:
///
/// ```text
/// sum of x_f = sum of x_g          sum of x_g that start up to h <= sum of x_f that end up to h - 2
/// ```
///
/// A step in progress that is let go has an x_f that works and holds nothing, and is come back to after now. A step
/// starts with a whole run or a first span (W1, W6, C4), and ends with a whole run or a second one (W6, C1, C5).
fn spans(shop: &Shop, e: &mut Encoding, step: StepId) {
    let mut made: BTreeMap<(Part, usize, usize), Vec<RunColumn>> = BTreeMap::new();
    let mut rests: Vec<Vec<(Span, Col)>> = vec![Vec::new(); shop.steps[step].rests.len()];
    for (rest, team, span) in shop.spans(step) {
        let Span { part, way, start, end } = span;
        let ends = if part.ends() { end as i64 } else { 0 };
        let col = e.program.decide(ends + shop.span_cost(step, team, span).0, 1);
        let run = RunColumn { col, pool: e.team_pool_of[team], start, end, rest };
        made.entry((part, way, shop.power(step, way, start))).or_default().push(run);
        rests[rest].push((span, col));
    }
    for ((part, way, _), runs) in made {
        mode(shop, e, step, part, way, runs);
    }
    for rest in rests {
        let (firsts, seconds): (Vec<_>, Vec<_>) = rest.into_iter().partition(|(span, _)| span.part.starts());
        let terms = |spans: &[(Span, Col)], sign: i64, may: &dyn Fn(Span) -> bool| -> Terms {
            spans.iter().filter(|(span, _)| may(*span)).map(|(_, col)| (*col, sign)).collect()
        };
        let all = [terms(&firsts, 1, &|_| true), terms(&seconds, -1, &|_| true)].concat();
        e.program.equal(Rule::W10, all, 0);
        let starts: BTreeSet<usize> = seconds.iter().map(|(span, _)| span.start).collect();
        for h in starts {
            let back = terms(&seconds, 1, &|span| span.start <= h);
            let left = terms(&firsts, -1, &|span| span.ready() <= h);
            e.program.at_most(Rule::W10, [back, left].concat(), 0);
        }
    }
}

fn sums(e: &mut Encoding, runs: &[RunColumn], at: impl Fn(&RunColumn) -> usize) -> Vec<Col> {
    let mut by_tick: Vec<Terms> = vec![Vec::new(); e.ticks.len()];
    for run in runs {
        by_tick[e.tick_from(at(run))].push((run.col, 1));
    }
    let mut sums: Vec<Col> = Vec::with_capacity(by_tick.len());
    for mut terms in by_tick {
        match sums.last() {
            // Nothing new: the same column serves.
            Some(last) if terms.is_empty() => sums.push(*last),
            Some(last) => {
                terms.push((*last, 1));
                sums.push(e.program.sum(1, terms, 0));
            }
            None => sums.push(e.program.sum(1, terms, 0)),
        }
    }
    sums
}

/// **W6.** For every link (step a before step b, wait w, within v) and tick k at half-day h:
///
/// ```text
/// started_b(h) <= ended_a(h - 1 - w)
/// ended_a(h) <= started_b(h + 1 + v) + y of b's job          where `within_half_days` is given
/// ```
///
/// The first also says that b's job is done only when a's is. y in the second frees a when b's job is left out. Where
/// b's job is in progress and a is another job's, y of a's job is added on the right of the first: it waits for no job that is
/// left out (N1).
pub(super) fn order(shop: &Shop, context: &Context, e: &mut Encoding) {
    for (b, facts) in shop.steps.pairs() {
        let Some(left_out) = e.left_out[facts.job.index()] else { continue };
        for link in &facts.after {
            let a = link.before;
            let free = shop.jobs[facts.job].started && shop.steps[a].job != facts.job;
            if !context.plans(shop, shop.steps[a].job) {
                continue; // b's job has no runs
            }
            for k in 0..e.ticks.len() {
                let h = e.ticks[k];
                let mut terms = e.started(b, k);
                if terms.is_empty() || (k > 0 && terms == e.started(b, k - 1)) {
                    continue;
                }
                if let Some(before) = h.checked_sub(1 + link.wait).and_then(|h| e.last_tick(h)) {
                    terms.extend(e.ended(a, before).into_iter().map(|(c, n)| (c, -n)));
                }
                if free {
                    terms.extend(e.left_out[shop.steps[a].job.index()].map(|left_out| (left_out, -1)));
                }
                e.program.at_most(Rule::W6, terms, 0);
            }
            let Some(within) = link.within else { continue };
            for k in 0..e.ticks.len() {
                let mut terms = e.ended(a, k);
                let Some(by) = e.last_tick(e.ticks[k] + 1 + within) else { continue };
                terms.extend(e.started(b, by).into_iter().map(|(c, n)| (c, -n)));
                terms.push((left_out, -1));
                e.program.at_most(Rule::W6, terms, 0);
            }
        }
    }
}
