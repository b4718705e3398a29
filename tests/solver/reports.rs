//! Published reports: what is read, which alerts count, where and when, and what that means for the book.
//! All counties, senders and weather are invented (`tests/reports/README.md`); expected values are worked out by hand.

#[path = "../support/draw.rs"]
#[allow(dead_code)] // a part is used
mod draw;
#[path = "reports/forecasts.rs"]
mod forecasts;
#[path = "reports/hostile.rs"]
mod hostile;
#[path = "reports/letters.rs"]
mod letters;
#[path = "../support/memory.rs"]
mod memory;
#[path = "reports/mutations.rs"]
mod mutations;
#[path = "reports/random.rs"]
mod random;
#[path = "reports/rules.rs"]
mod rules;
#[path = "reports/told.rs"]
mod told;
#[path = "reports/worst.rs"]
mod worst;

use chrono::{DateTime, Utc};
use serde_json::{Value, json};
use yardless_book::Book;
use yardless_weather::{Alert, Outcome, Verdict, read_alerts, weigh};

const ALERTS: &str = include_str!("../reports/alerts.json");
const ICE: &str = include_str!("../reports/ice.xml");
const GRID: &str = include_str!("../reports/grid.json");

fn at(text: &str) -> DateTime<Utc> {
    text.parse().expect("a moment")
}

/// Tuesday 8 December 2026, 06:00 in New York.
fn now() -> DateTime<Utc> {
    at("2026-12-08T11:00:00Z")
}

/// A book of five places and nothing to do, with fields put over its own.
fn book(over: &Value) -> Book {
    let mut book = json!({
        "book": 1, "shop": { "name": "Invented", "time_zone": "America/New_York" },
        "places": [
            { "id": "hollow", "zones": ["ZZZ007", "099007"] },
            { "id": "rim", "at": [44.2, -71.5] },
            { "id": "hole", "at": [44.5, -71.5] },
            { "id": "far", "at": [40.0, -80.0], "zones": ["ZZZ099"] },
            { "id": "bare" }
        ],
        "crews": [], "trucks": [], "equipment": [], "jobs": []
    });
    for (name, value) in over.as_object().expect("fields") {
        book[name] = value.clone();
    }
    yardless_book::read(book.to_string().as_bytes()).unwrap_or_else(|faults| panic!("{faults:?}")).book
}

fn alerts(text: &str) -> Vec<Alert> {
    let reading = read_alerts(text.as_bytes());
    assert_eq!(reading.faults, []);
    reading.alerts
}

/// The entries without their notes.
fn entries(outcome: &Outcome) -> Value {
    let bare = outcome.entries.iter().map(|entry| {
        let mut entry = serde_json::to_value(entry).expect("JSON");
        let fields = entry.as_object_mut().expect("an entry");
        fields.retain(|name, _| name != "note" && name != "x_alerts");
        entry
    });
    bare.collect()
}

/// One alert in the shape of the API, with properties put over its own.
fn feature(over: &Value) -> Value {
    let mut said = json!({
        "id": "a", "geocode": { "UGC": ["ZZZ007"] }, "references": [], "sent": "2026-12-08T10:00:00Z",
        "onset": "2026-12-08T12:00:00Z", "ends": "2026-12-08T16:00:00Z", "expires": "2026-12-08T16:00:00Z",
        "status": "Actual", "messageType": "Alert", "event": "Winter Storm Warning", "sender": "s"
    });
    for (name, value) in over.as_object().expect("fields") {
        said[name] = value.clone();
    }
    json!({ "type": "Feature", "geometry": null, "properties": said })
}

/// The same where no place of the book lies, by outline and by code.
fn elsewhere(over: &Value) -> Value {
    let mut one = feature(over);
    one["geometry"] = json!({ "type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 0]]] });
    one["properties"]["geocode"] = json!({ "UGC": ["ZZZ555"] });
    one
}

fn collection(features: &[Value]) -> String {
    json!({ "type": "FeatureCollection", "features": features }).to_string()
}

/// What the alerts of these features mean now.
fn weighed(book: &Book, features: &[Value]) -> Outcome {
    weigh(book, &alerts(&collection(features)), &[], now())
}

#[test]
fn county_of_alerts_becomes_two_entries_and_every_alert_is_told() {
    let outcome = weigh(&book(&json!({})), &alerts(ALERTS), &[], now());
    // The warning's update ends at noon on Wednesday, so it does not touch Wednesday pm; the advisory's polygon has a hole.
    let expected = json!([
        { "on": "2026-12-08", "at": ["rim"], "gust_mph": 46.0 },
        { "on": "2026-12-08 pm/2026-12-09 am", "at": ["hollow"], "storm": true, "roads": "covered" }
    ]);
    assert_eq!(entries(&outcome), expected);
    assert_eq!(outcome.faults, []);
    assert_eq!(outcome.unmatched, ["bare"]);
    let told = |id: &str| outcome.alerts.iter().find(|told| told.id == id).expect("told");
    let passed = |id: &str| match &told(id).verdict {
        Verdict::PassedOver(why) => why.clone(),
        other => panic!("{id}: {other:?}"),
    };
    assert_eq!(passed("urn:oid:1.1"), "replaced by urn:oid:1.2");
    assert!(passed("urn:oid:4.1").contains("test"));
    // A zone without outline says nothing of a place that gives coordinates only, nor an outline of one that gives zones only.
    assert_eq!(told("urn:oid:1.2").unsure[..], ["rim", "hole"]);
    assert_eq!(told("urn:oid:2.1").unsure[..], ["hollow"]);
    // The watch lapses before it begins: open-ended, so 24 hours from its onset, and it stops nothing.
    let watch = told("urn:oid:3.1");
    assert!(watch.open_ended && matches!(&watch.verdict, Verdict::Shown(why) if why.contains("watch")), "{watch:?}");
    assert_eq!(watch.on.expect("half-days").to_string(), "2026-12-11");
    assert!(matches!(&told("urn:oid:5.1").verdict, Verdict::Shown(why) if why.contains("no row")));
    assert_eq!(outcome.entries[1].extra["x_alerts"], json!(["urn:oid:1.2"]));
}

#[test]
fn cap_is_read_in_one_language_with_its_own_order_of_latitude_and_longitude() {
    let read = alerts(ICE);
    assert_eq!(read.len(), 1);
    assert_eq!(read[0].info.headline.as_deref(), Some("Ice & sleet on the hills \u{2014} <invented>"));
    let outcome = weigh(&book(&json!({})), &read, &[], now());
    // CAP has no holes here: both places in the square; 13:00 on Tuesday to 01:00 on Wednesday.
    let expected = json!([{
        "on": "2026-12-08 pm/2026-12-09 am", "at": ["rim", "hole"], "storm": true, "no_travel": true, "roads": "covered"
    }]);
    assert_eq!(entries(&outcome), expected);
}

#[test]
fn what_the_book_says_already_is_not_said_again() {
    let first = weigh(&book(&json!({})), &alerts(ALERTS), &[], now());
    let told = book(&json!({ "weather": first.entries }));
    assert_eq!(entries(&weigh(&told, &alerts(ALERTS), &[], now())), json!([]));
    // A day of it taken back by hand comes again, and only that.
    let mut weather = serde_json::to_value(&first.entries).expect("JSON");
    weather.as_array_mut().expect("entries").push(json!({ "on": "2026-12-09 am", "storm": false }));
    let expected = json!([{ "on": "2026-12-09 am", "at": ["hollow"], "storm": true }]);
    assert_eq!(entries(&weigh(&book(&json!({ "weather": weather })), &alerts(ALERTS), &[], now())), expected);
}

#[test]
fn book_with_a_wrong_zone_or_an_event_twice_is_refused() {
    let codes = |over: &Value| -> Vec<&'static str> {
        let mut book = serde_json::to_value(book(&json!({}))).expect("JSON");
        book.as_object_mut().expect("fields").extend(over.as_object().expect("fields").clone());
        let faults = yardless_book::read(book.to_string().as_bytes()).expect_err("faults");
        faults.all.iter().map(|(fault, _)| fault.code.text()).collect()
    };
    for zone in ["ZZZ08", "zzz008", "09907", "0990071", "ZZX008", "ZZZ0O8", "", "é1234"] {
        assert_eq!(codes(&json!({ "places": [{ "id": "p", "zones": [zone] }] })), ["book::unknown-word"], "{zone}");
    }
    let twice =
        json!({ "reports": { "events": [{ "event": "Gale Warning" }, { "event": "gale warning", "storm": true }] } });
    assert_eq!(codes(&twice), ["book::duplicate-id"]);
    // No alert opens a road.
    assert_eq!(
        codes(&json!({ "reports": { "events": [{ "event": "Thaw", "roads": "clear" }] } })),
        ["book::unknown-word"]
    );
    assert_eq!(codes(&json!({ "reports": { "stale_hours": 0 } })), ["book::out-of-range"]);
}
