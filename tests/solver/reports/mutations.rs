//! Reports with something changed in them: bytes, words, whole parts. Read and weighed they give faults or entries, never a
//! panic, and never keep anybody waiting. `YARDLESS_MUTATIONS=100000` takes as many.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::Duration;

use serde_json::{Value, json};
use yardless_book::Book;
use yardless_weather::{forecast, read_alerts, weigh};

use crate::draw::Draw;
use crate::memory::{worked, worked_since};
use crate::{ALERTS, GRID, ICE, book as made, collection, elsewhere, feature, now};

/// Longest that a file of a few kB or of 1 MB may have a core.
const LONGEST: Duration = Duration::from_secs(2);

/// Words that are at the edge of what is read.
const WORDS: [&str; 38] = [
    "",
    "null",
    "true",
    "0",
    "-1",
    "1e999",
    "-0.0",
    "1e-320",
    "99999999999999999999",
    "NaN",
    "\"\"",
    "[]",
    "{}",
    "[[",
    "}}",
    "\\u0000",
    "\\ud800",
    "\u{0}",
    "\u{feff}",
    "\u{202e}",
    "&#0;",
    "&#x110000;",
    "&amp;",
    "<!--",
    "]]>",
    "<![CDATA[",
    "<info>",
    "</area>",
    "<?xml version='1.0' encoding='latin1'?>",
    "AllClear",
    "Past",
    "2000-01-01T00:00:00Z",
    "2099-12-31T23:59:59Z",
    "2026-12-31T23:59:60Z",
    "2026-12-08T11:00:00+14:00",
    "P1D",
    "180",
    "\u{e9}",
];

/// What is changed: the reports of the fixtures and some made up, and large ones of about 1 MB.
fn seeds(draw: &mut Draw) -> Vec<Vec<u8>> {
    let some = |draw: &mut Draw, n: usize| {
        let events = ["Winter Storm Warning", "Blizzard Warning", "Wind Advisory", "Gale Watch", "Flood"];
        let one = |n: usize| {
            let over = json!({
                "id": format!("a{n}"), "event": draw.pick(&events), "messageType": draw.pick(&["Alert", "Update", "Cancel"]),
                "onset": now() + chrono::Duration::hours(draw.below(200) as i64 - 50),
                "ends": now() + chrono::Duration::hours(draw.below(3_000) as i64), "urgency": draw.pick(&["Past", "Future"]),
                "references": [{ "identifier": format!("a{}", draw.below(n + 1)), "sender": "s" }]
            });
            if draw.chance(30) { elsewhere(&over) } else { feature(&over) }
        };
        collection(&(0..n).map(one).collect::<Vec<_>>()).into_bytes()
    };
    let mut all: Vec<Vec<u8>> = [ALERTS, ICE, GRID].iter().map(|text| text.as_bytes().to_vec()).collect();
    all.extend([1, 5, 20].map(|n| some(draw, n)));
    all
}

/// A report changed in one to five ways.
fn mutant(draw: &mut Draw, seeds: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = draw.pick(seeds);
    for _ in 0..draw.between(1, 5) {
        bytes = match draw.below(4) {
            0 => by_value(draw, &bytes).unwrap_or(bytes),
            1 => by_element(draw, bytes),
            _ => by_byte(draw, bytes, seeds),
        };
    }
    bytes
}

/// Bytes changed, left out, doubled, put in from elsewhere.
fn by_byte(draw: &mut Draw, mut bytes: Vec<u8>, seeds: &[Vec<u8>]) -> Vec<u8> {
    let at = draw.below(bytes.len() + 1);
    let to = (at + draw.below(40)).min(bytes.len());
    match draw.below(6) {
        0 if at < bytes.len() => bytes[at] = draw.below(256) as u8,
        1 => drop(bytes.drain(at..to)),
        2 => {
            let part = bytes[at..to].to_vec();
            let elsewhere = draw.below(bytes.len() + 1);
            bytes.splice(elsewhere..elsewhere, part.repeat(draw.between(1, 20)));
        }
        3 => bytes.truncate(at),
        4 => {
            let other = draw.pick(seeds);
            let from = draw.below(other.len());
            let part = other[from..(from + draw.below(500)).min(other.len())].to_vec();
            bytes.splice(at..to, part);
        }
        _ => drop(bytes.splice(at..to, draw.pick(&WORDS).bytes())),
    }
    bytes
}

/// A stretch from one tag to another left out, doubled or moved.
fn by_element(draw: &mut Draw, mut bytes: Vec<u8>) -> Vec<u8> {
    let tags: Vec<usize> = (0..bytes.len()).filter(|at| bytes[*at] == b'<').collect();
    if tags.len() < 2 {
        return bytes;
    }
    let (a, b) = (draw.pick(&tags), draw.pick(&tags));
    let part: Vec<u8> = bytes[a.min(b)..a.max(b)].to_vec();
    if draw.chance(50) {
        bytes.drain(a.min(b)..a.max(b));
    }
    let at = draw.pick(&tags).min(bytes.len());
    bytes.splice(at..at, part.repeat(draw.below(3)));
    bytes
}

/// A value of JSON put in the place of another, taken out, or repeated.
fn by_value(draw: &mut Draw, bytes: &[u8]) -> Option<Vec<u8>> {
    let mut whole: Value = serde_json::from_slice(bytes).ok()?;
    let mut paths = Vec::new();
    all_paths(&whole, String::new(), &mut paths);
    let (from, to) = (draw.pick(&paths), draw.pick(&paths));
    let value = match draw.below(4) {
        0 => whole.pointer(&from)?.clone(),
        1 => serde_json::from_str(draw.pick(&WORDS)).unwrap_or(Value::Null),
        2 => draw.pick(&WORDS).into(),
        _ => {
            let one = whole.pointer(&to)?.clone();
            Value::Array(vec![one; draw.below(30)])
        }
    };
    *whole.pointer_mut(&to)? = value;
    serde_json::to_vec(&whole).ok()
}

fn all_paths(value: &Value, here: String, paths: &mut Vec<String>) {
    match value {
        Value::Array(list) => {
            list.iter().enumerate().for_each(|(n, inner)| all_paths(inner, format!("{here}/{n}"), paths));
        }
        Value::Object(fields) => {
            for (name, inner) in fields {
                all_paths(inner, format!("{here}/{}", name.replace('~', "~0").replace('/', "~1")), paths);
            }
        }
        _ => {}
    }
    paths.push(here);
}

/// Reads a file as alerts and as a forecast, and weighs what it gives. Every fault says where, what, and what to do; what
/// would be written reads as a book, and is not said again.
fn apply(shop: &Book, bytes: &[u8]) {
    let reading = read_alerts(bytes);
    let forecast = forecast::read(bytes);
    let faults = reading.faults.iter().chain(forecast.as_ref().err().into_iter().flatten());
    for fault in faults {
        assert!(![&fault.at, &fault.says, &fault.help].iter().any(|text| text.trim().is_empty()), "{fault:?}");
    }
    let forecasts: Vec<_> = forecast.into_iter().map(|forecast| ("rim".to_owned(), forecast)).collect();
    let outcome = weigh(shop, &reading.alerts, &forecasts, now());
    assert_eq!(outcome.alerts.len(), reading.alerts.len());
    if outcome.entries.is_empty() {
        return;
    }
    let mut written = serde_json::to_value(shop).expect("JSON");
    written["weather"] = serde_json::to_value(&outcome.entries).expect("JSON");
    let written =
        yardless_book::read(written.to_string().as_bytes()).unwrap_or_else(|faults| panic!("{faults:?}")).book;
    assert_eq!(weigh(&written, &reading.alerts, &forecasts, now()).entries, []);
}

#[test]
fn changed_reports_are_read_or_refused_and_nothing_panics() {
    let many: u64 = std::env::var("YARDLESS_MUTATIONS").map_or(4_000, |many| many.parse().expect("a number"));
    let shop = made(&json!({}));
    let mut read = 0;
    for seed in 0..many {
        let mut draw = Draw::new(seed);
        let seeds = seeds(&mut draw);
        let mut bytes = mutant(&mut draw, &seeds);
        if seed % 500 == 499 {
            // Now and then a part many times over, to 1 MB.
            let (from, to) = (draw.below(bytes.len() + 1), draw.below(bytes.len() + 1));
            let part = bytes[from.min(to)..from.max(to)].to_vec();
            let times = 1_000_000 / part.len().max(1);
            bytes.splice(from.max(to)..from.max(to), part.repeat(times));
        }
        let started = worked();
        let done = catch_unwind(AssertUnwindSafe(|| apply(&shop, &bytes)));
        let took = worked_since(started);
        assert!(done.is_ok() && took < LONGEST, "seed {seed}, {took:?}:\n{:.3000}", String::from_utf8_lossy(&bytes));
        read += usize::from(read_alerts(&bytes).faults.is_empty() || forecast::read(&bytes).is_ok());
    }
    // Most are refused; were all, nothing would have been weighed.
    assert!(read as u64 * 10 > many, "{read} of {many} were read");
}
