//! Places with their weather and roads: rules W7 and H2 as tables by half-day.

use chrono::{Datelike, NaiveDate, Weekday};
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_book::money::Cents;
use yardless_book::recurring::Season;
use yardless_book::{Book, PowerFrom, RoadReport};

use super::names::printed;
use super::{PlaceId, Table};

/// A place, with what each half-day of the horizon brings there.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceFacts {
    /// Its id in the book.
    pub id: String,
    /// Its printed name.
    pub name: String,
    /// The printed name of its road.
    pub road_name: Option<String>,
    /// Latitude and longitude in degrees.
    pub at: Option<[f64; 2]>,
    /// Most towed units at once (E6).
    pub spots: Option<usize>,
    /// Steps that need power and start before this index hold a unit that gives it (E5): 0 where there is power.
    pub power_from: usize,
    /// What a towed unit costs here in a half-day that the shop works (C12).
    pub stand_half_day: Cents,
    /// The weather, by half-day index.
    pub weather: Vec<Conditions>,
    /// The road for trailers, by half-day index (H2).
    pub road: Vec<RoadState>,
    /// The weight posted on its road, by half-day index (H8); empty where none is.
    pub posted: Vec<Option<u32>>,
    /// The last date that any report covers.
    pub last_report: Option<NaiveDate>,
}

/// What is reported for one half-day at one place. Nothing reported stops nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Conditions {
    /// A storm.
    pub storm: bool,
    /// Nobody travels.
    pub no_travel: bool,
    /// The state of the roads.
    pub roads: Option<RoadReport>,
    /// Gusts, miles per hour.
    pub gust_mph: Option<f64>,
    /// The low, degrees Fahrenheit.
    pub low_f: Option<f64>,
    /// The high, degrees Fahrenheit.
    pub high_f: Option<f64>,
    /// Rain.
    pub rain: bool,
}

/// Whether trailers may be towed at a place (H2).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RoadState {
    /// Open to trailers.
    Open,
    /// In its season, but past the last report and on a weekday on which it is expected clear.
    ExpectedClear,
    /// Closed to trailers.
    Closed(Closure),
}

/// What closes a road to trailers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Closure {
    /// A storm.
    Storm,
    /// No travel.
    NoTravel,
    /// The roads are covered.
    Covered,
    /// The season, by the shop's own policy.
    Season,
}

impl RoadState {
    /// Whether a trailer may go.
    pub fn is_open(self) -> bool {
        !matches!(self, Self::Closed(_))
    }
}

pub(super) fn places(book: &Book, horizon: Horizon) -> Table<PlaceId, PlaceFacts> {
    book.places.iter().map(|place| facts(book, place, horizon)).collect()
}

fn facts(book: &Book, place: &yardless_book::Place, horizon: Horizon) -> PlaceFacts {
    let mut said = vec![ReportsSoFar::default(); horizon.len()];
    let mut last_report = None;
    for entry in &book.weather {
        if entry.at.as_ref().is_some_and(|at| !at.contains(&place.id)) {
            continue;
        }
        last_report = last_report.max(entry.when().last().map(HalfDay::date));
        entry.when().each(horizon, |h| {
            let said = &mut said[h];
            entry.storm.over(&mut said.storm);
            entry.no_travel.over(&mut said.no_travel);
            entry.roads.over(&mut said.roads);
            entry.gust_mph.over(&mut said.gust_mph);
            entry.low_f.over(&mut said.low_f);
            entry.high_f.over(&mut said.high_f);
            entry.rain.over(&mut said.rain);
        });
    }
    let weather: Vec<Conditions> = said.into_iter().map(ReportsSoFar::conditions).collect();
    let road = place.road.as_ref().and_then(|id| book.roads.iter().find(|road| road.id == *id));
    let clear_days: Vec<Weekday> = road.iter().flat_map(|road| &road.expect_clear).map(|day| (*day).into()).collect();
    let seasons = road.map_or(&[][..], |road| &road.no_trailers);
    let states = weather
        .iter()
        .enumerate()
        .map(|(h, now)| {
            let date = horizon.date(h);
            let expected = last_report.is_none_or(|last| date > last) && clear_days.contains(&date.weekday());
            state(*now, date, seasons, expected)
        })
        .collect();
    PlaceFacts {
        id: place.id.clone(),
        name: printed(place.name.as_ref(), &place.id),
        road_name: road.map(|road| printed(road.name.as_ref(), &road.id)),
        at: place.at,
        spots: place.trailer_spots.map(|n| n as usize),
        power_from: match place.power_from {
            None => 0,
            Some(PowerFrom::Never) => usize::MAX,
            Some(PowerFrom::Date(date)) => usize::try_from(horizon.offset(HalfDay::am(date))).unwrap_or(0),
        },
        stand_half_day: place.stand_half_day,
        posted: super::posted::limits(road, horizon, weather.iter().map(|now| now.low_f)),
        weather,
        road: states,
        last_report,
    }
}

/// H2, in its order: storm, no travel and covered close whatever the season; clear and `expect_clear` lift only it.
fn state(now: Conditions, date: NaiveDate, seasons: &[Season], expected: bool) -> RoadState {
    if now.storm {
        RoadState::Closed(Closure::Storm)
    } else if now.no_travel {
        RoadState::Closed(Closure::NoTravel)
    } else if now.roads == Some(RoadReport::Covered) {
        RoadState::Closed(Closure::Covered)
    } else if now.roads == Some(RoadReport::Clear) || !seasons.iter().any(|season| season.holds(date)) {
        RoadState::Open
    } else if expected {
        RoadState::ExpectedClear
    } else {
        RoadState::Closed(Closure::Season)
    }
}

/// What the reports so far say, field by field.
#[derive(Clone, Copy, Default)]
struct ReportsSoFar {
    storm: Option<bool>,
    no_travel: Option<bool>,
    roads: Option<RoadReport>,
    gust_mph: Option<f64>,
    low_f: Option<f64>,
    high_f: Option<f64>,
    rain: Option<bool>,
}

impl ReportsSoFar {
    fn conditions(self) -> Conditions {
        Conditions {
            storm: self.storm.unwrap_or(false),
            no_travel: self.no_travel.unwrap_or(false),
            roads: self.roads,
            gust_mph: self.gust_mph,
            low_f: self.low_f,
            high_f: self.high_f,
            rain: self.rain.unwrap_or(false),
        }
    }
}
