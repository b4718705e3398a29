//! From alerts and forecasts to what they would change in the book.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Duration, Utc};
use chrono_tz::Tz;

use super::alert::Alert;
use super::clock::half_day;
use super::events::{self, Effect};
use super::forecast::{Forecast, Measured};
use super::join::{self, Cells, Part};
use super::ruling::{Court, Told, Verdict};
use super::{Fault, shown};
use crate::book::{Book, Weather};
use crate::half_day::{HalfDay, Range};

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
    pub alerts: Vec<Told>,
    /// What became of every forecast, in the order given.
    pub forecasts: Vec<TellForecast>,
    /// Where an entry says less than what the book says now.
    pub eased: Vec<Eased>,
    /// Places that give neither `at` nor `zones`: no alert can be matched to them.
    pub unmatched: Vec<String>,
    /// What could not be weighed.
    pub faults: Vec<Fault>,
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
    /// Half-days of which a part only is known: gust and low may be worse.
    pub partly: Vec<HalfDay>,
}

/// Where the new says less than the old.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Eased {
    /// The place, by id.
    pub place: String,
    /// The half-days.
    pub on: Range,
    /// Such as `gust 58 -> 40 mph`.
    pub says: String,
}

/// Weighs alerts, and forecasts each for a place (by id), against a book as of a moment.
pub fn weigh(book: &Book, alerts: &[Alert], forecasts: &[(String, Forecast)], now: DateTime<Utc>) -> Outcome {
    let mut outcome = Outcome::default();
    // The reader knows only real time zones.
    let zone: Tz = book.shop.time_zone.parse().unwrap_or(Tz::UTC);
    let court = Court { book, zone, now, rows: events::table(book) };
    outcome.alerts = court.judge(alerts, &mut outcome.faults);
    let alone = book.places.iter().filter(|place| place.at.is_none() && place.zones.is_empty());
    outcome.unmatched = alone.map(|place| place.id.clone()).collect();
    let mut reported = BTreeMap::new();
    for told in &outcome.alerts {
        if let (Verdict::Counts(effect), Some(on)) = (&told.verdict, told.on) {
            let by = format!("{}, sent {}", told.event, court.clock(told.sent));
            for place in positions(book, &told.places) {
                for half in half_days(on) {
                    cell(&mut reported, place, half).alert(effect, &by, &told.id);
                }
            }
        }
    }
    for (id, forecast) in forecasts {
        let Some(place) = book.places.iter().position(|place| place.id == *id) else {
            let says = format!("no place `{}`", shown(id));
            outcome.faults.push(Fault::new("the forecast", says, "give the id of a place of the book"));
            continue;
        };
        let told = take(&court, place, forecast, &mut reported, &mut outcome.faults);
        outcome.forecasts.push(told);
    }
    let mut cells = Cells::new();
    for ((place, half), reported) in reported {
        let was = Standing::of(book, place, half);
        reported.over(&was, place, half, &mut cells, &mut outcome.eased, book);
    }
    outcome.entries = join::entries(book, &cells);
    outcome.eased = join::eased(outcome.eased);
    outcome
}

fn positions(book: &Book, ids: &[String]) -> Vec<usize> {
    ids.iter().filter_map(|id| book.places.iter().position(|place| place.id == *id)).collect()
}

fn half_days(range: Range) -> impl Iterator<Item = HalfDay> {
    std::iter::successors(Some(range.first), |half| Some(half.following())).take_while(move |half| *half <= range.last)
}

type Reports = BTreeMap<(usize, HalfDay), Reported>;

fn cell(reported: &mut Reports, place: usize, half: HalfDay) -> &mut Reported {
    reported.entry((place, half)).or_default()
}

/// Takes in a forecast for a place, unless it is too old.
fn take(
    court: &Court,
    place: usize,
    forecast: &Forecast,
    reported: &mut Reports,
    faults: &mut Vec<Fault>,
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
        faults.push(Fault::new("properties.updateTime", says, "set the clock, or give --now"));
        told.stale = true;
    }
    let (Some((from, to)), false) = (forecast.reach(), told.stale) else { return told };
    let at = |seconds: i64| DateTime::from_timestamp(seconds, 0).unwrap_or(court.now);
    let first = half_day(court.zone, at(from)).max(court.current());
    let last = half_day(court.zone, at(to - 1).min(court.now + Duration::days(AHEAD)));
    let by = format!("forecast of {}", forecast.updated.map_or_else(String::new, |updated| court.clock(updated)));
    for half in half_days(Range { first, last }) {
        let measured = forecast.half_day(court.zone, half, &policy);
        if measured == Measured::default() {
            continue;
        }
        if measured.partly {
            told.partly.push(half);
        }
        told.until = Some(half);
        cell(reported, place, half).forecast(&measured, &by);
    }
    told
}

/// What reports say of one place in one half-day.
#[derive(Default)]
struct Reported {
    alerts: Effect,
    forecast: Measured,
    by_alerts: BTreeSet<(String, String)>,
    by_forecast: BTreeSet<String>,
}

fn more(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    a.into_iter().chain(b).reduce(f64::max)
}
fn less(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    a.into_iter().chain(b).reduce(f64::min)
}

impl Reported {
    fn alert(&mut self, effect: &Effect, by: &str, id: &str) {
        let all = &mut self.alerts;
        all.storm |= effect.storm;
        all.no_travel |= effect.no_travel;
        all.covered |= effect.covered;
        all.rain |= effect.rain;
        all.gust_mph = more(all.gust_mph, effect.gust_mph);
        all.low_f = less(all.low_f, effect.low_f);
        self.by_alerts.insert((by.to_owned(), id.to_owned()));
    }

    fn forecast(&mut self, measured: &Measured, by: &str) {
        let all = &mut self.forecast;
        all.gust_mph = more(all.gust_mph, measured.gust_mph);
        all.low_f = less(all.low_f, measured.low_f);
        all.rain = [all.rain, measured.rain].into_iter().flatten().reduce(|a, b| a || b);
        all.covered |= measured.covered;
        self.by_forecast.insert(by.to_owned());
    }

    /// What of it is news beside what the book says.
    ///
    /// An alert's number is a bound (gusts of this at least), not a measure: alone it never eases what the book says. A forecast
    /// is a measure: it replaces gust, low and rain, and what it eases is told. Nothing takes back a storm or opens a road.
    fn over(
        &self,
        was: &Standing,
        place: usize,
        half: HalfDay,
        cells: &mut Cells,
        eased: &mut Vec<Eased>,
        book: &Book,
    ) {
        let (alerts, forecast) = (&self.alerts, &self.forecast);
        let mut news = Part {
            storm: alerts.storm && was.storm != Some(true),
            no_travel: alerts.no_travel && was.no_travel != Some(true),
            covered: (alerts.covered || forecast.covered) && was.covered != Some(true),
            gust_mph: more(alerts.gust_mph, forecast.gust_mph)
                .filter(|mph| forecast.gust_mph.is_some() || was.gust_mph.is_none_or(|was| *mph > was))
                .filter(|mph| was.gust_mph != Some(*mph)),
            low_f: less(alerts.low_f, forecast.low_f)
                .filter(|low| forecast.low_f.is_some() || was.low_f.is_none_or(|was| *low < was))
                .filter(|low| was.low_f != Some(*low)),
            rain: if alerts.rain { Some(true) } else { forecast.rain }.filter(|rain| was.rain != Some(*rain)),
            ..Part::default()
        };
        // To say that it does not rain is news only where the book says that it does.
        news.rain = news.rain.filter(|rain| *rain || was.rain == Some(true));
        news.by = self.by_alerts.iter().map(|(by, _)| by.clone()).chain(self.by_forecast.iter().cloned()).collect();
        news.ids = self.by_alerts.iter().map(|(_, id)| id.clone()).collect();
        let mut ease = |says: String| {
            eased.push(Eased { place: book.places[place].id.clone(), on: Range { first: half, last: half }, says });
        };
        if let (Some(old), Some(new)) = (was.gust_mph, news.gust_mph.filter(|new| Some(*new) < was.gust_mph)) {
            ease(format!("gust {old} -> {new} mph"));
        }
        if let (Some(old), Some(new)) =
            (was.low_f, news.low_f.filter(|new| Some(*new) > was.low_f && was.low_f.is_some()))
        {
            ease(format!("low {old} -> {new} °F"));
        }
        if news.rain == Some(false) {
            ease("rain -> no rain".to_owned());
        }
        cells.insert((place, half), news);
    }
}

/// What the book says now of one place in one half-day: its entries in order.
#[derive(Default)]
struct Standing {
    storm: Option<bool>,
    no_travel: Option<bool>,
    covered: Option<bool>,
    gust_mph: Option<f64>,
    low_f: Option<f64>,
    rain: Option<bool>,
}

impl Standing {
    fn of(book: &Book, place: usize, half: HalfDay) -> Self {
        let id = &book.places[place].id;
        let (mut all, mut roads) = (Self::default(), None);
        let here = |entry: &&Weather| entry.on.holds(half) && entry.at.as_ref().is_none_or(|at| at.contains(id));
        for entry in book.weather.iter().filter(here) {
            entry.storm.over(&mut all.storm);
            entry.no_travel.over(&mut all.no_travel);
            entry.roads.over(&mut roads);
            entry.gust_mph.over(&mut all.gust_mph);
            entry.low_f.over(&mut all.low_f);
            entry.rain.over(&mut all.rain);
        }
        all.covered = roads.map(|roads| roads == crate::book::RoadReport::Covered);
        all
    }
}
