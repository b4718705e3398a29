//! From alerts and forecasts to what they would change in the book.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, Utc};
use chrono_tz::Tz;
use yardless_book::half_day::{HalfDay, Range};
use yardless_book::{Book, Weather};

use super::alert::Alert;
use super::clock::{Hours, half_day};
use super::eased::{Eased, eased};
use super::events::Table;
use super::forecast::Forecast;
use super::join::{self, Blocks};
use super::measured::Measured;
use super::ruling::{Court, Ruling};
use super::sweep::{CountingAlert, Forecasts, Sweep};
use super::{Faults, FileFault, shown};

/// Most days that a forecast is read ahead.
const AHEAD: i64 = 31;
/// So far ahead of now may a forecast be dated: clocks differ.
const CLOCKS: i64 = 60;

/// What published reports mean for a book.
#[derive(Clone, Debug, Default)]
pub struct Outcome {
    /// What to add at the end of the book's weather, as few entries as possible; nothing that it says already.
    pub entries: Vec<Weather>,
    /// What became of every alert, in the order given.
    pub alerts: Vec<Ruling>,
    /// What became of every forecast, in the order given.
    pub forecasts: Vec<TellForecast>,
    /// Where an entry says less than what the book says now.
    pub eased: Vec<Eased>,
    /// Places that give neither `at` nor `zones`: no alert can be matched to them.
    pub unmatched: Vec<String>,
    /// What could not be weighed.
    pub faults: Vec<FileFault>,
}

/// What became of a forecast.
#[derive(Clone, Debug, PartialEq)]
pub struct TellForecast {
    /// The place, by id.
    pub place: String,
    /// When it was made, where it says so.
    pub updated: Option<DateTime<Utc>>,
    /// How old it is.
    pub age: Option<Duration>,
    /// Older than the book's `stale_hours`, or of unknown age: everything in it counts as unknown.
    pub stale: bool,
    /// The place lies outside the square that it says it is for.
    pub outside: bool,
    /// Layers that it does not have.
    pub missing: Vec<&'static str>,
    /// The last half-day of which it says something.
    pub until: Option<HalfDay>,
    /// Half-days of whose hours a part only is known: gust, low and high may be worse.
    pub partly: Vec<HalfDay>,
}

/// Weighs alerts, and forecasts each for a place (by id), against a book as of a moment.
pub fn weigh(book: &Book, alerts: &[Alert], forecasts: &[(String, Forecast)], now: DateTime<Utc>) -> Outcome {
    let mut outcome = Outcome::default();
    let mut faults = Faults::default();
    // The reader knows only real time zones.
    let zone: Tz = book.shop.time_zone.parse().unwrap_or(Tz::UTC);
    let court = Court { book, zone, now, events: Table::of(book) };
    let (alerts, holdings) = court.judge(alerts, &mut faults);
    let alone = book.places.iter().filter(|place| place.at.is_none() && place.zones.is_empty());
    outcome.unmatched = alone.map(|place| place.id.clone()).collect();

    let name = |ruling: &Ruling| format!("{}, sent {}", ruling.event, court.clock(ruling.sent));
    let mut names: Vec<String> = holdings.iter().map(|(index, _)| name(&alerts[*index])).collect();
    names.extend(forecasts.iter().map(|(_, forecast)| called(&court, forecast)));
    names.sort_unstable();
    names.dedup();
    let mut ids: Vec<&str> = holdings.iter().map(|(index, _)| alerts[*index].id.as_str()).collect();
    ids.sort_unstable();
    ids.dedup();
    let sources = holdings.iter().map(|(index, holding)| {
        let ruling = &alerts[*index];
        let (id, name) = (position(&ids, &ruling.id), position(&names, &name(ruling)));
        CountingAlert { on: holding.on, row: holding.row, id, name }
    });
    let sources: Vec<CountingAlert> = sources.collect();
    let mut of_places: Vec<Vec<&CountingAlert>> = vec![Vec::new(); book.places.len()];
    for (source, (_, holding)) in sources.iter().zip(&holdings) {
        for place in &*holding.places {
            of_places[*place].push(source);
        }
    }
    let mut said: BTreeMap<usize, Forecasts> = BTreeMap::new();
    for (id, forecast) in forecasts {
        let Some(place) = book.places.iter().position(|place| place.id == *id) else {
            let says = format!("no place `{}`", shown(id));
            faults.push(|| FileFault::new("the forecast", says, "give the id of a place of the book"));
            continue;
        };
        let name = position(&names, &called(&court, forecast));
        let said = said.entry(place).or_default();
        outcome.forecasts.push(take(&court, place, forecast, name, said, &mut faults));
    }
    let mut sweep = Sweep { book, rows: &court.events.rows, blocks: Blocks::new(), eased: Vec::new() };
    for (place, sources) in of_places.iter().enumerate() {
        sweep.place(place, sources, said.get(&place).unwrap_or(&Forecasts::new()));
    }
    outcome.entries = join::entries(book, sweep.blocks, &ids, &names);
    outcome.eased = eased(sweep.eased);
    outcome.alerts = alerts;
    outcome.faults = faults.told();
    outcome
}

/// Takes in a forecast for a place, unless it is too old.
fn take(
    court: &Court,
    place: usize,
    forecast: &Forecast,
    name: u32,
    said: &mut Forecasts,
    faults: &mut Faults,
) -> TellForecast {
    let policy = court.book.reports.clone().unwrap_or_default();
    let age = forecast.age(court.now);
    let mut told = TellForecast {
        place: court.book.places[place].id.clone(),
        updated: forecast.updated,
        age,
        stale: age.is_none_or(|age| age.num_seconds() as f64 > policy.stale_hours * 3600.0),
        outside: court.book.places[place]
            .at
            .zip(forecast.square.as_ref())
            .is_some_and(|(at, square)| !square.holds(at)),
        missing: forecast.missing.clone(),
        until: None,
        partly: Vec::new(),
    };
    if age.is_some_and(|age| age.num_minutes() < -CLOCKS) {
        let says = format!("the forecast for `{}` is dated ahead of now", told.place);
        faults.push(|| FileFault::new("properties.updateTime", says, "set the clock, or give --now"));
        told.stale = true;
    }
    let (Some((from, to)), false) = (forecast.reach(), told.stale) else { return told };
    let at = |seconds: i64| DateTime::from_timestamp(seconds, 0).unwrap_or(court.now);
    // Hours may pass noon, and what falls in an evening counts for the next morning.
    let first = HalfDay::am(half_day(court.zone, at(from)).date()).max(court.current());
    let date = half_day(court.zone, at(to - 1).min(court.now + Duration::days(AHEAD))).date();
    let last = HalfDay::pm(date).following();
    let hours = Hours { zone: court.zone, on_clock: &court.book.shop.hours };
    for half in half_days(Range { first, last }) {
        let measured = forecast.half_day(&hours, half, &policy);
        if measured == Measured::default() {
            continue;
        }
        if measured.partly {
            told.partly.push(half);
        }
        told.until = Some(half);
        let (all, names) = said.entry(half).or_default();
        all.worst(&measured);
        names.add(name);
    }
    told
}

/// How a forecast is called.
fn called(court: &Court, forecast: &Forecast) -> String {
    format!("forecast of {}", forecast.updated.map_or_else(String::new, |updated| court.clock(updated)))
}

fn half_days(range: Range) -> impl Iterator<Item = HalfDay> {
    std::iter::successors(Some(range.first), |half| Some(half.following())).take_while(move |half| *half <= range.last)
}

/// Where a text stands in a list in order.
fn position<T: AsRef<str>>(all: &[T], text: &str) -> u32 {
    all.partition_point(|one| one.as_ref() < text) as u32
}
