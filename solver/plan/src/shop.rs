//! The book made ready for planning: who is present, which roads are open, what each step can do when.
//!
//! Rules T, W and H, and the tables of E and C, live here once. The program (`encode`, of the engine) writes them as
//! rows, the builder follows them, the checker judges by them.

mod amount;
mod calendar;
mod drives;
mod driving;
mod equipped;
mod hauling;
mod history;
mod home;
mod ids;
mod index;
mod jobs;
mod lateness;
mod load;
mod making;
mod names;
mod needs;
mod open_sites;
mod posted;
mod precedence;
mod ratings;
mod reserve;
mod roads;
mod runs;
mod soonest;
mod spans;
mod standing;
mod start;
mod step_table;
mod steps;
mod teams;
mod work;
mod worked;

pub use amount::Amount;
pub use drives::{Drive, great_circle_minutes};
pub use hauling::{HaulTime, TruckFacts, UnitFacts};
pub use history::{Going, KeptStart, KeptStep, PastStep};
pub use home::{Clearing, Home};
pub use ids::{CrewId, Id, JobId, KindId, PlaceId, StepId, Table, TeamId, TruckId, UnitId};
pub use jobs::JobFacts;
pub use load::greatest_common_divisor;
pub use needs::{Need, ParkedNeed, ParkedUnit, Want, share_out};
pub use ratings::{Unfit, within};
pub use reserve::Reserve;
pub use roads::{Closure, Conditions, PlaceFacts, RoadState};
pub use runs::Runs;
pub use spans::{Part, Rest, Span};
pub use start::MendingHaul;
pub use steps::{Fixed, Link, StepFacts, Waited, WayFacts};
pub use teams::{Team, Teams};
pub use work::Obstacle;

use yardless_book::half_day::{HalfDay, Horizon};
use yardless_book::money::Cents;
use yardless_book::{Book, Caution, Crew, Fault, Kind};

use calendar::Calendar;
use making::Later;

/// Everything a plan depends on, by id and half-day index. Made from a book that was read without fault.
#[derive(Clone, Debug)]
pub struct Shop {
    /// The book it was made from.
    pub book: Book,
    /// The half-days planned.
    pub horizon: Horizon,
    /// The half-day from which on is planned (N1): what lies before it is history. 0 on a clean sheet.
    pub now: usize,
    /// Whether the shop works each half-day (T1).
    pub works: Vec<bool>,
    /// Whether each half-day from now on may be worked in overtime, and only so (W9).
    pub overtime: Vec<bool>,
    /// Whether work or hauls may happen: from now on, worked or in overtime.
    pub open: Vec<bool>,
    /// By index: the half-days from now on that the shop works before it ([`Shop::worked_before`]).
    worked_before: Vec<i64>,
    /// Likewise those that begin a date ([`Shop::begins_date`]).
    dates_before: Vec<i64>,
    /// The sites that are to be cleared once the work there is over (C18).
    pub clearings: Vec<Clearing>,
    /// What history costs whatever is planned: jobs that are over, changes that have happened (N1, C7).
    pub history: Cents,
    /// How the plan last given out starts its steps (N2); `None`: not known, and C7 is what a plan says it is.
    pub kept: Option<Vec<KeptStep>>,
    /// The crews.
    pub crews: Table<CrewId, CrewFacts>,
    /// Crews alone and with helpers, as far as some step may be done so (W11).
    pub teams: Teams,
    /// Whether figures or posted weights keep a truck from a unit that it is strong enough for (H7, H8): then the trucks of
    /// heavier units need not be among those of lighter ones.
    pub weights_part: bool,
    /// The trucks.
    pub trucks: Table<TruckId, TruckFacts>,
    /// The units of equipment.
    pub units: Table<UnitId, UnitFacts>,
    /// The places, with their weather and roads.
    pub places: Table<PlaceId, PlaceFacts>,
    /// Every kind that is named or used.
    pub kinds: Table<KindId, KindFacts>,
    /// The jobs, in the book's order.
    pub jobs: Table<JobId, JobFacts>,
    /// All steps of all jobs that are not done, job after job; of each job the later ones last.
    pub steps: Table<StepId, StepFacts>,
    half_day_load: load::HalfDayLoad,
    /// The weeks in which crews should have nothing to do for a while (C14).
    pub reserves: Vec<Reserve>,
    calendar: Calendar,
    drives: drives::Drives,
    index: index::Index,
}

/// A crew: who it is and how many are present in each half-day (T2).
#[derive(Clone, Debug, PartialEq)]
pub struct CrewFacts {
    /// Its id in the book.
    pub id: String,
    /// Its printed name.
    pub name: String,
    /// What it can do.
    pub skills: Vec<String>,
    /// People present, by half-day index; in one of overtime, those who would be.
    pub people: Vec<u32>,
    /// Whether it counts as an extra crew (C4).
    pub own: bool,
    /// Steps that it works on in one half-day at most (W13).
    pub at_once: u32,
    /// Crews with which helping costs nothing, whichever of the two names the other (C11).
    pub usual_with: Vec<CrewId>,
    /// Where it drives from and back to each date, where that is counted (C15).
    pub home: Option<PlaceId>,
}

/// A kind of equipment.
#[derive(Clone, Debug, PartialEq)]
pub struct KindFacts {
    /// Its id in the book.
    pub id: String,
    /// Its printed name.
    pub name: String,
    /// Whether its units give power (E5).
    pub power: bool,
    /// Whether one of its units serves any number of needs at a time (E8).
    pub shared: bool,
    /// What its units call for where they are held; `None`: what its name says.
    pub cautions: Option<Vec<Caution>>,
}

impl Shop {
    /// Makes a book ready for a horizon, a clean sheet: nothing has been given out. The faults are those that only a
    /// horizon shows (W8, E6, N1).
    pub fn new(book: &Book, horizon: Horizon) -> Result<Self, Vec<Fault>> {
        Self::again(book, horizon, 0, Some(&[]))
    }

    /// The same from a half-day of the horizon on (an index; one past the end counts as the last), with what the plan
    /// last given out says of steps, where that is known (N1 to N3).
    pub fn again(book: &Book, horizon: Horizon, now: usize, kept: Option<&[KeptStep]>) -> Result<Self, Vec<Fault>> {
        let now = now.min(horizon.len() - 1);
        let whole = Self::made(book, horizon, now, kept, &Later::default());
        let mut faults = history::faults(book, horizon, now);
        faults.extend(start::faults(&whole));
        if !faults.is_empty() {
            return Err(faults);
        }
        // What is later is known by what could be done of the whole (W12).
        let later = if soonest::asked(book) { soonest::later(&whole) } else { Later::default() };
        Ok(if later == Later::default() { whole } else { Self::made(book, horizon, now, kept, &later) })
    }

    /// The tables, where so much is later.
    fn made(book: &Book, horizon: Horizon, now: usize, kept: Option<&[KeptStep]>, later: &Later) -> Self {
        let calendar = Calendar::new(&book.shop, horizon);
        let half_days = |is: &dyn Fn(HalfDay) -> bool| -> Vec<bool> {
            (0..horizon.len()).map(|h| is(horizon.half_day(h))).collect()
        };
        let works = half_days(&|half_day| calendar.works(half_day));
        let overtime: Vec<bool> =
            half_days(&|half_day| horizon.offset(half_day) >= now as i64 && calendar.overtime(half_day));
        let staffed: Vec<bool> = works.iter().zip(&overtime).map(|(works, overtime)| *works || *overtime).collect();
        let crews = crews(book, horizon, &staffed);
        let teams = Teams::new(book, &crews);
        let half_day_load = load::HalfDayLoad::new(book);
        let kinds = kinds(book);
        let places: Table<PlaceId, PlaceFacts> = roads::places(book, horizon);
        let drives = drives::Drives::new(book, &places);
        let mut units = hauling::units(book, horizon, &kinds, &places);
        let open: Vec<bool> = staffed.iter().enumerate().map(|(h, staffed)| *staffed && h >= now).collect();
        let trucks = hauling::trucks(book, horizon, &works, &open, &crews);
        let takers = ratings::takers(book, &trucks, &units);
        (&mut units).into_iter().zip(takers).for_each(|(unit, takers)| unit.takers = takers);
        let told = history::BookHistory::new(book, horizon, now, &calendar, kept.unwrap_or_default());
        let making = making::Making {
            book,
            horizon,
            calendar: &calendar,
            kinds: &kinds,
            crews: &crews,
            teams: &teams,
            half_day_load,
            told: &told,
            later,
        };
        let (jobs, steps) = jobs::jobs(&making);
        let history = told.changed();
        let mut shop = Self {
            book: book.clone(),
            horizon,
            now,
            worked_before: standing::worked_before(&works, now),
            dates_before: home::dates_before(&works, now),
            clearings: Vec::new(),
            works,
            overtime,
            open,
            history,
            half_day_load,
            reserves: Vec::new(),
            kept: kept.map(<[KeptStep]>::to_vec),
            crews,
            teams,
            weights_part: false,
            trucks,
            units,
            places,
            kinds,
            jobs,
            steps,
            calendar,
            drives,
            index: index::Index::default(),
        };
        shop.index = index::Index::of(&shop);
        shop.weights_part = shop.rated() || !shop.posted_weights().is_empty();
        shop.reserves = reserve::reserves(&shop);
        shop.fill_homes();
        shop.clearings = home::clearings(&shop);
        runs::fill_runs(&mut shop);
        spans::fill_spans(&mut shop);
        shop.history += shop.jobs.iter().filter(|job| !job.planned()).map(|job| job.past_cost).sum();
        shop
    }

    /// Half-days in the horizon.
    pub fn len(&self) -> usize {
        self.horizon.len()
    }

    /// Whether a step is later, where its job is done (W12): nothing of it is planned.
    pub fn is_later(&self, step: StepId) -> bool {
        self.jobs[self.steps[step].job].later_steps.contains(&step.index())
    }

    /// Never: a horizon has a week at least.
    pub fn is_empty(&self) -> bool {
        false
    }

    /// The dates that the shop works after `after`, up to and with `until` (C1).
    pub fn worked_dates(&self, after: chrono::NaiveDate, until: chrono::NaiveDate) -> i64 {
        self.calendar.worked_dates(after, until)
    }

    /// Whether the shop works the date at all (T1).
    pub fn works_date(&self, date: chrono::NaiveDate) -> bool {
        self.calendar.works_date(date)
    }

    /// The price of each own crew on a job beyond the first (C4).
    pub fn extra_crew(&self) -> Cents {
        self.book.prices.extra_crew
    }

    /// The price of a half-day that a job ends later (C5).
    pub fn wait_half_day(&self) -> Cents {
        self.book.prices.wait_half_day
    }
}

fn crews(book: &Book, horizon: Horizon, staffed: &[bool]) -> Table<CrewId, CrewFacts> {
    let named = |a: &Crew, b: &Crew| a.usual_with.contains(&b.id);
    let usual = |crew: &Crew| {
        let others = book.crews.iter().enumerate();
        others
            .filter(|(_, other)| named(crew, other) || named(other, crew))
            .map(|(n, _)| CrewId::from_index(n))
            .collect()
    };
    let driving = book.prices.drive_minute > Cents::ZERO;
    let place = |id: &String| book.places.iter().position(|place| place.id == *id).map(PlaceId::from_index);
    let home = |crew: &Crew| crew.home.as_ref().filter(|_| driving).and_then(place);
    let facts = |crew: &Crew| CrewFacts {
        id: crew.id.clone(),
        name: names::printed(crew.name.as_ref(), &crew.id),
        skills: crew.skills.clone(),
        people: calendar::people_present(crew, horizon, staffed),
        own: crew.own,
        at_once: crew.at_once,
        usual_with: usual(crew),
        home: home(crew),
    };
    book.crews.iter().map(facts).collect()
}

fn kinds(book: &Book) -> Table<KindId, KindFacts> {
    let named = |kind: &Kind| KindFacts {
        id: kind.id.clone(),
        name: names::printed(kind.name.as_ref(), &kind.id),
        power: kind.power,
        shared: kind.shared,
        cautions: kind.cautions.clone(),
    };
    let mut kinds: Vec<KindFacts> = book.kinds.iter().map(named).collect();
    for id in book.equipment.iter().flat_map(|unit| &unit.kinds) {
        if kinds.iter().all(|kind| kind.id != *id) {
            kinds.push(KindFacts { id: id.clone(), name: id.clone(), power: false, shared: false, cautions: None });
        }
    }
    kinds.into_iter().collect()
}
