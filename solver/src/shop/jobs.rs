//! Jobs and their steps as tables: rules W1, W6, C1, C2.

use std::collections::HashMap;
use std::ops::Range;

use super::calendar::{Calendar, positions};
use super::work::{Amount, Fixed, Need, StepFacts, Want, WayFacts};
use super::{CrewFacts, CrewId, Id, JobId, KindFacts, KindId, PlaceId, StepId, Table};
use crate::book::{self, Book, USUAL};
use crate::half_day::{HalfDay, Horizon};
use crate::money::Cents;

/// A job.
#[derive(Clone, Debug, PartialEq)]
pub struct JobFacts {
    /// Its id in the book.
    pub id: String,
    /// Its printed name.
    pub name: String,
    /// Where.
    pub place: PlaceId,
    /// The indices of its steps.
    pub steps: Range<usize>,
    /// Whether its `earliest` is after the horizon (W1).
    pub later: bool,
    /// The date by whose end it should be done.
    pub due: Option<chrono::NaiveDate>,
    /// What being late costs when the job ends at each index (C1).
    pub late: Vec<Cents>,
    /// What leaving it out costs (C2).
    pub left_out: Cents,
    /// Units parked from its first step's start to its last step's end (E3).
    pub parked: Vec<Need>,
    /// Why no plan of this horizon does it, where the book alone says so: it follows a later job, in the end.
    pub follows_later: Option<JobId>,
}

impl JobFacts {
    /// Its steps.
    pub fn step_ids(&self) -> impl DoubleEndedIterator<Item = StepId> + ExactSizeIterator + use<> {
        self.steps.clone().map(StepId::from_index)
    }
}

/// A step that comes before another (W6).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Link {
    /// The step before.
    pub before: StepId,
    /// Half-days that must pass after its end.
    pub wait: usize,
    /// Half-days that may pass after its end.
    pub within: Option<usize>,
}

pub(super) fn jobs(
    book: &Book,
    horizon: Horizon,
    calendar: &Calendar,
    kinds: &Table<KindId, KindFacts>,
    crews: &Table<CrewId, CrewFacts>,
) -> (Table<JobId, JobFacts>, Table<StepId, StepFacts>) {
    let place_of = positions(book.places.iter().map(|place| place.id.as_str()));
    let mut first = 0;
    let mut jobs: Table<JobId, JobFacts> = Table::default();
    let mut names: HashMap<(&str, &str), StepId> = HashMap::new();
    for job in &book.jobs {
        for (k, step) in job.steps.iter().enumerate() {
            names.insert((&job.id, &step.id), StepId::from_index(first + k));
        }
        let late_day = job.late_day.unwrap_or(book.prices.late_day);
        let late_on = |date| job.due.map_or(Cents::ZERO, |due| late_day * calendar.worked_dates(due, date));
        jobs.push(JobFacts {
            id: job.id.clone(),
            name: job.name.clone().unwrap_or_else(|| job.id.clone()),
            place: PlaceId::from_index(place_of[job.place.as_str()]),
            steps: first..first + job.steps.len(),
            later: job.earliest.is_some_and(|date| date > horizon.last_date()),
            due: job.due,
            late: (0..horizon.len()).map(|h| late_on(horizon.date(h))).collect(),
            left_out: job.left_out.unwrap_or_else(|| match job.due {
                Some(due) if due <= horizon.last_date() => {
                    late_day * (20 + calendar.worked_dates(due, horizon.last_date()))
                }
                _ => late_day * 5,
            }),
            parked: job.parked.iter().map(|parked| need(kinds, &parked.kind, parked.count)).collect(),
            follows_later: None,
        });
        first += job.steps.len();
    }
    let mut steps: Table<StepId, StepFacts> = Table::default();
    for (j, job) in book.jobs.iter().enumerate() {
        for (k, step) in job.steps.iter().enumerate() {
            let after = match &step.after {
                None if k == 0 => Vec::new(),
                None => vec![Link {
                    before: names[&(job.id.as_str(), job.steps[k - 1].id.as_str())],
                    wait: 0,
                    within: None,
                }],
                Some(after) => after
                    .iter()
                    .map(|after| {
                        let link = after.link();
                        Link {
                            before: names[&(link.job.unwrap_or(&job.id), link.step)],
                            wait: link.wait as usize,
                            within: link.within.map(|n| n as usize),
                        }
                    })
                    .collect(),
            };
            steps.push(step_facts(job, step, JobId::from_index(j), after, horizon, kinds, crews));
        }
    }
    mark_followers_of_later(&mut jobs, &steps);
    (jobs, steps)
}

fn step_facts(
    job: &book::Job,
    step: &book::Step,
    job_id: JobId,
    after: Vec<Link>,
    horizon: Horizon,
    kinds: &Table<KindId, KindFacts>,
    crews: &Table<CrewId, CrewFacts>,
) -> StepFacts {
    let least = step.min_people.unwrap_or(1);
    let needs = |needs: &[book::Need]| needs.iter().map(|n| need(kinds, &n.kind, n.count)).collect();
    let ways = match &step.ways {
        None => vec![WayFacts {
            id: USUAL.to_owned(),
            amount: Amount::of(step.half_days, step.labor_hours),
            needs: needs(&step.needs),
            min_people: least,
            extra: Cents::ZERO,
        }],
        Some(ways) => ways
            .iter()
            .map(|way| WayFacts {
                id: way.id.clone(),
                amount: Amount::of(way.half_days, way.labor_hours),
                needs: needs(&way.needs),
                min_people: way.min_people.unwrap_or(least),
                extra: way.extra,
            })
            .collect(),
    };
    let mut access = vec![true; horizon.len()];
    for range in job.no_access.iter().chain(&step.no_access) {
        access[horizon.indices(*range)].fill(false);
    }
    let open_from = |date: Option<chrono::NaiveDate>| {
        date.map_or(0, |date| horizon.offset(HalfDay::am(date)).clamp(0, horizon.len() as i64) as usize)
    };
    access[..open_from(job.earliest).max(open_from(step.earliest))].fill(false);
    let fixed = step.fixed.as_ref();
    StepFacts {
        id: step.id.clone(),
        name: step.name.clone().unwrap_or_else(|| step.id.clone()),
        job: job_id,
        skill: step.skill.clone(),
        crews: crews.ids().filter(|crew| crews[*crew].skills.contains(&step.skill)).collect(),
        after,
        max_people: step.max_people,
        access,
        early: open_from(job.earliest).max(open_from(step.earliest)),
        outside: step.outside,
        dry: step.dry,
        max_gust_mph: step.max_gust_mph,
        min_low_f: step.min_low_f,
        needs_power: step.needs_power,
        fixed: Fixed {
            crew: fixed.and_then(|f| f.crew.as_ref()).and_then(|id| crews.find(|crew| crew.id == *id)),
            start: fixed.and_then(|f| f.start),
            way: fixed.and_then(|f| f.way.as_ref()).and_then(|id| ways.iter().position(|way| way.id == *id)),
        },
        ways,
        runs: Vec::new(),
    }
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
            if jobs[job].later || jobs[job].follows_later.is_some() {
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
