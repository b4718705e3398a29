//! Whatever alerts there are: what the entries say, read in order, is what the alerts say, half-day by half-day.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, Utc};
use proptest::prelude::*;
use serde_json::{Value, json};
use yardless_book::Book;
use yardless_book::half_day::HalfDay;
use yardless_weather::weigh;

use crate::{alerts, at, book, collection, feature};

/// Half-days of the days looked at: 8 to 17 December.
const HALF_DAYS: usize = 20;
/// Storm, roads covered, gust: by place and half-day.
type WeatherMap = BTreeMap<(usize, usize), (bool, bool, Option<u32>)>;
/// An alert: event, first hour after the first midnight, hours, places.
type One = (usize, i64, i64, [bool; 3]);

const EVENTS: [(&str, bool, bool, Option<u32>); 4] = [
    ("Winter Storm Warning", true, true, None),
    ("Winter Weather Advisory", false, true, None),
    ("Wind Advisory", false, false, Some(46)),
    ("High Wind Warning", false, false, Some(58)),
];

fn midnight() -> DateTime<Utc> {
    at("2026-12-08T00:00:00Z")
}

/// A shop on UTC, so that half-days are twelve hours each.
fn shop(weather: &Value) -> Book {
    let places: Vec<Value> = (0..3).map(|n| json!({ "id": format!("p{n}"), "zones": [format!("ZZZ00{n}")] })).collect();
    book(&json!({ "shop": { "name": "Invented", "time_zone": "UTC" }, "places": places, "weather": weather }))
}

fn features(all: &[One]) -> Vec<Value> {
    let one = |(nth, (event, from, hours, places)): (usize, &One)| {
        let onset = midnight() + Duration::hours(*from);
        let codes: Vec<String> = (0..3).filter(|place| places[*place]).map(|place| format!("ZZZ00{place}")).collect();
        feature(&json!({
            "id": format!("a{nth}"), "event": EVENTS[*event].0, "sent": "2026-12-07T00:00:00Z", "onset": onset,
            "ends": onset + Duration::hours(*hours), "geocode": { "UGC": codes }
        }))
    };
    all.iter().enumerate().map(one).collect()
}

/// What the alerts say, hour by hour.
fn told(all: &[One]) -> WeatherMap {
    let mut said = WeatherMap::new();
    for (event, from, hours, places) in all {
        let (_, storm, covered, gust) = EVENTS[*event];
        // No hour at all is still a moment.
        for hour in *from..*from + (*hours).max(1) {
            for place in (0..3).filter(|place| places[*place]) {
                let cell = said.entry((place, hour as usize / 12)).or_default();
                *cell = (cell.0 | storm, cell.1 | covered, cell.2.max(gust));
            }
        }
    }
    said
}

/// What a book's entries say, read in order.
fn written(book: &Book) -> WeatherMap {
    let first = HalfDay::am(midnight().date_naive());
    let mut said = WeatherMap::new();
    for entry in &book.weather {
        let json = serde_json::to_value(entry).expect("JSON");
        let halves = std::iter::successors(Some(first), |half| Some(half.following())).take(HALF_DAYS).enumerate();
        for (half, _) in halves.filter(|(_, half)| entry.on.holds(*half)) {
            for place in (0..3).filter(|place| entry.at.as_ref().expect("places").contains(&format!("p{place}"))) {
                let cell = said.entry((place, half)).or_default();
                if let Some(storm) = json.get("storm") {
                    cell.0 = storm == true;
                }
                if let Some(roads) = json.get("roads") {
                    cell.1 = roads == "covered";
                }
                if let Some(gust) = json.get("gust_mph") {
                    cell.2 = gust.as_f64().map(|mph| mph as u32);
                }
            }
        }
    }
    said
}

fn some() -> impl Strategy<Value = Vec<One>> {
    prop::collection::vec((0..EVENTS.len(), 0_i64..150, 0_i64..80, any::<[bool; 3]>()), 0..8)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn entries_say_what_alerts_say(first in some(), second in some()) {
        let now = midnight();
        let added = weigh(&shop(&json!([])), &alerts(&collection(&features(&first))), &[], now).entries;
        let book = shop(&serde_json::to_value(&added).expect("JSON"));
        prop_assert_eq!(written(&book), told(&first));
        // One entry at most for each place and alert, and for each piece that the alerts of a place cut each other into.
        let edges: usize = first.iter().map(|(.., places)| places.iter().filter(|place| **place).count() * 2).sum();
        prop_assert!(added.len() <= edges * 2, "{} entries for {} ends", added.len(), edges);
        // Later alerts on top of what is written: together they say what all of them say.
        let more = weigh(&book, &alerts(&collection(&features(&second))), &[], now).entries;
        let whole = shop(&serde_json::to_value([added, more].concat()).expect("JSON"));
        let all = [first, second].concat();
        prop_assert_eq!(written(&whole), told(&all));
        // And all of them once more say nothing new.
        prop_assert_eq!(weigh(&whole, &alerts(&collection(&features(&all))), &[], now).entries, vec![]);
    }
}
