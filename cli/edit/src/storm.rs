//! A storm written into the book's weather, or taken back.

mod taken_back;

use yardless_book::half_day::{HalfDay, Range};
use yardless_book::{Book, Report, RoadReport, Weather};

use crate::book_file::BookFile;
use crate::note::place_id;
use crate::trouble::{OfStorm, Trouble, places as at};
use crate::{Changes, append_weather};

/// A storm as somebody reports it.
#[allow(clippy::struct_excessive_bools)] // each is said or not
#[derive(Clone, Debug)]
pub struct Storm {
    /// When.
    pub on: Range,
    /// Where, by the ids or names of places; none: everywhere.
    pub at: Vec<String>,
    /// Nobody travels: no work and no hauls.
    pub no_travel: bool,
    /// The roads are covered: closed to trailers, also where the storm is taken back by a later report.
    pub covered: bool,
    /// Gusts of so many miles per hour, 0 to 300.
    pub gust: Option<f64>,
    /// The storm of that range is taken back.
    pub clear: bool,
    /// The half-day it is now; `None`: by the shop's clock.
    pub now: Option<HalfDay>,
}

/// Appends the report of a storm in a range, or takes one back.
pub fn changes(file: &BookFile, storm: &Storm) -> Result<Changes, Trouble> {
    let book = &file.written.book;
    let mut places: Vec<&str> = Vec::new();
    for place in &storm.at {
        let id = place_id(book, place)?;
        if !places.contains(&id) {
            places.push(id);
        }
    }
    let now = storm.now.unwrap_or_else(|| file.half_day_now());
    if storm.clear { taken_back::clear(file, storm.on, &places) } else { report(book, entry(storm, &places)?, now) }
}

/// The entry that is appended. A storm closes roads to trailers by itself (H2); `covered` says so of the roads besides.
fn entry(storm: &Storm, places: &[&str]) -> Result<Weather, Trouble> {
    if let Some(gust) = storm.gust.filter(|gust| !(0.0..=300.0).contains(gust)) {
        return Err(OfStorm::Gust { gust }.into());
    }
    let said = |given: bool| if given { Report::Said(true) } else { Report::Unsaid };
    Ok(Weather {
        on: storm.on,
        at: listed(places),
        storm: Report::Said(true),
        no_travel: said(storm.no_travel),
        roads: if storm.covered { Report::Said(RoadReport::Covered) } else { Report::Unsaid },
        gust_mph: storm.gust.map_or(Report::Unsaid, Report::Said),
        low_f: Report::Unsaid,
        rain: Report::Unsaid,
        extra: serde_json::Map::new(),
    })
}

fn report(book: &Book, entry: Weather, now: HalfDay) -> Result<Changes, Trouble> {
    if entry.on.last < now {
        return Err(OfStorm::Past { on: entry.on, now }.into());
    }
    let mut changes = Changes::default();
    if book.weather.last() == Some(&entry) {
        return Ok(changes);
    }
    let mut words = vec!["storm: no outside work, no trailer on the road".to_owned()];
    if entry.no_travel == Report::Said(true) {
        words.push("no travel: no work, no hauls".to_owned());
    }
    if entry.roads == Report::Said(RoadReport::Covered) {
        words.push("roads covered: no trailer".to_owned());
    }
    if let Report::Said(gust) = entry.gust_mph {
        words.push(format!("gusts {gust} mph"));
    }
    changes.lines.push(format!("{}, {}: {}", entry.on, at(entry.at.as_deref()), words.join("; ")));
    changes.notes.extend(no_longer_expected_clear(book, &entry));
    changes.edits = append_weather(&[entry]);
    Ok(changes)
}

/// Places as an entry lists them: none is everywhere.
fn listed(places: &[&str]) -> Option<Vec<String>> {
    (!places.is_empty()).then(|| places.iter().map(|place| (*place).to_owned()).collect())
}

/// H2: `expect_clear` counts after the last date that any entry covers, so that an entry far ahead ends it before then.
fn no_longer_expected_clear(book: &Book, entry: &Weather) -> Option<String> {
    let here = |place: &str| entry.at.as_ref().is_none_or(|at| at.iter().any(|id| id == place));
    let last = |place: &str| {
        let covers = |weather: &&Weather| weather.at.as_ref().is_none_or(|at| at.iter().any(|id| id == place));
        book.weather.iter().filter(covers).map(|weather| weather.on.last.date()).max()
    };
    let hopes = |place: &&yardless_book::Place| {
        let road = book.roads.iter().find(|road| Some(&road.id) == place.road.as_ref());
        road.is_some_and(|road| !road.expect_clear.is_empty())
    };
    let mut places = book.places.iter().filter(hopes).filter(|place| here(&place.id));
    let until = entry.on.last.date();
    places.any(|place| last(&place.id).is_none_or(|last| last < until)).then(|| {
        format!(
            "weekdays on which roads are expected clear count there only after {until} now, the last date reported (H2)"
        )
    })
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn entry_says_only_what_was_asked_for() {
        let on: Range = "2026-12-09 pm".parse().expect("a range");
        let storm = Storm { on, at: vec![], no_travel: false, covered: true, gust: None, clear: false, now: None };
        let entry = entry(&storm, &["hill"]).expect("an entry");
        let written = crate::value(&entry);
        assert_eq!(written, json!({ "on": "2026-12-09 pm", "at": ["hill"], "storm": true, "roads": "covered" }));
    }
}
