//! Steps as a table: what the book says of each, by half-day.

use chrono::NaiveDate;
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_book::{Job, Step, USUAL};

use super::amount::Amount;
use super::lateness::step_late;
use super::making::Making;
use super::names::printed;
use super::needs::Need;
use super::steps::{Fixed, StepFacts, Waited, WayFacts};
use super::{CrewId, JobId};

/// A step that is not done, as number `listed` of its job's in the book; what it comes after is not in it yet.
pub(super) fn step_facts(making: &Making, job: &Job, step: &Step, (job_id, listed): (JobId, usize)) -> StepFacts {
    let Making { horizon, crews, teams, told, .. } = making;
    let going = told.going(job, step);
    let ways = ways(making, step);
    let fixed = fixed(making, step, &ways);
    let goes_on_by = step.progress.as_ref().map(|going| teams.named(crews, &going.crew, &going.with));
    let early = [job.earliest, step.earliest].into_iter().flatten().map(|date| making.am_of(date)).max().unwrap_or(0);
    let waited = waited(making, job, step);
    // A stop is no span (W16).
    let going_way = step.progress.as_ref().and_then(|progress| step.way(progress.way.as_deref()));
    let going_stop = going_way.is_some_and(|way| step.stop(way).is_some());
    // What has begun has started, whatever it waits on.
    let (start_from, start_before) = match waited {
        Some(waited) if going.is_none() => (waited.until, if waited.undated { 0 } else { horizon.len() }),
        _ => (0, horizon.len()),
    };
    let late = step
        .due
        .map_or_else(Vec::new, |_| (0..horizon.len()).map(|h| step_late(making, job, step, horizon.date(h))).collect());
    StepFacts {
        id: step.id.clone(),
        name: printed(step.name.as_ref(), &step.id),
        job: job_id,
        skill: step.skill.clone(),
        teams: goes_on_by.map_or_else(|| teams.of_step(crews, step), |team| team.into_iter().collect()),
        after: Vec::new(),
        start_from,
        start_before,
        waited,
        late,
        told: if going.is_some() { Vec::new() } else { missed(making, step) },
        listed,
        kept: told.kept(&job.id, &step.id, (crews, teams)),
        paused: told.paused(job, step),
        going,
        max_people: step.max_people,
        access: access(making, job, step, early),
        early,
        outside: step.outside,
        dry: step.dry,
        max_gust_mph: step.max_gust_mph,
        min_low_f: step.min_low_f,
        max_high_f: step.max_high_f,
        fixed,
        ways,
        may_split: step.may_split && !going_stop,
        rests: Vec::new(),
        runs: Vec::new(),
    }
}

impl Making<'_> {
    /// The index of a date's am, cut to the horizon.
    fn am_of(&self, date: NaiveDate) -> usize {
        self.horizon.offset(HalfDay::am(date)).clamp(0, self.horizon.len() as i64) as usize
    }
}

/// W2: where job and step give access.
fn access(making: &Making, job: &Job, step: &Step, early: usize) -> Vec<bool> {
    let mut access = vec![true; making.horizon.len()];
    for when in job.no_access.iter().chain(&step.no_access) {
        when.each(making.horizon, |h| access[h] = false);
    }
    access[..early].fill(false);
    access
}

/// W14: until when the step and its job wait on others; `None`: on nothing.
fn waited(making: &Making, job: &Job, step: &Step) -> Option<Waited> {
    let all: Vec<_> =
        job.waits_on.iter().map(|wait| wait.expected).chain(step.waits().map(|wait| wait.expected)).collect();
    let until = all.iter().copied().flatten().max().map_or(0, |date| making.am_of(date));
    all.first().map(|_| Waited { until, undated: all.contains(&None) })
}

/// C10 by start: what it costs to start outside the dates that somebody was told; empty where nobody was.
fn missed(making: &Making, step: &Step) -> Vec<Cents> {
    let Some(told) = &step.told else { return Vec::new() };
    let day = told.day.unwrap_or(making.book.prices.told_day);
    // Worked dates d with `a` <= d < `b`.
    let between = |a: NaiveDate, b: NaiveDate| match (a.pred_opt(), b.pred_opt()) {
        (Some(a), Some(b)) => making.calendar.worked_dates(a, b),
        _ => 0,
    };
    let missed = |start| making.calendar.worked_dates(told.to, start) + between(start, told.from);
    (0..making.horizon.len()).map(|h| day * missed(making.horizon.date(h))).collect()
}

/// The ways, and after them each once more in overtime, where there is any (W9). What is left of a step in progress is
/// the amount of its way.
fn ways(making: &Making, step: &Step) -> Vec<WayFacts> {
    let needs = |needs: &[yardless_book::Need]| Need::of_way(making.kinds, needs);
    let mut ways = match &step.ways {
        None => vec![WayFacts {
            id: USUAL.to_owned(),
            amount: Amount::of(step.half_days, step.labor_hours),
            stop: step.hours.is_some(),
            load: making.half_day_load.of(making.book, step.hours),
            needs: needs(&step.needs),
            power: step.power(0) as usize,
            help: step.help(0) as usize,
            min_people: step.min_people,
            extra: Cents::ZERO,
            overtime: false,
            base: 0,
        }],
        Some(ways) => ways
            .iter()
            .enumerate()
            .map(|(base, way)| WayFacts {
                id: way.id.clone(),
                amount: Amount::of(way.half_days, way.labor_hours),
                stop: way.hours.is_some(),
                load: making.half_day_load.of(making.book, way.hours),
                needs: needs(&way.needs),
                power: step.power(base) as usize,
                help: step.help(base) as usize,
                min_people: way.min_people.or(step.min_people),
                extra: way.extra,
                overtime: false,
                base,
            })
            .collect(),
    };
    if let Some(progress) = &step.progress {
        for (_, way) in ways.iter_mut().enumerate().filter(|(n, _)| step.stop(*n).is_none()) {
            way.amount = way.amount.left(progress.left);
        }
    }
    if making.told.overtime() {
        let again: Vec<WayFacts> = ways.iter().map(|way| WayFacts { overtime: true, ..way.clone() }).collect();
        ways.extend(again);
    }
    ways
}

/// W8; one in progress goes on as it began (N1).
fn fixed(making: &Making, step: &Step, ways: &[WayFacts]) -> Fixed {
    let by = |id: &String| -> Option<CrewId> { making.crews.find(|crew| crew.id == *id) };
    if let Some(progress) = &step.progress {
        return Fixed { crew: by(&progress.crew), start: None, way: step.way(progress.way.as_deref()) };
    }
    let fixed = step.fixed.as_ref();
    Fixed {
        crew: fixed.and_then(|f| f.crew.as_ref()).and_then(by),
        start: fixed.and_then(|f| f.start),
        way: fixed.and_then(|f| f.way.as_ref()).and_then(|id| ways.iter().position(|way| way.id == *id)),
    }
}
