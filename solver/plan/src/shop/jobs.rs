//! Jobs as a table: rules W1, C1, C2, and what history costs them.

use std::ops::Range;

use chrono::NaiveDate;
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_book::{Job, Step};

use super::history::{PastStep, past};
use super::lateness::{late_day, left_out, step_late};
use super::making::Making;
use super::names::printed;
use super::needs::{Need, ParkedNeed, Want};
use super::precedence::precedence;
use super::step_table::step_facts;
use super::steps::StepFacts;
use super::{CrewFacts, CrewId, Id, JobId, PlaceId, StepId, Table, UnitId};

/// A job.
#[derive(Clone, Debug, PartialEq)]
pub struct JobFacts {
    /// Its id in the book.
    pub id: String,
    /// Its printed name.
    pub name: String,
    /// Where.
    pub place: PlaceId,
    /// The indices of its steps, those done apart.
    pub steps: Range<usize>,
    /// Its steps that are done (N1).
    pub past: Vec<PastStep>,
    /// Whether a step of it is done or in progress: then it is never left out as long as some plan can end it (N1).
    pub started: bool,
    /// What its done steps cost once the job is done: C5's cents, C6, and C4 for own crews beyond the first. Of a job
    /// that is over, or later (C7 alone), all it costs.
    pub past_cost: Cents,
    /// Own crews that have done steps of it (C4).
    pub crews_before: Vec<CrewId>,
    /// Whether its `earliest`, or what it waits on itself, is after the horizon or has no date (W1, W14).
    pub later: bool,
    /// The date by whose end it should be done.
    pub due: Option<chrono::NaiveDate>,
    /// What being late costs when the job ends at each index (C1).
    pub late: Vec<Cents>,
    /// What leaving it out costs: C2, and C7 for its steps that the kept plan starts.
    pub left_out: Cents,
    /// Units parked from its first step's start, or from now where it has begun, to its last step's end (E3), or between
    /// two steps of it (E7).
    pub parked: Vec<ParkedNeed>,
    /// Whether a plan has a row for each parked need of it: some need gives a step from which or to which it is held (E7).
    pub parks_apart: bool,
    /// Why no plan of this horizon does it, where the book alone says so: it follows a later job, in the end.
    pub follows_later: Option<JobId>,
}

impl JobFacts {
    /// Whether there is something to plan of it: neither later nor over.
    pub fn planned(&self) -> bool {
        !self.later && !self.over()
    }
    /// Whether all its steps are done.
    pub fn over(&self) -> bool {
        self.steps.is_empty()
    }
    /// Its steps.
    pub fn step_ids(&self) -> impl DoubleEndedIterator<Item = StepId> + ExactSizeIterator + use<> {
        self.steps.clone().map(StepId::from_index)
    }
}

/// The jobs and their steps, those done apart.
pub(super) fn jobs(making: &Making) -> (Table<JobId, JobFacts>, Table<StepId, StepFacts>) {
    let mut first = 0;
    let mut jobs: Table<JobId, JobFacts> = Table::default();
    for job in &making.book.jobs {
        let open = job.steps.iter().filter(|step| step.done.is_none()).count();
        jobs.push(job_facts(making, job, first..first + open));
        first += open;
    }
    let precedence = precedence(making.book, making.horizon);
    let mut steps: Table<StepId, StepFacts> = Table::default();
    for (j, job) in making.book.jobs.iter().enumerate() {
        for (k, step) in job.steps.iter().enumerate().filter(|(_, step)| step.done.is_none()) {
            let mut facts = step_facts(making, job, step, (JobId::from_index(j), k));
            // What is in progress has started, whatever it comes after.
            if step.progress.is_none() {
                precedence.follow(&mut facts, job, k, making.horizon.len());
            }
            steps.push(facts);
        }
    }
    mark_followers_of_later(&mut jobs, &steps);
    (jobs, steps)
}

fn job_facts(making: &Making, job: &Job, steps: Range<usize>) -> JobFacts {
    let Making { book, horizon, calendar, crews, told, .. } = making;
    let started = job.steps.iter().any(Step::started);
    let past: Vec<PastStep> = job.steps.iter().filter_map(|step| past(step, crews)).collect();
    let open = job.steps.iter().filter(|step| step.done.is_none());
    let changed = |step: &Step| {
        let kept = told.kept(&job.id, &step.id, crews)?;
        // What is in progress is compared as the book has it, whether or not its job finds an end.
        let going = step.progress.as_ref().map(|going| (crews.find(|crew| crew.id == going.crew), going.start));
        Some(match going {
            Some((Some(crew), start)) => kept.change_to(crew, horizon.offset(start)),
            _ => kept.change,
        })
    };
    let changes: Cents = open.filter_map(changed).sum();
    let late_day = late_day(book, job);
    let late_on = |date| job.due.map_or(Cents::ZERO, |due| late_day * calendar.worked_dates(due, date));
    let (over, later) = (steps.is_empty(), !started && begins_later(job, horizon.last_date()));
    let past_cost = match (over, later) {
        (_, true) => changes,
        (true, _) => past_cost(making, job, &past) + over_cost(making, &past, late_on),
        _ => past_cost(making, job, &past),
    };
    JobFacts {
        id: job.id.clone(),
        name: printed(job.name.as_ref(), &job.id),
        place: PlaceId::from_index(book.places.iter().position(|place| place.id == job.place).unwrap_or(0)),
        parked: parked(making, job, steps.start),
        parks_apart: job.parks_apart(),
        steps,
        started,
        past_cost,
        crews_before: own_crews(&past, crews),
        past,
        later,
        due: job.due,
        late: (0..horizon.len()).map(|h| late_on(horizon.date(h))).collect(),
        left_out: left_out(making, job, late_day) + changes,
        follows_later: None,
    }
}

/// E3, E7: what is parked at a job whose steps begin with an id; of one that has begun the units that it holds now (N1).
fn parked(making: &Making, job: &Job, first: usize) -> Vec<ParkedNeed> {
    let started = job.steps.iter().any(Step::started);
    // Of a step that is done nothing waits any more.
    let step = |id: &Option<String>| {
        let of = job.steps.iter().position(|step| Some(&step.id) == id.as_ref())?;
        let open = job.steps[..of].iter().filter(|step| step.done.is_none()).count();
        Some(StepId::from_index(first + open))
    };
    let begun = |id: &Option<String>| {
        id.as_ref().is_none_or(|id| job.steps.iter().any(|step| step.id == *id && step.started()))
    };
    let mut all = Vec::new();
    for (listed, need) in job.parked.iter().enumerate() {
        let to = step(&need.to);
        let over =
            need.to.as_ref().is_some_and(|to| job.steps.iter().any(|step| step.id == *to && step.done.is_some()));
        if over {
            continue;
        }
        if !started || !begun(&need.from) {
            let from = step(&need.from);
            all.push(ParkedNeed { need: Need::of(making.kinds, &need.kind, need.count), listed, from, to });
        } else {
            let of = |unit: UnitId| Need { want: Want::Unit(unit), count: 1 };
            let units = making.told.units(&need.units).into_iter();
            all.extend(units.map(|unit| ParkedNeed { need: of(unit), listed, from: None, to }));
        }
    }
    all
}

/// W1, W14: whether the job itself says that nothing of it can be done up to a date.
fn begins_later(job: &Job, last: NaiveDate) -> bool {
    let waits = job.waits_on.iter().any(|wait| wait.expected.is_none_or(|date| date > last));
    waits || job.earliest.is_some_and(|date| date > last)
}

/// Own crews that have done steps, each once.
fn own_crews(past: &[PastStep], crews: &Table<CrewId, CrewFacts>) -> Vec<CrewId> {
    let mut own: Vec<CrewId> = past.iter().map(|step| step.crew).filter(|crew| crews[*crew].own).collect();
    own.sort_unstable();
    own.dedup();
    own
}

/// C1 of their own, C5's cents, C6, and C4 for own crews beyond the first, of done steps.
fn past_cost(making: &Making, job: &Job, past: &[PastStep]) -> Cents {
    let ends: i64 = past.iter().map(|step| making.horizon.offset(step.end).max(0)).sum();
    let beyond = own_crews(past, making.crews).len().saturating_sub(1);
    let done = job.steps.iter().filter_map(|step| Some((step, step.done.as_ref()?.end)));
    let late: Cents = done.map(|(step, end)| step_late(making, job, step, end.date())).sum();
    Cents(ends) + past.iter().map(|step| step.extra).sum() + making.book.prices.extra_crew * beyond as i64 + late
}

/// C1 and C5 of a job that is over.
fn over_cost(making: &Making, past: &[PastStep], late_on: impl Fn(NaiveDate) -> Cents) -> Cents {
    let Some(end): Option<HalfDay> = past.iter().map(|step| step.end).max() else { return Cents::ZERO };
    late_on(end.date()) + making.book.prices.wait_half_day * making.horizon.offset(end).max(0)
}

/// W6: a job with a step after a step of a later job, or of a job that follows one, cannot be done.
fn mark_followers_of_later(jobs: &mut Table<JobId, JobFacts>, steps: &Table<StepId, StepFacts>) {
    loop {
        let mut more = false;
        for job in jobs.ids() {
            if jobs[job].later || jobs[job].started || jobs[job].follows_later.is_some() {
                continue;
            }
            let follows = jobs[job]
                .step_ids()
                .flat_map(|step| &steps[step].after)
                .map(|link| steps[link.before].job)
                .find(|other| jobs[*other].later || jobs[*other].follows_later.is_some());
            more |= follows.is_some();
            jobs[job].follows_later = follows;
        }
        if !more {
            return;
        }
    }
}
