//! A layer of a forecast: values over stretches of time, in a unit.

use chrono::{DateTime, Utc};
use serde_json::Value;

use super::alert::moment;
use super::{Faults, FileFault, shown};

/// Most values of a layer: an hour each for a year.
const MOST: usize = 10_000;
/// Longest stretch of a value, in seconds: 31 days.
const LONGEST: i64 = 31 * 86_400;

/// What a layer measures; the unit that it is converted to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Measure {
    /// Miles per hour.
    Speed,
    /// Degrees Fahrenheit.
    Temperature,
    /// Inches.
    Depth,
}

/// A value over a stretch, in seconds of the epoch, the end not included. No value: unknown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct LayerValue {
    pub(super) from: i64,
    pub(super) to: i64,
    pub(super) value: Option<f64>,
}

impl LayerValue {
    /// How many seconds of it lie in a stretch.
    pub(super) fn within(&self, from: i64, to: i64) -> i64 {
        (self.to.min(to) - self.from.max(from)).max(0)
    }
}

/// Reads a layer: `{"uom": "wmoUnit:km_h-1", "values": [{"validTime": "2026-12-08T05:00:00+00:00/PT3H", "value": 32}]}`.
pub(super) fn read(name: &str, measure: Measure, layer: &Value, faults: &mut Faults) -> Vec<LayerValue> {
    let at = format!("properties.{name}");
    let mut fault = |at: String, says: String| {
        faults.push(|| {
            FileFault::new(at, says, "fetch it again from its publisher; a layer that cannot be read is not calm")
        });
    };
    if layer.is_null() {
        return Vec::new();
    }
    let Some(values) = layer.get("values").and_then(Value::as_array) else {
        fault(at, format!("the layer {name} has no list `values`"));
        return Vec::new();
    };
    if values.len() > MOST {
        fault(at, format!("the layer {name} has {} values, more than {MOST}", values.len()));
        return Vec::new();
    }
    let known = values.iter().any(|entry| entry.get("value").is_some_and(|value| !value.is_null()));
    let unit = layer.get("uom").and_then(Value::as_str);
    let convert = match unit.map(|unit| unit.rsplit(':').next().unwrap_or(unit)) {
        Some(unit) => converter(measure, unit),
        None => None,
    };
    let Some(convert) = convert.or((!known).then_some(same as fn(f64) -> f64)) else {
        let says = unit.map_or("no unit".to_owned(), |unit| format!("the unit `{}`, which is not known", shown(unit)));
        fault(format!("{at}.uom"), format!("the layer {name} has {says}; known are {}", units(measure)));
        return Vec::new();
    };
    let mut spans = Vec::with_capacity(values.len());
    for (index, entry) in values.iter().enumerate() {
        match span(measure, entry, convert) {
            Ok(span) => spans.push(span),
            Err(says) => fault(format!("{at}.values[{index}]"), format!("{name}: {says}")),
        }
    }
    spans.sort_by_key(|span| (span.from, span.to));
    if let Some((_, next)) = spans.iter().zip(spans.iter().skip(1)).find(|(one, next)| one.to > next.from) {
        let when = DateTime::from_timestamp(next.from, 0).unwrap_or_default();
        fault(format!("{at}.values"), format!("{name}: two stretches overlap at {when}"));
        spans.clear();
    }
    spans
}

fn span(measure: Measure, entry: &Value, convert: fn(f64) -> f64) -> Result<LayerValue, String> {
    let valid = entry.get("validTime").and_then(Value::as_str).ok_or("there is no `validTime`")?;
    let (start, length) =
        valid.split_once('/').ok_or_else(|| format!("`{}` has no duration after a slash", shown(valid)))?;
    let from: DateTime<Utc> = moment(start)?;
    let seconds = duration(length).ok_or_else(|| format!("`{}` is no duration such as PT6H", shown(length)))?;
    if !(1..=LONGEST).contains(&seconds) {
        return Err(format!("`{}` is not between a second and 31 days", shown(length)));
    }
    let value = match entry.get("value") {
        None | Some(Value::Null) => None,
        Some(Value::Number(number)) => {
            let value = convert(number.as_f64().ok_or("the value is no number")?);
            let limits = match measure {
                Measure::Speed => 0.0..=300.0,
                Measure::Temperature => -150.0..=150.0,
                Measure::Depth => 0.0..=200.0,
            };
            Some(Some(value).filter(|v| limits.contains(v)).ok_or_else(|| format!("{number} cannot be"))?)
        }
        Some(other) => return Err(format!("the value `{}` is no number", shown(&other.to_string()))),
    };
    Ok(LayerValue { from: from.timestamp(), to: from.timestamp() + seconds, value })
}

/// Seconds of an ISO 8601 duration of weeks, days, hours, minutes and seconds, all whole.
fn duration(text: &str) -> Option<i64> {
    let mut rest = text.strip_prefix('P')?;
    let (mut seconds, mut in_time, mut order) = (0_i64, false, 0);
    if rest.is_empty() || rest.ends_with('T') {
        return None;
    }
    while !rest.is_empty() {
        if let (Some(time), false) = (rest.strip_prefix('T'), in_time) {
            (rest, in_time) = (time, true);
            continue;
        }
        let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
        let number: i64 = rest.get(..digits).filter(|d| d.len() <= 9)?.parse().ok()?;
        let (rank, each) = match (rest.as_bytes().get(digits)?, in_time) {
            (b'W', false) => (1, 604_800),
            (b'D', false) => (2, 86_400),
            (b'H', true) => (3, 3_600),
            (b'M', true) => (4, 60),
            (b'S', true) => (5, 1),
            _ => return None,
        };
        if rank <= order {
            return None;
        }
        (order, seconds) = (rank, seconds.checked_add(number.checked_mul(each)?)?);
        rest = rest.get(digits + 1..)?;
    }
    Some(seconds)
}

/// How a unit becomes the one of the measure. A mile is 1,609.344 m, an inch 25.4 mm, exactly.
fn converter(measure: Measure, unit: &str) -> Option<fn(f64) -> f64> {
    match (measure, unit) {
        (Measure::Speed, "km_h-1") => Some(|v| v / 1.609_344),
        (Measure::Speed, "m_s-1") => Some(|v| v * 3.6 / 1.609_344),
        (Measure::Temperature, "degC") => Some(|v| v * 1.8 + 32.0),
        (Measure::Depth, "mm") => Some(|v| v / 25.4),
        (Measure::Depth, "m") => Some(|v| v / 0.0254),
        (Measure::Temperature, "degF") | (Measure::Depth, "inch") => Some(same),
        _ => None,
    }
}

fn same(value: f64) -> f64 {
    value
}

fn units(measure: Measure) -> &'static str {
    match measure {
        Measure::Speed => "km_h-1 and m_s-1",
        Measure::Temperature => "degC and degF",
        Measure::Depth => "mm, m and inch",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn duration_reads_what_iso_8601_writes_and_nothing_else() {
        // Seconds by hand; the forms are those that the grid's own documentation lists, and an order that ISO 8601 forbids.
        for (text, seconds) in
            [("PT1H", 3_600), ("P1DT2H", 93_600), ("P7DT23H", 687_600), ("P1W", 604_800), ("PT90M", 5_400)]
        {
            assert_eq!(duration(text), Some(seconds), "{text}");
        }
        for text in [
            "",
            "P",
            "PT",
            "P1DT",
            "1H",
            "PT1D",
            "P1H",
            "P1Y",
            "P1M",
            "PT1.5H",
            "PT-1H",
            "PT1H1H",
            "PT1M1H",
            "PTT1H",
            "PT9999999999H",
        ] {
            assert_eq!(duration(text), None, "{text}");
        }
    }
}
