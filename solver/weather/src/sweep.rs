//! One place after the other, from one change of what reports or the book say to the next: what of it is news.

use std::collections::BTreeMap;

use yardless_book::half_day::{HalfDay, Range};
use yardless_book::{Book, RoadReport, Weather};

use super::eased::{Eased, Easing};
use super::events::{Effect, EventEffect};
use super::join::{Blocks, EntrySays, EntrySources, Few, OpenBlock};
use super::measured::{Measured, less, more};

/// An alert that counts: when, the row that says what it does, its id and its name by their positions among all.
pub(super) struct CountingAlert {
    pub(super) on: Range,
    pub(super) row: usize,
    pub(super) id: u32,
    pub(super) name: u32,
}

/// What forecasts say of a place, by half-day, and the names of those that say it.
pub(super) type Forecasts = BTreeMap<HalfDay, (Measured, Few)>;

/// What is found on the way.
pub(super) struct Sweep<'b> {
    pub(super) book: &'b Book,
    pub(super) rows: &'b [EventEffect],
    pub(super) blocks: Blocks,
    pub(super) eased: Vec<Eased>,
}

/// What begins and ends at the same half-day.
#[derive(Default)]
struct Edge<'s> {
    ends: Vec<&'s CountingAlert>,
    begins: Vec<&'s CountingAlert>,
}

impl Sweep<'_> {
    /// Takes in all that is reported of a place, which stands at this position.
    pub(super) fn place(&mut self, place: usize, sources: &[&CountingAlert], forecasts: &Forecasts) {
        let id = &self.book.places[place].id;
        let here = |entry: &&Weather| entry.at.as_ref().is_none_or(|at| at.contains(id));
        let own: Vec<&Weather> = self.book.weather.iter().filter(here).collect();
        let mut edges: BTreeMap<HalfDay, Edge> = BTreeMap::new();
        for source in sources {
            edges.entry(source.on.first).or_default().begins.push(source);
            edges.entry(source.on.last.following()).or_default().ends.push(source);
        }
        let forecast = forecasts.keys().map(|half| Range { first: *half, last: *half });
        for on in own.iter().flat_map(|entry| entry.when().stretches()).chain(forecast) {
            edges.entry(on.first).or_default();
            edges.entry(on.last.following()).or_default();
        }
        let mut active = Active::default();
        let mut runs = [OpenBlock::new(place, EntrySays::states), OpenBlock::new(place, EntrySays::measures)];
        let mut edges = edges.into_iter().peekable();
        while let Some((first, edge)) = edges.next() {
            let forecast = forecasts.get(&first);
            let mut fresh = EntrySources {
                names: forecast.map(|(_, names)| names.clone()).unwrap_or_default(),
                ..EntrySources::default()
            };
            for source in &edge.ends {
                active.leave(source);
            }
            for source in &edge.begins {
                active.enter(source);
                fresh.ids.add(source.id);
                fresh.names.add(source.name);
            }
            // At the last edge all has ended.
            let Some((next, _)) = edges.peek() else { break };
            if active.rows.is_empty() && forecast.is_none() {
                continue;
            }
            let on = Range { first, last: next.preceding() };
            let was = BookWeather::of(&own, first);
            let measured = forecast.map(|(measured, _)| *measured).unwrap_or_default();
            let news = news(&active.effect(self.rows), &measured, &was);
            self.eased.extend(eases(&was, &news).into_iter().map(|by| Eased { place: id.clone(), on, by }));
            for run in &mut runs {
                run.take(on, &news, &fresh, &active.named(), &mut self.blocks);
            }
        }
        for run in &mut runs {
            run.close(&mut self.blocks);
        }
    }
}

/// What holds at the moment: rows, ids and names, each with how many alerts bring it.
#[derive(Default)]
struct Active {
    rows: BTreeMap<usize, u32>,
    ids: BTreeMap<u32, u32>,
    names: BTreeMap<u32, u32>,
}

impl Active {
    fn enter(&mut self, source: &CountingAlert) {
        *self.rows.entry(source.row).or_default() += 1;
        *self.ids.entry(source.id).or_default() += 1;
        *self.names.entry(source.name).or_default() += 1;
    }
    fn leave(&mut self, source: &CountingAlert) {
        less_one(&mut self.rows, &source.row);
        less_one(&mut self.ids, &source.id);
        less_one(&mut self.names, &source.name);
    }
    fn named(&self) -> EntrySources {
        EntrySources { ids: Few::of(self.ids.keys()), names: Few::of(self.names.keys()) }
    }
    /// The worst of all.
    fn effect(&self, rows: &[EventEffect]) -> Effect {
        self.rows.keys().map(|row| rows[*row].effect).fold(Effect::default(), |all, one| Effect {
            storm: all.storm || one.storm,
            no_travel: all.no_travel || one.no_travel,
            covered: all.covered || one.covered,
            rain: all.rain || one.rain,
            gust_mph: more(all.gust_mph, one.gust_mph),
            low_f: less(all.low_f, one.low_f),
        })
    }
}

fn less_one<K: Ord>(counts: &mut BTreeMap<K, u32>, key: &K) {
    if let Some(count) = counts.get_mut(key) {
        *count -= 1;
        if *count == 0 {
            counts.remove(key);
        }
    }
}

/// What of the reports is news beside what the book says.
///
/// An alert's number is a bound (gusts of this at least), not a measure: alone it never eases what the book says. A forecast
/// is a measure: it replaces gust, low, high and rain, and what it eases is told. Nothing takes back a storm or opens a road.
/// No alert has a high.
fn news(alerts: &Effect, forecast: &Measured, was: &BookWeather) -> EntrySays {
    let rain = if alerts.rain { Some(true) } else { forecast.rain }.filter(|rain| was.rain != Some(*rain));
    EntrySays {
        storm: alerts.storm && was.storm != Some(true),
        no_travel: alerts.no_travel && was.no_travel != Some(true),
        covered: (alerts.covered || forecast.covered) && was.covered != Some(true),
        gust_mph: more(alerts.gust_mph, forecast.gust_mph)
            .filter(|mph| forecast.gust_mph.is_some() || was.gust_mph.is_none_or(|was| *mph > was))
            .filter(|mph| was.gust_mph != Some(*mph)),
        low_f: less(alerts.low_f, forecast.low_f)
            .filter(|low| forecast.low_f.is_some() || was.low_f.is_none_or(|was| *low < was))
            .filter(|low| was.low_f != Some(*low)),
        high_f: forecast.high_f.filter(|high| was.high_f != Some(*high)),
        // To say that it does not rain is news only where the book says that it does.
        rain: rain.filter(|rain| *rain || was.rain == Some(true)),
    }
}

/// Where news say less than the book.
fn eases(was: &BookWeather, news: &EntrySays) -> Vec<Easing> {
    let mut found = Vec::new();
    if let (Some(old), Some(new)) = (was.gust_mph, news.gust_mph.filter(|new| Some(*new) < was.gust_mph)) {
        found.push(Easing::Gust(old, new));
    }
    if let (Some(old), Some(new)) = (was.low_f, news.low_f.filter(|new| Some(*new) > was.low_f)) {
        found.push(Easing::Low(old, new));
    }
    if let (Some(old), Some(new)) = (was.high_f, news.high_f.filter(|new| Some(*new) < was.high_f)) {
        found.push(Easing::High(old, new));
    }
    if news.rain == Some(false) {
        found.push(Easing::Rain);
    }
    found
}

/// What the book says now of one place in one half-day: its entries in order.
#[derive(Default)]
struct BookWeather {
    storm: Option<bool>,
    no_travel: Option<bool>,
    covered: Option<bool>,
    gust_mph: Option<f64>,
    low_f: Option<f64>,
    high_f: Option<f64>,
    rain: Option<bool>,
}

impl BookWeather {
    /// By the entries of the place.
    fn of(own: &[&Weather], half: HalfDay) -> Self {
        let (mut all, mut roads) = (Self::default(), None);
        for entry in own.iter().filter(|entry| entry.when().holds(half)) {
            entry.storm.over(&mut all.storm);
            entry.no_travel.over(&mut all.no_travel);
            entry.roads.over(&mut roads);
            entry.gust_mph.over(&mut all.gust_mph);
            entry.low_f.over(&mut all.low_f);
            entry.high_f.over(&mut all.high_f);
            entry.rain.over(&mut all.rain);
        }
        all.covered = roads.map(|roads| roads == RoadReport::Covered);
        all
    }
}
