//! A forecast for one place: the grid of the US National Weather Service's API, made into half-days.

use chrono::{DateTime, Duration, Utc};
use serde::Deserialize;
use serde_json::Value;
use serde_json::value::RawValue;
use yardless_book::Reports;
use yardless_book::half_day::HalfDay;

use super::alert::moment;
use super::area::Polygon;
use super::clock::Hours;
use super::geojson::{not_json, polygon, tree};
use super::layer::{self, LayerValue, Measure};
use super::measured::Measured;
use super::{Faults, FileFault, LARGEST, shown, too_large};

/// Freezing, degrees Fahrenheit.
const FREEZING: f64 = 32.0;
/// So much may a value pass a whole number and still be rounded to it: conversions are not exact.
const HAIR: f64 = 0.05;

/// What a forecast says; speeds in miles per hour, temperatures in degrees Fahrenheit, depths in inches.
#[derive(Clone, Debug, Default)]
pub struct Forecast {
    /// When it was made.
    pub updated: Option<DateTime<Utc>>,
    /// Layers that it does not have, by name.
    pub missing: Vec<&'static str>,
    /// The square that it is for, where it says so.
    pub(super) square: Option<Polygon>,
    gust: Vec<LayerValue>,
    temperature: Vec<LayerValue>,
    snow: Vec<LayerValue>,
    ice: Vec<LayerValue>,
    water: Vec<LayerValue>,
}

#[derive(Deserialize)]
struct ForecastHead<'t> {
    #[serde(borrow)]
    geometry: Option<&'t RawValue>,
    #[serde(borrow)]
    properties: Option<Layers<'t>>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Layers<'t> {
    #[serde(borrow)]
    update_time: Option<&'t RawValue>,
    #[serde(borrow)]
    wind_gust: Option<&'t RawValue>,
    #[serde(borrow)]
    temperature: Option<&'t RawValue>,
    #[serde(borrow)]
    snowfall_amount: Option<&'t RawValue>,
    #[serde(borrow)]
    ice_accumulation: Option<&'t RawValue>,
    #[serde(borrow)]
    quantitative_precipitation: Option<&'t RawValue>,
}

/// Reads a grid. With any fault there is no forecast: half a grid would look calm where it is only unread.
pub fn read(bytes: &[u8]) -> Result<Forecast, Vec<FileFault>> {
    if bytes.len() > LARGEST {
        return Err(vec![too_large(bytes.len())]);
    }
    let head: ForecastHead =
        serde_json::from_slice(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes)).map_err(|e| vec![not_json(&e)])?;
    let Some(layers) = head.properties else {
        let says = "there are no `properties`: this is no forecast grid";
        return Err(vec![FileFault::new(
            "the file",
            says,
            "give the answer of the API's `forecastGridData` as it came",
        )]);
    };
    let mut faults = Faults::default();
    let mut forecast = Forecast::default();
    match layers.update_time.map(|raw| updated(raw.get())) {
        None => {}
        Some(Ok(updated)) => forecast.updated = Some(updated),
        Some(Err(says)) => {
            faults.push(|| FileFault::new("properties.updateTime", says, "fetch it again from its publisher"));
        }
    }
    match head.geometry.map(|raw| square(raw.get())) {
        None => {}
        Some(Ok(square)) => forecast.square = square,
        Some(Err(says)) => faults.push(|| FileFault::new("geometry", says, "fetch it again from its publisher")),
    }
    let mut missing = Vec::new();
    let mut take = |name: &'static str, measure: Measure, raw: Option<&RawValue>| {
        let spans = raw.map_or_else(Vec::new, |raw| spans(name, measure, raw.get(), &mut faults));
        if spans.iter().all(|span| span.value.is_none()) {
            missing.push(name);
        }
        spans
    };
    forecast.gust = take("windGust", Measure::Speed, layers.wind_gust);
    forecast.temperature = take("temperature", Measure::Temperature, layers.temperature);
    forecast.snow = take("snowfallAmount", Measure::Depth, layers.snowfall_amount);
    forecast.ice = take("iceAccumulation", Measure::Depth, layers.ice_accumulation);
    forecast.water = take("quantitativePrecipitation", Measure::Depth, layers.quantitative_precipitation);
    forecast.missing = missing;
    if faults.count == 0 { Ok(forecast) } else { Err(faults.told()) }
}

/// When a grid was made.
fn updated(text: &str) -> Result<DateTime<Utc>, String> {
    match serde_json::from_str::<String>(text) {
        Ok(text) => moment(&text),
        Err(_) => Err(format!("`{}` is no moment", shown(text))),
    }
}

/// The square of a grid; nothing where it is `null` or no polygon.
fn square(text: &str) -> Result<Option<Polygon>, String> {
    let value = tree(text)?;
    match (value.get("type").and_then(Value::as_str), value.get("coordinates")) {
        (Some("Polygon"), Some(rings)) => polygon(rings).map(Some),
        _ => Ok(None),
    }
}

fn spans(name: &str, measure: Measure, text: &str, faults: &mut Faults) -> Vec<LayerValue> {
    match tree(text) {
        Ok(value) => layer::read(name, measure, &value, faults),
        Err(says) => {
            let says = format!("the layer {name} cannot be read: {says}");
            faults.push(|| FileFault::new(format!("properties.{name}"), says, "fetch it again from its publisher"));
            Vec::new()
        }
    }
}

impl Forecast {
    /// How old it is; nothing where it does not say when it was made.
    pub fn age(&self, now: DateTime<Utc>) -> Option<Duration> {
        self.updated.map(|updated| now - updated)
    }

    /// The first and the last second that any layer says something about.
    pub(super) fn reach(&self) -> Option<(i64, i64)> {
        let all = || [&self.gust, &self.temperature, &self.snow, &self.ice, &self.water].into_iter().flatten();
        let known = || all().filter(|span| span.value.is_some());
        Some((known().map(|span| span.from).min()?, known().map(|span| span.to).max()?))
    }

    /// What it knows of a half-day: of its hours, and of the snow and ice since the hours before.
    pub(super) fn half_day(&self, hours: &Hours, half: HalfDay, policy: &Reports) -> Measured {
        let (from, to) = hours.worked(half);
        let (since, till) = hours.since_last(half);
        let (snow, ice) = (amount(&self.snow, since, till), amount(&self.ice, since, till));
        Measured {
            // A hair under the threshold is the threshold: a share of a total is not exact.
            covered: snow >= policy.covered_snow_in - 1e-9 || ice >= policy.covered_ice_in - 1e-9,
            ..if from < to { self.measured(from, to) } else { Measured::default() }
        }
    }

    /// What it knows of the hours of a half-day.
    fn measured(&self, from: i64, to: i64) -> Measured {
        let gust = over(&self.gust, from, to).map(|(_, value)| value).reduce(f64::max);
        let degrees = || over(&self.temperature, from, to).map(|(_, value)| value);
        let (low, high) = (degrees().reduce(f64::min), degrees().reduce(f64::max));
        let partly = |spans: &[LayerValue], any: bool| any && known(spans, from, to) < to - from;
        Measured {
            gust_mph: gust.map(|mph| (mph - HAIR).ceil().max(0.0)),
            // Minus nothing is nothing.
            low_f: low.map(|low| (low + HAIR).floor() + 0.0),
            high_f: high.map(|high| (high - HAIR).ceil() + 0.0),
            rain: self.rain(from, to),
            covered: false,
            partly: partly(&self.gust, gust.is_some()) || partly(&self.temperature, low.is_some()),
        }
    }

    /// Whether water falls while it is above freezing. Known to be dry only where every moment is known to be dry or frozen.
    fn rain(&self, from: i64, to: i64) -> Option<bool> {
        let (mut settled, mut wet) = (0, false);
        for (fall, water) in over(&self.water, from, to) {
            let (start, end) = (fall.from.max(from), fall.to.min(to));
            if water <= 0.0 {
                settled += end - start;
                continue;
            }
            for (warm, degrees) in over(&self.temperature, start, end) {
                wet |= degrees > FREEZING;
                settled += warm.within(start, end);
            }
        }
        // What is frozen all through is dry whether or not the amount is known.
        let frozen = known(&self.temperature, from, to) == to - from
            && over(&self.temperature, from, to).all(|(_, degrees)| degrees <= FREEZING);
        match (wet, frozen || settled == to - from) {
            (true, _) => Some(true),
            (false, true) => Some(false),
            (false, false) => None,
        }
    }
}

/// The stretches of a layer that touch a stretch, with their values, where known. They stand in order and apart.
fn over(spans: &[LayerValue], from: i64, to: i64) -> impl Iterator<Item = (&LayerValue, f64)> {
    let first = spans.partition_point(|span| span.to <= from);
    let touching = spans.iter().skip(first).take_while(move |span| span.from < to);
    touching.filter_map(|span| Some((span, span.value?)))
}

/// How many seconds of a stretch are known.
fn known(spans: &[LayerValue], from: i64, to: i64) -> i64 {
    over(spans, from, to).map(|(span, _)| span.within(from, to)).sum()
}

/// What falls within a stretch: each total shared out evenly over its own time.
fn amount(spans: &[LayerValue], from: i64, to: i64) -> f64 {
    over(spans, from, to).map(|(span, total)| total * span.within(from, to) as f64 / (span.to - span.from) as f64).sum()
}
