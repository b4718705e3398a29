//! The course of a plan: what each crew, unit and truck does in each half-day, by the shop's ids.

use yardless_answer::{changes, other_hauls};
use yardless_plan::shop::{CrewId, JobId, Obstacle, Part, PlaceId, Shop, StepId, Table, Team, UnitId};
use yardless_plan::{Plan, StepRow, parked_rows};

use super::obstacle::mark;
use super::trip::{TripMark, trips};
use super::words::{short_crew, the_rest, together};

pub use super::trip::Trip;

/// A plan laid out over its half-days. Rows that name what the book does not know are passed over: the checker tells of them.
pub struct Course<'a> {
    /// The book made ready.
    pub shop: &'a Shop,
    /// The plan.
    pub plan: &'a Plan,
    /// The steps done, in the order of their start.
    pub works: Vec<Work>,
    /// The hauls, in the order of time.
    pub trips: Vec<Trip>,
    /// Where the plan is laid beside a kept one: what that does and this does not any more.
    pub dropped: Dropped,
    /// When each unit is held, and by what, in the order of time.
    pub holds: Table<UnitId, Vec<Occupancy>>,
    /// Where each unit is, by half-day index.
    pub standing: Table<UnitId, Vec<At>>,
}

/// What a kept plan does and the new one does not.
#[derive(Debug, Default)]
pub struct Dropped {
    /// The steps, in the order of their start.
    pub works: Vec<Work>,
    /// The hauls, in the order of time.
    pub trips: Vec<Trip>,
}

/// How a row stands to the kept plan, where it is not as told there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Novelty {
    /// Told otherwise: when, by whom or in which way.
    Moved,
    /// Not told.
    New,
}

/// A step done.
#[derive(Clone, Debug)]
pub struct Work {
    /// Its job.
    pub job: JobId,
    /// The step.
    pub step: StepId,
    /// All of it, or the span before it is left, or the one after (W10).
    pub part: Part,
    /// The way, by its position.
    pub way: usize,
    /// The crew, and those that help it.
    pub team: Team,
    /// Index of the first worked half-day.
    pub start: usize,
    /// Index of the last worked half-day.
    pub end: usize,
    /// The units it holds.
    pub units: Vec<UnitId>,
    /// How it stands to the kept plan; `None`: as told, or nothing is laid beside it.
    pub mark: Option<Novelty>,
    /// Whether something that does not hold any more is about it.
    pub broken: bool,
}

/// A unit held at a job.
#[derive(Clone, Copy, Debug)]
pub struct Occupancy {
    /// Index of the first half-day.
    pub first: usize,
    /// Index of the last half-day.
    pub last: usize,
    /// The job.
    pub job: JobId,
    /// The step; `None`: parked at the job.
    pub step: Option<StepId>,
    /// Whether it is held as long as the step, or the whole job, lasts; else from one step of the job to another (E7).
    pub whole: bool,
}

/// Where a unit is in a half-day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum At {
    /// At a place.
    Place(PlaceId),
    /// On the road to a place.
    Road(PlaceId),
}

/// What a unit does in a half-day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnitState {
    /// It is held for the work.
    Held,
    /// It waits.
    Waits,
    /// It is out of service.
    Out,
    /// It is all the half-day on the road.
    Road,
}

impl Work {
    /// The step's name, and which part of it this is where it is left and come back to.
    pub fn name(&self, shop: &Shop) -> String {
        let name = &shop.steps[self.step].name;
        match self.part {
            Part::First => format!("{name}, begun"),
            Part::Second => the_rest(name),
            Part::Whole | Part::LetGo => name.clone(),
        }
    }

    /// Whether it is what its crew comes back to.
    pub fn rest(&self) -> bool {
        self.part == Part::Second
    }

    /// Whether the crew works on it at an index; a half-day between start and end that is not worked is a pause.
    pub fn works_at(&self, shop: &Shop, h: usize) -> bool {
        (self.start..=self.end).contains(&h)
            && shop
                .find_team(&self.team)
                .and_then(|team| shop.runs(self.step, self.way, team))
                .is_none_or(|runs| runs.workable[h])
    }

    /// Whether a crew works on it at an index, as its own step or helping; on what does not hold as it was told.
    pub fn by(&self, shop: &Shop, crew: CrewId, h: usize) -> bool {
        if self.broken {
            return (self.start..=self.end).contains(&h) && self.team.crews().any(|of| of == crew);
        }
        self.works_at(shop, h) && shop.working(&self.team, h).any(|of| of == crew)
    }

    /// Who does it together, in short.
    pub fn who(&self, shop: &Shop) -> String {
        together(self.team.crews().map(|crew| short_crew(&shop.crews[crew])))
    }

    /// Why it pauses at an index, in a word or two.
    pub fn waits_for(&self, shop: &Shop, h: usize) -> &'static str {
        mark(shop.obstacle(self.step, self.way, &self.team, h).unwrap_or(Obstacle::Closed))
    }
}

impl<'a> Course<'a> {
    /// Lays a plan out.
    pub fn new(shop: &'a Shop, plan: &'a Plan) -> Self {
        let works = works(shop, plan);
        let trips = trips(shop, &plan.hauls);
        let (holds, standing) = (holds(shop, plan, &works), standing(shop, &trips));
        Self { shop, plan, works, trips, dropped: Dropped::default(), holds, standing }
    }

    /// Lays a plan out beside the kept one: what is moved, new and dropped from now on is marked.
    pub fn beside(shop: &'a Shop, plan: &'a Plan, kept: &Plan) -> Self {
        let mut course = Self::new(shop, plan);
        course.dropped.works = works(shop, kept);
        let changed: Vec<(StepId, bool, Option<Novelty>)> = changes(shop, kept, plan)
            .iter()
            .flat_map(|change| change.steps.iter().map(move |step| (change.job, step)))
            .filter_map(|(job, step)| {
                let id = shop.find_step(job, &step.step)?;
                let new = if step.was.is_some() { Novelty::Moved } else { Novelty::New };
                Some((id, step.span == 2, step.is.is_some().then_some(new)))
            })
            .collect();
        let of = |work: &Work| changed.iter().find(|(step, rest, _)| (*step, *rest) == (work.step, work.rest()));
        for work in &mut course.works {
            work.mark = of(work).and_then(|(_, _, mark)| *mark);
        }
        course.dropped.works.retain(|work| of(work).is_some_and(|(_, _, mark)| mark.is_none()));
        let new = trips(shop, other_hauls(shop, plan, kept));
        for trip in &mut course.trips {
            let is = |other: &Trip| (other.unit, other.at, other.to) == (trip.unit, trip.at, trip.to);
            trip.mark = new.iter().any(is).then_some(TripMark::New);
        }
        course.dropped.trips = trips(shop, other_hauls(shop, kept, plan));
        course
    }

    /// The hold of a unit at an index; of a shared one, which may have several, the one that ends last.
    pub fn hold_at(&self, unit: UnitId, h: usize) -> Option<Occupancy> {
        let now = self.holds[unit].iter().copied().filter(|hold| hold.first <= h && h <= hold.last);
        now.max_by_key(|hold| hold.last)
    }

    /// What a unit does at an index, wherever it is.
    pub fn unit_state(&self, unit: UnitId, h: usize) -> UnitState {
        match self.standing[unit][h] {
            At::Road(_) => UnitState::Road,
            At::Place(_) if self.shop.units[unit].out[h] => UnitState::Out,
            At::Place(_) if self.hold_at(unit, h).is_some() => UnitState::Held,
            At::Place(_) => UnitState::Waits,
        }
    }

    /// What a crew works on at an index: one step as a rule, several where they are stops or it works on some at once.
    pub fn works_of(&self, crew: CrewId, h: usize) -> impl Iterator<Item = &Work> {
        self.works.iter().filter(move |work| work.by(self.shop, crew, h))
    }

    /// Start and end of a job that is done.
    pub fn span(&self, job: JobId) -> Option<(usize, usize)> {
        let of_job = || self.works.iter().filter(|work| work.job == job);
        Some((of_job().map(|work| work.start).min()?, of_job().map(|work| work.end).max()?))
    }
}

fn works(shop: &Shop, plan: &Plan) -> Vec<Work> {
    let mut works: Vec<Work> = plan
        .steps
        .iter()
        .filter_map(|row| {
            let job = shop.find_job(&row.job)?;
            let step = shop.find_step(job, &row.step)?;
            let second = row.span == 2;
            let of_step = |other: &StepRow| (&other.job, &other.step) == (&row.job, &row.step);
            let left = shop.steps[step].may_split && plan.steps.iter().any(|other| other.span == 2 && of_step(other));
            // What is in progress may have started before the horizon.
            let start = if shop.steps[step].going.is_some() && !second {
                shop.horizon.offset(row.start).clamp(0, shop.now as i64) as usize
            } else {
                shop.horizon.index(row.start)?
            };
            Some(Work {
                job,
                step,
                part: match (second, left) {
                    (true, _) => Part::Second,
                    (false, true) => Part::First,
                    (false, false) => Part::Whole,
                },
                way: shop.steps[step].ways.iter().position(|way| way.id == row.way && way.overtime == row.overtime)?,
                team: Team::new(
                    shop.find_crew(&row.crew)?,
                    row.with.iter().filter_map(|helper| shop.find_crew(helper)).collect(),
                ),
                start,
                end: shop.horizon.index(row.end).filter(|end| *end >= start)?,
                units: units(shop, &row.units),
                mark: None,
                broken: false,
            })
        })
        .collect();
    works.sort_by_key(|work| (work.start, work.step));
    works
}

fn units(shop: &Shop, ids: &[String]) -> Vec<UnitId> {
    ids.iter().filter_map(|id| shop.find_unit(id)).collect()
}

fn holds(shop: &Shop, plan: &Plan, works: &[Work]) -> Table<UnitId, Vec<Occupancy>> {
    let mut holds: Table<UnitId, Vec<Occupancy>> = Table::filled(shop.units.len(), Vec::new());
    for work in works {
        for unit in &work.units {
            let (first, last, job, step) = (work.start, work.end, work.job, Some(work.step));
            holds[*unit].push(Occupancy { first, last, job, step, whole: true });
        }
    }
    for job in shop.jobs.ids() {
        let of_job = || works.iter().filter(|work| work.job == job);
        let begun = shop.jobs[job].started.then_some(shop.now);
        let first = begun.or_else(|| of_job().map(|w| w.start).min());
        let in_part = shop.jobs[job].in_part();
        let last = of_job().map(|w| w.end).max().or(first.filter(|_| in_part));
        let Some(lasts) = first.zip(last) else { continue };
        let of_step = |step: StepId| {
            let mine = || of_job().filter(move |work| work.step == step);
            mine().map(|work| work.start).min().zip(mine().map(|work| work.end).max())
        };
        for (row, need) in parked_rows(shop, plan, job) {
            let Some((first, last)) = need.map_or(Some(lasts), |need| need.span(lasts, of_step)) else { continue };
            // Where what ends it is later it stays to the end (E7).
            let on = need.map_or(in_part, |need| need.on);
            let last = if on { shop.len() - 1 } else { last };
            for unit in units(shop, &row.units) {
                holds[unit].push(Occupancy { first, last, job, step: None, whole: need.is_none() });
            }
        }
    }
    for of_unit in &mut holds {
        of_unit.sort_by_key(|hold| (hold.first, hold.last));
    }
    holds
}

/// E1, H1, H5: a haul at the start moves the unit at once, or over a half-day on the road; one in the evening by the next.
fn standing(shop: &Shop, trips: &[Trip]) -> Table<UnitId, Vec<At>> {
    shop.units
        .pairs()
        .map(|(unit, facts)| {
            let mut now = facts.place;
            (0..shop.len())
                .map(|h| {
                    for trip in trips.iter().filter(|trip| trip.unit == unit && trip.evening && trip.at + 1 == h) {
                        now = trip.to;
                    }
                    match trips.iter().find(|trip| trip.unit == unit && !trip.evening && trip.at == h) {
                        Some(trip) => {
                            now = trip.to;
                            if trip.time.is_some_and(|time| time.long) { At::Road(now) } else { At::Place(now) }
                        }
                        None => At::Place(now),
                    }
                })
                .collect()
        })
        .collect()
}
