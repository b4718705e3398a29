//! Single values against their schema: numbers in their limits, words, ids, times, coordinates.

use std::str::FromStr;

use jsonc_parser::ast;
use serde_json::{Value, json};

use super::super::fault::Code;
use super::super::near::{Suggestions, meant, shown};
use super::rules::Rules;
use crate::LONGEST_ID;
use crate::half_day::{HalfDay, NotATime, Range, parse_date};
use crate::money::Cents;
use crate::recurring::{ClockHours, Season};

/// What is wrong with a value: its kind, a sentence that follows the field's name, the remedy.
pub(super) struct Wrong {
    pub(super) code: Code,
    pub(super) says: String,
    pub(super) help: Option<String>,
    /// Whether the value can still be known by others as it is: an id with a slash is still the id that was meant.
    pub(super) usable: bool,
}

fn wrong(code: Code, says: impl Into<String>, help: impl Into<String>) -> Wrong {
    Wrong { code, says: says.into(), help: Some(help.into()), usable: false }
}

/// A number as the book gives it; a whole number may be written `2.0` or `2e0`.
pub(super) fn number(rules: &Rules, written: &str) -> Result<Value, Wrong> {
    let is = shown(written);
    let value: f64 = written.parse().unwrap_or(f64::NAN);
    let whole = rules.takes() == "integer";
    if !value.is_finite() || (whole && value.fract() != 0.0) {
        return Err(wrong(
            Code::WrongNumber,
            format!("is {is}, which is not a whole number"),
            "write it without decimals",
        ));
    }
    let low = rules.number("minimum").is_some_and(|least| value < least)
        || rules.number("exclusiveMinimum").is_some_and(|above| value <= above);
    if low || rules.number("maximum").is_some_and(|most| value > most) {
        return Err(wrong(Code::OutOfRange, format!("is {is}"), format!("it must be {}", rules.limits())));
    }
    // Exactly as many cents as written: a price of 0.000001 is not nothing.
    let off = |cents: Cents| (cents.dollars() - value).abs() > 0.0;
    if rules.text("format") == "dollars" && Cents::from_dollars(value).is_none_or(off) {
        return Err(wrong(Code::WrongNumber, format!("is {is}; a dollar has 100 cents"), "give at most two decimals"));
    }
    Ok(if whole { json!(value as i64) } else { json!(value) })
}

/// A text as the book gives it.
pub(super) fn text(rules: &Rules, written: &str, suggest: &mut Suggestions) -> Result<(), Wrong> {
    let is = shown(written);
    let words = rules.words();
    if !words.is_empty() && !words.contains(&written) {
        let near = suggest.did_you_mean(written, words.iter().copied());
        let names = match rules.text("format") {
            "caution" => "; without the field, words in names decide: staging, scaffold, air seal, foam, dense pack",
            _ => "",
        };
        let help = format!("it must be {}{names}", one_of(&words));
        return Err(wrong(Code::UnknownWord, format!("is `{is}`{near}"), help));
    }
    let time = |found: Result<(), NotATime>| {
        found.map_err(|NotATime { says, write }| Wrong {
            code: Code::WrongTime,
            says: as_shown(&says, written),
            help: write.map(str::to_owned),
            usable: false,
        })
    };
    match rules.text("format") {
        "id" => id(written),
        "zone" if !is_zone(written) => {
            let help = "write a UGC code such as ZZZ007 (zone) or ZZC007 (county), or the six digits of a SAME code";
            Err(wrong(Code::UnknownWord, format!("is `{is}`, which is no code of a zone"), help))
        }
        "date" => time(parse_date(written).map(drop)),
        "range" => time(Range::from_str(written).map(drop)),
        "half-day" => time(HalfDay::from_str(written).map(drop)),
        "season" => time(Season::from_str(written).map(drop)),
        "clock-hours" => time(ClockHours::from_str(written).map(drop)),
        "power-from" if written == "never" => Ok(()),
        "power-from" => time(parse_date(written).map(drop))
            .map_err(|e| Wrong { help: Some("write the date from which there is power, or \"never\"".into()), ..e }),
        "time-zone" if chrono_tz::Tz::from_str(written).is_err() => {
            let known = || chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
            let city = |zone: &'static str| zone.rsplit('/').next().unwrap_or_default();
            // `New York` means the zone of that city.
            let near = suggest.nearest(written, known()).or_else(|| {
                let near = suggest.nearest(written, known().map(city))?;
                known().find(|zone| city(zone) == near)
            });
            let help = "write the IANA name of a time zone, such as America/New_York";
            Err(wrong(Code::UnknownTimeZone, format!("is `{is}`, which is no time zone{}", meant(near)), help))
        }
        _ if written.is_empty() && rules.get("minLength").is_some() => {
            Err(wrong(Code::OutOfRange, "is empty", "give it at least one letter"))
        }
        _ => Ok(()),
    }
}

/// UGC: two capitals, C or Z, three digits. SAME: six digits.
fn is_zone(written: &str) -> bool {
    let digits = |part: &[u8]| part.iter().all(u8::is_ascii_digit);
    match written.as_bytes() {
        [a, b, b'C' | b'Z', number @ ..] if number.len() == 3 => {
            a.is_ascii_uppercase() && b.is_ascii_uppercase() && digits(number)
        }
        same => same.len() == 6 && digits(same),
    }
}

fn one_of(words: &[&str]) -> String {
    let (last, others) = words.split_last().expect("there are words");
    if others.is_empty() { (*last).to_owned() } else { format!("{} or {last}", others.join(", ")) }
}

fn id(written: &str) -> Result<(), Wrong> {
    let says = if written.is_empty() {
        "is empty".to_owned()
    } else if written.contains('/') {
        format!("is `{}`, with a slash", shown(written))
    } else if written.chars().count() > LONGEST_ID {
        format!("is `{}`, longer than {LONGEST_ID} letters", shown(written))
    } else {
        return Ok(());
    };
    let help = "an id is any text without `/`, so that `job/step` can name a step of another job";
    Err(Wrong { usable: true, ..wrong(Code::BadId, says, help) })
}

/// A sentence about a text with the text made fit to print.
fn as_shown(says: &str, written: &str) -> String {
    // The sentence may quote a part of the text only; then all of the sentence is made fit.
    if written.is_empty() || !says.contains(written) {
        return shown(says);
    }
    says.replace(written, &shown(written))
}

/// Latitude and longitude.
pub(super) fn coordinates(list: &ast::Array) -> Result<Value, Wrong> {
    let degrees: Vec<f64> = list
        .elements
        .iter()
        .map(|element| element.as_number_lit().and_then(|number| number.value.parse().ok()).unwrap_or(f64::NAN))
        .collect();
    match degrees.as_slice() {
        [lat, lon] if lat.abs() <= 90.0 && lon.abs() <= 180.0 => Ok(json!([lat, lon])),
        [lat, lon] if lat.abs() <= 180.0 && lon.abs() <= 90.0 => Err(wrong(
            Code::WrongCoordinates,
            "is not on the globe",
            "latitude comes first, then longitude: they look swapped",
        )),
        _ => Err(wrong(
            Code::WrongCoordinates,
            "is not on the globe",
            "write [latitude, longitude] in degrees: -90 to 90, then -180 to 180, such as [43.1, -73.9]",
        )),
    }
}
