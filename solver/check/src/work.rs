//! Which jobs are done, by whom and in which order: rules W1, W5, W6, W8, W12 and W14.

use std::collections::BTreeSet;

use yardless_plan::shop::{Fixed, Id, JobId, Shop, StepId, Table, Team};
use yardless_plan::{Plan, Rule, StepRow};

use super::fact::{OfJob, OfLater, OfWork};
use super::ids::Ids;
use super::later::{self, Later};
use super::rows::{Fate, KnownRow, Rows, Works};
use super::{Found, crew_time, help, history, soonest, spans, waits};

pub(super) fn judge<'a>(shop: &Shop, ids: &Ids, plan: &'a Plan, found: &mut Found) -> Works<'a> {
    let mut steps: Rows = shop.steps.ids().map(|_| Vec::new()).collect();
    let mut spans: BTreeSet<(StepId, u32)> = BTreeSet::new();
    for row in &plan.steps {
        let Some(job) = ids.job(&row.job, found) else { continue };
        if history::is_past(shop, job, row, found) {
            continue;
        }
        let Some(step) = ids.step(job, &row.step, found) else { continue };
        if !spans.insert((step, row.span)) {
            found.say(Rule::W1, OfWork::Twice { step });
            continue;
        }
        steps[step].extend(read(shop, ids, step, row, found));
    }
    for step in shop.steps.ids() {
        let rows = &mut steps[step];
        rows.sort_by_key(|work| work.row.span);
        let mut left = None;
        for (i, work) in rows.iter().enumerate() {
            row_alone(shop, step, work, found);
            left = spans::judge(shop, step, (i.checked_sub(1).map(|i| &rows[i]), work, rows.get(i + 1)), left, found);
        }
    }
    let rows = shop.steps.ids().map(|step| spans.range((step, 0)..=(step, u32::MAX)).count()).collect();
    crew_time::judge(shop, &steps, found);
    help::judge(shop, &steps, found);
    order(shop, &steps, found);
    let later = soonest::later(shop);
    let fates = fates(shop, ids, plan, (&rows, &steps, &later), found);
    Works { steps, fates, later }
}

fn read<'a>(shop: &Shop, ids: &Ids, step: StepId, row: &'a StepRow, found: &mut Found) -> Option<KnownRow<'a>> {
    let facts = &shop.steps[step];
    let mut way = facts.ways.iter().position(|way| way.id == row.way && way.overtime == row.overtime);
    if !facts.ways.iter().any(|way| way.id == row.way) {
        found.say(Rule::Plan, OfWork::NoWay { step, way: row.way.clone() });
    } else if way.is_none() {
        found.say(Rule::W9, OfWork::NoOvertime { step });
        way = facts.ways.iter().position(|way| way.id == row.way);
    }
    let crew = ids.crew(&row.crew, found);
    let helpers = row.with.iter().filter_map(|id| ids.crew(id, found)).collect();
    // What is in progress goes on from now.
    let goes_on = facts.going.is_some() && row.span != 2;
    let start = if goes_on { Some(shop.now) } else { shop.horizon.index(row.start) };
    let span = start.zip(shop.horizon.index(row.end)).filter(|(start, end)| start <= end);
    Some(KnownRow { way: way?, team: Team::new(crew?, helpers), span, row })
}

/// W5 and W8 of one row.
fn row_alone(shop: &Shop, step: StepId, work: &KnownRow, found: &mut Found) {
    let facts = &shop.steps[step];
    let (crew, row) = (work.team.crew, work.row);
    if let Some(going) = &facts.going {
        history::goes_on(shop, step, going, work, found);
    } else if !shop.crews[crew].skills.contains(&facts.skill) {
        found.say(Rule::W5, OfWork::NoSkill { step, crew });
    }
    // Of a step in progress, the crew and the way that it goes on with.
    let fixed = if facts.going.is_some() { Fixed::default() } else { facts.fixed };
    if let Some(fixed) = fixed.crew.filter(|fixed| *fixed != crew) {
        found.say(Rule::W8, OfWork::FixedCrew { step, fixed, crew });
    }
    if let Some(fixed) = fixed.way.map(|fixed| &facts.ways[fixed].id).filter(|fixed| **fixed != row.way) {
        found.say(Rule::W8, OfWork::FixedWay { step, fixed: fixed.clone(), way: row.way.clone() });
    }
    if let Some(fixed) = fixed.start.filter(|fixed| *fixed != row.start && !work.comes_back()) {
        found.say(Rule::W8, OfWork::FixedStart { step, fixed, start: row.start });
    }
}

/// W6: what comes after starts late enough, and soon enough where the book says within when.
fn order(shop: &Shop, steps: &Rows, found: &mut Found) {
    for (step, work) in steps.pairs().filter_map(|(step, rows)| Some((step, rows.first()?))) {
        let start = shop.horizon.offset(work.row.start);
        history::after_done(shop, step, work, found);
        waits::judge(shop, step, work, found);
        for link in &shop.steps[step].after {
            let before = link.before;
            // What has begun waits for no other job that is not done (N1).
            let free = shop.jobs[shop.steps[step].job].started && shop.steps[before].job != shop.steps[step].job;
            if free && steps[before].is_empty() {
                continue;
            }
            let Some(earlier) = steps[before].last() else {
                found.say(Rule::W6, OfWork::BeforeNotDone { step, before });
                continue;
            };
            let (starts, ends) = (work.row.start, earlier.row.end);
            let next = shop.horizon.offset(ends) + 1;
            if start < next + link.wait as i64 {
                found.say(Rule::W6, OfWork::TooSoon { step, start: starts, before, ends, wait: link.wait as u64 });
            }
            if let Some(within) = link.within.filter(|within| start > next + *within as i64) {
                found.say(Rule::W6, OfWork::TooLate { step, start: starts, before, ends, within: within as u64 });
            }
        }
    }
}

/// How the plan lists a job as left out, and as later.
#[derive(Clone, Default)]
struct Listed<'p> {
    left_out: usize,
    later: usize,
    /// The steps that it lists as later.
    steps: Vec<&'p str>,
}

impl Listed<'_> {
    /// Whether the job is listed as not done: left out, or later as a whole.
    fn not_done(&self) -> bool {
        self.left_out > 0 || self.later > 0 && self.steps.is_empty()
    }

    /// W1: a job is listed once, and only where it is left out or later. `planned`: some step of it has a row.
    fn judge(&self, shop: &Shop, later: &Later, job: JobId, planned: bool, found: &mut Found) {
        let facts = &shop.jobs[job];
        let is_later = later.jobs[job];
        let mut say = |fact: OfJob| found.say(Rule::W1, fact);
        if self.left_out + self.later > 1 {
            say(OfJob::ListedTwice { job });
        }
        match (is_later, self.later > 0) {
            (true, false) => say(OfJob::NotListedLater { job }),
            (false, true) if self.steps.is_empty() => say(OfJob::ListedLater { job }),
            _ => {}
        }
        if facts.over() {
            if self.not_done() {
                say(OfJob::ListedAndOver { job });
            }
        } else if planned && self.not_done() {
            say(OfJob::ListedAndPlanned { job });
        } else if planned && is_later {
            say(OfJob::LaterAndPlanned { job });
        }
    }

    /// W12: the steps listed as later are just those that are, where the job is done. `done`: whether it is.
    fn judge_steps(&self, shop: &Shop, ids: &Ids, later: &[StepId], (job, done): (JobId, bool), found: &mut Found) {
        let mut listed: BTreeSet<StepId> = BTreeSet::new();
        for id in &self.steps {
            let text = shop.book.jobs[job.index()].steps.iter().find(|step| step.id == **id);
            if text.is_some_and(|step| step.done.is_some()) {
                found.say(Rule::W12, OfLater::ListedDone { job, done: (*id).to_owned() });
            } else if let Some(step) = ids.step(job, id, found) {
                listed.insert(step);
            }
        }
        let wrong = listed.iter().copied().filter(|step| !done || !later.contains(step));
        wrong.for_each(|step| found.say(Rule::W12, OfLater::Listed { step }));
        let missing = later.iter().copied().filter(|step| done && !listed.contains(step));
        missing.for_each(|step| found.say(Rule::W12, OfLater::NotListed { step }));
    }
}

/// W1, W12: every job is later, left out, done whole or in part, and listed so once. `rows`: how many each step has, read
/// or not.
fn fates(
    shop: &Shop,
    ids: &Ids,
    plan: &Plan,
    (rows, steps, later): (&Table<StepId, usize>, &Rows, &Later),
    found: &mut Found,
) -> Table<JobId, Fate> {
    let mut listed = Table::filled(shop.jobs.len(), Listed::default());
    for row in &plan.left_out {
        if let Some(job) = ids.job(&row.job, found) {
            listed[job].left_out += 1;
        }
    }
    for row in &plan.later {
        if let Some(job) = ids.job(&row.job, found) {
            listed[job].later += 1;
            listed[job].steps.extend(row.steps.iter().map(String::as_str));
        }
    }
    let fate = |job: JobId| {
        let (facts, listed) = (&shop.jobs[job], &listed[job]);
        let has_rows = |step: &StepId| rows[*step] > 0;
        let (to_plan, comes_later) = (later.planned(shop, job), later.of(shop, job));
        let planned = later::open(shop, job).any(|step| has_rows(&step));
        listed.judge(shop, later, job, planned, found);
        let done = !later.jobs[job] && !listed.not_done();
        listed.judge_steps(shop, ids, &comes_later, (job, done), found);
        if facts.over() {
            return Fate::Over;
        }
        if later.jobs[job] {
            return Fate::Later;
        }
        if listed.not_done() {
            return Fate::LeftOut;
        }
        for step in comes_later.into_iter().filter(has_rows) {
            found.say(Rule::W12, OfLater::Planned { step });
        }
        if to_plan.is_empty() {
            return Fate::Rests;
        }
        if planned {
            let rule = if later::in_part(shop, job) { Rule::W12 } else { Rule::W1 };
            for step in to_plan.iter().copied().filter(|step| !has_rows(step)) {
                found.say(rule, OfJob::WithoutStep { step });
            }
        } else {
            found.say(Rule::W1, OfJob::Neither { job });
        }
        done_from(shop, job, &to_plan, steps)
    };
    shop.jobs.ids().map(fate).collect()
}

/// From when to when a job is done that is neither later nor left out.
fn done_from(shop: &Shop, job: JobId, to_plan: &[StepId], steps: &Rows) -> Fate {
    let span = |step: &StepId| Some((steps[*step].first()?.span?.0, steps[*step].last()?.span?.1));
    let spans: Option<Vec<_>> = to_plan.iter().map(span).collect();
    let begun = shop.jobs[job].started.then_some(shop.now);
    let first = begun.or_else(|| spans.iter().flatten().map(|(start, _)| *start).min());
    let last = spans.iter().flatten().map(|(_, end)| *end).max();
    first.zip(last).map_or(Fate::LeftOut, |(start, end)| Fate::Done { start, end })
}
