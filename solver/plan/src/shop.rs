//! The book made ready for planning: who is present, which roads are open, what each step can do when.
//!
//! Rules T, W and H, and the tables of E and C, live here once. The program (`encode`, of the engine) writes them as
//! rows, the builder follows them, the checker judges by them.

mod amount;
mod calendar;
mod drives;
mod equipped;
mod hauling;
mod history;
mod ids;
mod index;
mod jobs;
mod lateness;
mod making;
mod names;
mod needs;
mod precedence;
mod roads;
mod runs;
mod spans;
mod start;
mod step_table;
mod steps;
mod work;
mod worked;

pub use amount::Amount;
pub use drives::{Drive, great_circle_minutes};
pub use hauling::{HaulTime, TruckFacts, UnitFacts};
pub use history::{Going, KeptStart, KeptStep, PastStep};
pub use ids::{CrewId, Id, JobId, KindId, PlaceId, StepId, Table, TruckId, UnitId};
pub use jobs::JobFacts;
pub use needs::{Need, ParkedNeed, Want, share_out};
pub use roads::{Closure, Conditions, PlaceFacts, RoadState};
pub use runs::Runs;
pub use spans::{Part, Rest, Span};
pub use steps::{Fixed, Link, StepFacts, Waited, WayFacts};
pub use work::Obstacle;

use yardless_book::half_day::{HalfDay, Horizon};
use yardless_book::money::Cents;
use yardless_book::{Book, Caution, Fault, Kind};

use calendar::Calendar;

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
    /// What history costs whatever is planned: jobs that are over, changes that have happened (N1, C7).
    pub history: Cents,
    /// How the plan last given out starts its steps (N2); `None`: not known, and C7 is what a plan says it is.
    pub kept: Option<Vec<KeptStep>>,
    /// The crews.
    pub crews: Table<CrewId, CrewFacts>,
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
    /// All steps of all jobs, job after job.
    pub steps: Table<StepId, StepFacts>,
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
        let calendar = Calendar::new(&book.shop, horizon);
        let half_days = |is: &dyn Fn(HalfDay) -> bool| -> Vec<bool> {
            (0..horizon.len()).map(|h| is(horizon.half_day(h))).collect()
        };
        let works = half_days(&|half_day| calendar.works(half_day));
        let overtime: Vec<bool> =
            half_days(&|half_day| horizon.offset(half_day) >= now as i64 && calendar.overtime(half_day));
        let staffed: Vec<bool> = works.iter().zip(&overtime).map(|(works, overtime)| *works || *overtime).collect();
        let crews: Table<CrewId, CrewFacts> = book
            .crews
            .iter()
            .map(|crew| CrewFacts {
                id: crew.id.clone(),
                name: names::printed(crew.name.as_ref(), &crew.id),
                skills: crew.skills.clone(),
                people: calendar::people_present(crew, horizon, &staffed),
                own: crew.own,
            })
            .collect();
        let kinds = kinds(book);
        let places: Table<PlaceId, PlaceFacts> = roads::places(book, horizon);
        let drives = drives::Drives::new(book, &places);
        let units = hauling::units(book, horizon, &kinds, &places);
        let open: Vec<bool> = staffed.iter().enumerate().map(|(h, staffed)| *staffed && h >= now).collect();
        let trucks = hauling::trucks(book, horizon, &works, &open, &crews);
        let told = history::BookHistory::new(book, horizon, now, &calendar, kept.unwrap_or_default());
        let making = making::Making { book, horizon, calendar: &calendar, kinds: &kinds, crews: &crews, told: &told };
        let (jobs, steps) = jobs::jobs(&making);
        let history = told.changed();
        let mut shop = Self {
            book: book.clone(),
            horizon,
            now,
            works,
            overtime,
            open,
            history,
            kept: kept.map(<[KeptStep]>::to_vec),
            crews,
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
        runs::fill_runs(&mut shop);
        spans::fill_spans(&mut shop);
        shop.history += shop.jobs.iter().filter(|job| !job.planned()).map(|job| job.past_cost).sum();
        let mut faults = history::faults(book, horizon, now);
        faults.extend(start::faults(&shop));
        if faults.is_empty() { Ok(shop) } else { Err(faults) }
    }

    /// Half-days in the horizon.
    pub fn len(&self) -> usize {
        self.horizon.len()
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
