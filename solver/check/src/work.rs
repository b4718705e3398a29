//! Which jobs are done, by whom and in which order: rules W1, W5, W6, W8 and W14.

use std::collections::BTreeSet;

use yardless_plan::shop::{Fixed, JobId, Shop, StepId, Table, Team};
use yardless_plan::{Plan, Rule, StepRow};

use super::fact::{OfJob, OfWork};
use super::ids::Ids;
use super::rows::{Fate, KnownRow, Rows, Works};
use super::{Found, crew_time, help, history, spans, waits};

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
    let fates = fates(shop, ids, plan, &rows, &steps, found);
    Works { steps, fates }
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

/// How often the plan lists a job as left out, and as later.
#[derive(Clone, Copy, Default)]
struct TimesListed {
    left_out: usize,
    later: usize,
}

impl TimesListed {
    fn any(self) -> bool {
        self.left_out + self.later > 0
    }

    /// W1: a job is listed once, and only where it is left out or later. `planned`: some step of it has a row.
    fn judge(self, shop: &Shop, job: JobId, planned: bool, found: &mut Found) {
        let facts = &shop.jobs[job];
        let mut say = |fact: OfJob| found.say(Rule::W1, fact);
        if self.left_out + self.later > 1 {
            say(OfJob::ListedTwice { job });
        }
        match (facts.later, self.later > 0) {
            (true, false) => say(OfJob::NotListedLater { job }),
            (false, true) => say(OfJob::ListedLater { job }),
            _ => {}
        }
        if facts.over() {
            if self.any() {
                say(OfJob::ListedAndOver { job });
            }
        } else if planned && self.any() {
            say(OfJob::ListedAndPlanned { job });
        } else if planned && facts.later {
            say(OfJob::LaterAndPlanned { job });
        }
    }
}

/// W1: every job is later, left out or done whole, and listed so once. `rows`: how many each step has, read or not.
fn fates(
    shop: &Shop,
    ids: &Ids,
    plan: &Plan,
    rows: &Table<StepId, usize>,
    steps: &Rows,
    found: &mut Found,
) -> Table<JobId, Fate> {
    let mut listed = Table::filled(shop.jobs.len(), TimesListed::default());
    for row in &plan.left_out {
        if let Some(job) = ids.job(&row.job, found) {
            listed[job].left_out += 1;
        }
    }
    for row in &plan.later {
        if let Some(job) = ids.job(&row.job, found) {
            listed[job].later += 1;
        }
    }
    let fate = |job: JobId| {
        let facts = &shop.jobs[job];
        let missing: Vec<StepId> = facts.step_ids().filter(|step| rows[*step] == 0).collect();
        let planned = missing.len() < facts.steps.len();
        listed[job].judge(shop, job, planned, found);
        if facts.over() {
            return Fate::Over;
        }
        if facts.later {
            return Fate::Later;
        }
        if listed[job].any() {
            return Fate::LeftOut;
        }
        if planned {
            for step in missing {
                found.say(Rule::W1, OfJob::WithoutStep { step });
            }
        } else {
            found.say(Rule::W1, OfJob::Neither { job });
        }
        done(shop, job, steps)
    };
    shop.jobs.ids().map(fate).collect()
}

/// From when to when a job is done that is neither later nor left out.
fn done(shop: &Shop, job: JobId, steps: &Rows) -> Fate {
    let facts = &shop.jobs[job];
    let span = |step: StepId| Some((steps[step].first()?.span?.0, steps[step].last()?.span?.1));
    let spans: Option<Vec<_>> = facts.step_ids().map(span).collect();
    let begun = facts.started.then_some(shop.now);
    let first = begun.or_else(|| spans.iter().flatten().map(|(start, _)| *start).min());
    let last = spans.iter().flatten().map(|(_, end)| *end).max();
    first.zip(last).map_or(Fate::LeftOut, |(start, end)| Fate::Done { start, end })
}
