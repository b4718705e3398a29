//! A storm reported: the entry that is appended, and what is told of it.

use yardless_book::half_day::HalfDay;
use yardless_book::{Book, Report, RoadReport, Weather};

use super::expect_clear::no_longer_expected_clear;
use super::{Storm, listed};
use crate::changes::{BookChange, Remark};
use crate::trouble::{OfStorm, Trouble};
use crate::{Changes, append_weather};

/// The entry that is appended. A storm closes roads to trailers by itself (H2); `covered` says so of the roads besides.
pub fn entry(storm: &Storm, places: &[&str]) -> Result<Weather, Trouble> {
    if let Some(gust) = storm.gust.filter(|gust| !(0.0..=300.0).contains(gust)) {
        return Err(OfStorm::Gust { gust }.into());
    }
    let said = |given: bool| if given { Report::Said(true) } else { Report::Unsaid };
    Ok(Weather {
        at: listed(places),
        storm: Report::Said(true),
        no_travel: said(storm.no_travel),
        roads: if storm.covered { Report::Said(RoadReport::Covered) } else { Report::Unsaid },
        gust_mph: storm.gust.map_or(Report::Unsaid, Report::Said),
        ..Weather::quiet(storm.on)
    })
}

/// Appends it.
pub fn report(book: &Book, entry: Weather, now: HalfDay) -> Result<Changes, Trouble> {
    let on = entry.on.range;
    if on.last < now {
        return Err(OfStorm::Past { on, now }.into());
    }
    let mut changes = Changes::default();
    if book.weather.last() == Some(&entry) {
        return Ok(changes);
    }
    changes.tell(BookChange::Storm(entry.clone()));
    changes.remarks.extend(no_longer_expected_clear(book, &entry).map(Remark::ClearOnlyAfter));
    changes.edits = append_weather(&[entry]);
    Ok(changes)
}

#[cfg(test)]
mod tests {
    use serde_json::json;
    use yardless_book::half_day::Range;

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
