//! Jobs and their steps as tables: rules W1, W6, C1, C2.

use std::collections::HashMap;
use std::ops::Range;

use chrono::NaiveDate;
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_book::money::Cents;
use yardless_book::{Book, USUAL};

use super::amount::Amount;
use super::calendar::{Calendar, positions};
use super::history::{BookHistory, PastStep, past};
use super::names::printed;
use super::needs::{Need, Want};
use super::steps::{Fixed, Link, StepFacts, WayFacts};
use super::{CrewFacts, CrewId, Id, JobId, KindFacts, KindId, PlaceId, StepId, Table, UnitId};

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
    /// Whether its `earliest` is after the horizon (W1).
    pub later: bool,
    /// The date by whose end it should be done.
    pub due: Option<chrono::NaiveDate>,
    /// What being late costs when the job ends at each index (C1).
    pub late: Vec<Cents>,
    /// What leaving it out costs: C2, and C7 for its steps that the kept plan starts.
    pub left_out: Cents,
    /// Units parked from its first step's start, or from now where it has begun, to its last step's end (E3).
    pub parked: Vec<Need>,
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

pub(super) fn jobs(
    book: &Book,
    horizon: Horizon,
    calendar: &Calendar,
    kinds: &Table<KindId, KindFacts>,
    crews: &Table<CrewId, CrewFacts>,
    told: &BookHistory<'_>,
) -> (Table<JobId, JobFacts>, Table<StepId, StepFacts>) {
    let place_of = positions(book.places.iter().map(|place| place.id.as_str()));
    let mut first = 0;
    let mut jobs: Table<JobId, JobFacts> = Table::default();
    let mut names: HashMap<(&str, &str), Before> = HashMap::new();
    for job in &book.jobs {
        let begin = first;
        for step in &job.steps {
            let before = if let Some(done) = &step.done {
                Before::Done(horizon.offset(done.end))
            } else {
                first += 1;
                Before::Open(StepId::from_index(first - 1))
            };
            names.insert((&job.id, &step.id), before);
        }
        let started = job.steps.iter().any(yardless_book::Step::started);
        let past: Vec<PastStep> = job.steps.iter().filter_map(|step| past(step, crews)).collect();
        let open = job.steps.iter().filter(|step| step.done.is_none());
        let changes: Cents = open.filter_map(|step| told.kept(&job.id, &step.id, crews)).map(|kept| kept.change).sum();
        let late_day = job.late_day.unwrap_or(book.prices.late_day);
        let late_on = |date| job.due.map_or(Cents::ZERO, |due| late_day * calendar.worked_dates(due, date));
        let (over, later) = (begin == first, !started && job.earliest.is_some_and(|date| date > horizon.last_date()));
        let past_cost = match (over, later) {
            (_, true) => changes,
            (true, _) => past_cost(book, &past, crews, horizon) + over_cost(book, &past, horizon, late_on),
            _ => past_cost(book, &past, crews, horizon),
        };
        jobs.push(JobFacts {
            id: job.id.clone(),
            name: printed(job.name.as_ref(), &job.id),
            place: PlaceId::from_index(place_of[job.place.as_str()]),
            steps: begin..first,
            started,
            past_cost,
            crews_before: own_crews(&past, crews),
            past,
            later,
            due: job.due,
            late: (0..horizon.len()).map(|h| late_on(horizon.date(h))).collect(),
            left_out: job.left_out.unwrap_or_else(|| match job.due {
                Some(due) if due <= horizon.last_date() => {
                    late_day * (20 + calendar.worked_dates(due, horizon.last_date()))
                }
                _ => late_day * 5,
            }) + changes,
            parked: if started {
                let unit = |unit: UnitId| Need { want: Want::Unit(unit), count: 1 };
                job.parked.iter().flat_map(|parked| told.units(&parked.units)).map(unit).collect()
            } else {
                job.parked.iter().map(|parked| need(kinds, &parked.kind, parked.count)).collect()
            },
            follows_later: None,
        });
    }
    let mut steps: Table<StepId, StepFacts> = Table::default();
    for (j, job) in book.jobs.iter().enumerate() {
        for (k, step) in job.steps.iter().enumerate().filter(|(_, step)| step.done.is_none()) {
            let before = |job: &str, step: &str, wait, within| (names[&(job, step)], wait, within);
            let after = match &step.after {
                // What is in progress has started, whatever it comes after.
                _ if step.progress.is_some() => Vec::new(),
                None if k == 0 => Vec::new(),
                None => vec![before(&job.id, &job.steps[k - 1].id, 0, None)],
                Some(after) => after
                    .iter()
                    .map(|after| {
                        let link = after.link();
                        let within = link.within.map(|n| n as usize);
                        before(link.job.unwrap_or(&job.id), link.step, link.wait as usize, within)
                    })
                    .collect(),
            };
            let mut facts = step_facts(job, step, (JobId::from_index(j), k), horizon, kinds, crews, told);
            for (before, wait, within) in after {
                facts.follow(before, wait, within, horizon.len());
            }
            steps.push(facts);
        }
    }
    mark_followers_of_later(&mut jobs, &steps);
    (jobs, steps)
}

/// A step before another: still to be planned, or done, with the index of its end.
#[derive(Clone, Copy)]
enum Before {
    Open(StepId),
    Done(i64),
}

impl StepFacts {
    /// W6: what comes after a done step may start between two half-days.
    fn follow(&mut self, before: Before, wait: usize, within: Option<usize>, len: usize) {
        match before {
            Before::Open(before) => self.after.push(Link { before, wait, within }),
            Before::Done(end) => {
                let index = |half_day: i64| half_day.clamp(0, len as i64) as usize;
                self.start_from = self.start_from.max(index(end + 1 + wait as i64));
                if let Some(within) = within {
                    // One past the half-days in which it may start.
                    self.start_before = self.start_before.min(index(end + 2 + within as i64));
                }
            }
        }
    }
}

/// Own crews that have done steps, each once.
fn own_crews(past: &[PastStep], crews: &Table<CrewId, CrewFacts>) -> Vec<CrewId> {
    let mut own: Vec<CrewId> = past.iter().map(|step| step.crew).filter(|crew| crews[*crew].own).collect();
    own.sort_unstable();
    own.dedup();
    own
}

/// C5's cents, C6, and C4 for own crews beyond the first, of done steps.
fn past_cost(book: &Book, past: &[PastStep], crews: &Table<CrewId, CrewFacts>, horizon: Horizon) -> Cents {
    let ends: i64 = past.iter().map(|step| horizon.offset(step.end).max(0)).sum();
    let beyond = own_crews(past, crews).len().saturating_sub(1);
    Cents(ends) + past.iter().map(|step| step.extra).sum() + book.prices.extra_crew * beyond as i64
}

/// C1 and C5 of a job that is over.
fn over_cost(book: &Book, past: &[PastStep], horizon: Horizon, late_on: impl Fn(NaiveDate) -> Cents) -> Cents {
    let Some(end) = past.iter().map(|step| step.end).max() else { return Cents::ZERO };
    late_on(end.date()) + book.prices.wait_half_day * horizon.offset(end).max(0)
}

fn step_facts(
    job: &yardless_book::Job,
    step: &yardless_book::Step,
    (job_id, listed): (JobId, usize),
    horizon: Horizon,
    kinds: &Table<KindId, KindFacts>,
    crews: &Table<CrewId, CrewFacts>,
    told: &BookHistory<'_>,
) -> StepFacts {
    let least = step.min_people.unwrap_or(1);
    let needs = |needs: &[yardless_book::Need]| needs.iter().map(|n| need(kinds, &n.kind, n.count)).collect();
    let ways = match &step.ways {
        None => vec![WayFacts {
            id: USUAL.to_owned(),
            amount: Amount::of(step.half_days, step.labor_hours),
            needs: needs(&step.needs),
            min_people: least,
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
                needs: needs(&way.needs),
                min_people: way.min_people.unwrap_or(least),
                extra: way.extra,
                overtime: false,
                base,
            })
            .collect(),
    };
    let (going, fixed) = (told.going(job, step), step.fixed.as_ref());
    let ways = with_overtime(ways, step, told);
    let mut access = vec![true; horizon.len()];
    for range in job.no_access.iter().chain(&step.no_access) {
        access[horizon.indices(*range)].fill(false);
    }
    let open_from = |date: Option<chrono::NaiveDate>| {
        date.map_or(0, |date| horizon.offset(HalfDay::am(date)).clamp(0, horizon.len() as i64) as usize)
    };
    access[..open_from(job.earliest).max(open_from(step.earliest))].fill(false);
    let by = |id: &String| crews.find(|crew| crew.id == *id);
    let skilled = || crews.ids().filter(|crew| crews[*crew].skills.contains(&step.skill)).collect();
    let fixed = match &step.progress {
        Some(progress) => Fixed { crew: by(&progress.crew), start: None, way: step.way(progress.way.as_deref()) },
        None => Fixed {
            crew: fixed.and_then(|f| f.crew.as_ref()).and_then(by),
            start: fixed.and_then(|f| f.start),
            way: fixed.and_then(|f| f.way.as_ref()).and_then(|id| ways.iter().position(|way| way.id == *id)),
        },
    };
    StepFacts {
        id: step.id.clone(),
        name: printed(step.name.as_ref(), &step.id),
        job: job_id,
        skill: step.skill.clone(),
        crews: if going.is_some() { fixed.crew.into_iter().collect() } else { skilled() },
        after: Vec::new(),
        start_from: 0,
        start_before: horizon.len(),
        listed,
        kept: told.kept(&job.id, &step.id, crews),
        paused: told.paused(job, step),
        going,
        max_people: step.max_people,
        access,
        early: open_from(job.earliest).max(open_from(step.earliest)),
        outside: step.outside,
        dry: step.dry,
        max_gust_mph: step.max_gust_mph,
        min_low_f: step.min_low_f,
        needs_power: step.needs_power,
        fixed,
        ways,
        may_split: step.may_split,
        rests: Vec::new(),
        runs: Vec::new(),
    }
}

/// The ways, and after them each once more in overtime, where there is any (W9). What is left of a step in progress is
/// the amount of its way.
fn with_overtime(mut ways: Vec<WayFacts>, step: &yardless_book::Step, told: &BookHistory<'_>) -> Vec<WayFacts> {
    if let Some(progress) = &step.progress {
        for way in &mut ways {
            way.amount = way.amount.left(progress.left);
        }
    }
    if told.overtime() {
        let again: Vec<WayFacts> = ways.iter().map(|way| WayFacts { overtime: true, ..way.clone() }).collect();
        ways.extend(again);
    }
    ways
}

fn need(kinds: &Table<KindId, KindFacts>, id: &str, count: u32) -> Need {
    let kind = kinds.find(|kind| kind.id == id).unwrap_or_else(|| KindId::from_index(0));
    Need { want: Want::Kind(kind), count: count as usize }
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
