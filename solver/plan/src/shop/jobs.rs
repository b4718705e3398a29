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
use super::needs::{Need, ParkedNeed, ParkedUnit, Want};
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
    /// The indices of its steps to plan: neither done nor later. Of a later job all that are not done.
    pub steps: Range<usize>,
    /// Those of its steps that are later, where it is planned in part (W12): they have no runs, and come after nothing.
    pub later_steps: Range<usize>,
    /// Of one that may be planned in part: a step, by its position in the book, that would be later if it took one
    /// half-day more.
    pub barely: Option<usize>,
    /// Its steps that are done (N1).
    pub past: Vec<PastStep>,
    /// Whether a step of it is done or in progress: then it is never left out as long as some plan can end it (N1).
    pub started: bool,
    /// What its done steps cost once the job is done: C5's cents, C6, and C4 for own crews beyond the first; and C7 of
    /// those that are later. Of a job of which nothing is planned all it costs; of a later one that is C7 alone.
    pub past_cost: Cents,
    /// Own crews that have done steps of it (C4).
    pub crews_before: Vec<CrewId>,
    /// Whether its `earliest`, or what it waits on itself, is after the horizon or has no date (W1, W14), or all its steps
    /// are later (W12).
    pub later: bool,
    /// The date by whose end it should be done; none of one planned in part.
    pub due: Option<chrono::NaiveDate>,
    /// What being late costs when the job ends at each index (C1); nothing of one planned in part.
    pub late: Vec<Cents>,
    /// What leaving it out costs: C2, and C7 for its steps that the kept plan starts.
    pub left_out: Cents,
    /// Units parked from its first step's start, or from now where it has begun, to its last step's end (E3), or between
    /// two steps of it, or, where what ends that is later, to the horizon's (E7).
    pub parked: Vec<ParkedNeed>,
    /// Whether a plan has a row for each parked need of it: some need gives a step from which or to which it is held (E7).
    pub parks_apart: bool,
    /// Why no plan of this horizon does it, where the book alone says so: it follows a later job or step, in the end.
    pub follows_later: Option<JobId>,
}

impl JobFacts {
    /// Whether there is something to plan of it.
    pub fn planned(&self) -> bool {
        !self.later && !self.steps.is_empty()
    }
    /// Whether all its steps are done.
    pub fn over(&self) -> bool {
        self.steps.is_empty() && !self.in_part()
    }
    /// Whether it is planned in part, where it is done: some of its steps are later (W12).
    pub fn in_part(&self) -> bool {
        !self.later_steps.is_empty()
    }
    /// Whether it has begun, and all that is left of it is later: it holds what is parked, and nothing is planned.
    pub fn rests(&self) -> bool {
        self.steps.is_empty() && self.in_part()
    }
    /// The units parked by name, as of a job that has begun.
    pub fn parked_units(&self) -> Vec<ParkedUnit> {
        let unit = |(need, of): (usize, &ParkedNeed)| match of.need.want {
            Want::Unit(unit) => Some(ParkedUnit { need, unit }),
            _ => None,
        };
        self.parked.iter().enumerate().filter_map(unit).collect()
    }
    /// Its steps that are later, where it is planned in part.
    pub fn later_ids(&self) -> impl DoubleEndedIterator<Item = StepId> + ExactSizeIterator + use<> {
        self.later_steps.clone().map(StepId::from_index)
    }
    /// Its steps to plan.
    pub fn step_ids(&self) -> impl DoubleEndedIterator<Item = StepId> + ExactSizeIterator + use<> {
        self.steps.clone().map(StepId::from_index)
    }
}

/// The jobs and their steps, those done apart.
pub(super) fn jobs(making: &Making) -> (Table<JobId, JobFacts>, Table<StepId, StepFacts>) {
    let mut next = 0;
    let mut jobs: Table<JobId, JobFacts> = Table::default();
    let mut listed: Vec<(usize, usize)> = Vec::new();
    for (j, job) in making.book.jobs.iter().enumerate() {
        let open = (0..job.steps.len()).filter(|k| job.steps[*k].done.is_none());
        let (later, planned): (Vec<usize>, Vec<usize>) = open.partition(|k| making.later.steps.contains(&(j, *k)));
        let (first, beyond) = (next, next + planned.len());
        next = beyond + later.len();
        jobs.push(job_facts(making, j, first..beyond, beyond..next));
        listed.extend(planned.into_iter().chain(later).map(|k| (j, k)));
    }
    let precedence = precedence(making, &listed);
    let mut steps: Table<StepId, StepFacts> = Table::default();
    for (j, k) in listed {
        let job = &making.book.jobs[j];
        let mut facts = step_facts(making, job, &job.steps[k], (JobId::from_index(j), k));
        // What is in progress has started, whatever it comes after; of what is later nothing is planned.
        if job.steps[k].progress.is_none() && !making.later.steps.contains(&(j, k)) {
            precedence.follow(&mut facts, job, k, making.horizon.len());
        }
        steps.push(facts);
    }
    mark_followers_of_later(&mut jobs, &steps);
    (jobs, steps)
}

fn job_facts(making: &Making, j: usize, steps: Range<usize>, later_steps: Range<usize>) -> JobFacts {
    let Making { book, horizon, calendar, crews, teams, told, .. } = making;
    let job = &book.jobs[j];
    let started = job.steps.iter().any(Step::started);
    let past: Vec<PastStep> = job.steps.iter().filter_map(|step| past(step, crews)).collect();
    let changed = |step: &Step| {
        let kept = told.kept(&job.id, &step.id, (crews, teams))?;
        // What is in progress is compared as the book has it, whether or not its job finds an end.
        let going = step.progress.as_ref().map(|going| (teams.named(crews, &going.crew, &going.with), going.start));
        Some(match going {
            Some((Some(team), start)) => kept.change_to(team, horizon.offset(start)),
            _ => kept.change,
        })
    };
    let open = |later: &dyn Fn(usize) -> bool| {
        let open = job.steps.iter().enumerate().filter(|(k, step)| step.done.is_none() && later(*k));
        open.filter_map(|(_, step)| changed(step)).sum::<Cents>()
    };
    let changes = open(&|_| true);
    let dropped = open(&|k| making.later.steps.contains(&(j, k)));
    let late_day = late_day(book, job);
    // One that is planned in part does not end in these weeks (W12).
    let due = job.due.filter(|_| later_steps.is_empty());
    let late_on = |date| due.map_or(Cents::ZERO, |due| late_day * calendar.worked_dates(due, date));
    let later = making.later.jobs.contains(&j) || !started && begins_later(job, horizon.last_date());
    let past_cost = match (steps.is_empty(), later) {
        (_, true) => changes,
        (true, _) => past_cost(making, job, &past) + over_cost(making, &past, late_on) + dropped,
        _ => past_cost(making, job, &past) + dropped,
    };
    JobFacts {
        id: job.id.clone(),
        name: printed(job.name.as_ref(), &job.id),
        place: PlaceId::from_index(book.places.iter().position(|place| place.id == job.place).unwrap_or(0)),
        parked: parked(making, j, steps.start, !later_steps.is_empty()),
        parks_apart: job.parks_apart(),
        steps,
        later_steps,
        barely: making.later.barely.iter().find(|(of, _)| *of == j).map(|(_, k)| *k),
        started,
        past_cost,
        crews_before: own_crews(&past, crews),
        past,
        later,
        due,
        late: (0..horizon.len()).map(|h| late_on(horizon.date(h))).collect(),
        left_out: left_out(making, job, late_day) + changes,
        follows_later: None,
    }
}

/// E3, E7: what is parked at a job whose steps begin with an id; of one that has begun the units that it holds now (N1).
/// What a later step begins is not held, and what one ends is held to the horizon's end.
fn parked(making: &Making, j: usize, first: usize, in_part: bool) -> Vec<ParkedNeed> {
    let job = &making.book.jobs[j];
    let started = job.steps.iter().any(Step::started);
    let at = |id: &Option<String>| job.steps.iter().position(|step| Some(&step.id) == id.as_ref());
    let later = |k: usize| making.later.steps.contains(&(j, k));
    // Of a step that is done nothing waits any more.
    let to_plan = |k: usize| {
        let before = job.steps[..k].iter().enumerate().filter(|(k, step)| step.done.is_none() && !later(*k));
        StepId::from_index(first + before.count())
    };
    let mut all = Vec::new();
    for (listed, need) in job.parked.iter().enumerate() {
        let (from, to) = (at(&need.from), at(&need.to));
        if to.is_some_and(|to| job.steps[to].done.is_some()) || from.is_some_and(later) {
            continue;
        }
        let held = |of: Need, from: Option<usize>| ParkedNeed {
            need: of,
            listed,
            from: from.map(to_plan),
            to: to.filter(|to| !later(*to)).map(to_plan),
            on: to.map_or(in_part, later),
        };
        if !started || from.is_some_and(|from| !job.steps[from].started()) {
            all.push(held(Need::of(making.kinds, &need.kind, need.count), from));
        } else {
            let of = |unit: UnitId| Need { want: Want::Unit(unit), count: 1 };
            let units = making.told.units(&need.units).into_iter();
            all.extend(units.map(|unit| held(of(unit), None)));
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

/// W6, W12: a job with a step after a step of a later job, or after a later step, or of a job that follows one, cannot be
/// done.
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
                .map(|link| (link.before.index(), steps[link.before].job))
                .find(|(step, other)| {
                    let other = &jobs[*other];
                    other.later || other.later_steps.contains(step) || other.follows_later.is_some()
                })
                .map(|(_, other)| other);
            more |= follows.is_some();
            jobs[job].follows_later = follows;
        }
        if !more {
            return;
        }
    }
}
