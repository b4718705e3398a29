//! Files that are cut off, wrong or meant to do harm: each its own clear refusal, and never a panic.

use std::fmt::Write;

use serde_json::{Value, json};
use yardless_weather::{FileFault, LARGEST, cap, forecast, geojson, read_alerts};

use crate::{ALERTS, GRID, ICE, book, collection, elsewhere, feature, weighed};

/// The only fault of a file.
#[track_caller]
fn only(text: &str) -> FileFault {
    let reading = read_alerts(text.as_bytes());
    assert!(reading.alerts.is_empty(), "{:?}", reading.alerts);
    assert_eq!(reading.faults.len(), 1, "{:?}", reading.faults);
    reading.faults[0].clone()
}

#[track_caller]
fn refused(text: &str, at: &str, says: &str) {
    let fault = only(text);
    assert!(fault.at.contains(at) && fault.says.contains(says) && !fault.help.is_empty(), "{fault:?}");
}

#[test]
fn entities_are_refused_and_never_expanded() {
    let mut bomb = "<?xml version=\"1.0\"?>\n<!DOCTYPE alert [\n<!ENTITY a0 \"ha\">\n".to_owned();
    for n in 1..40 {
        writeln!(bomb, "<!ENTITY a{n} \"&a{0};&a{0};\">", n - 1).expect("a text");
    }
    bomb += "]>\n<alert xmlns=\"urn:oasis:names:tc:emergency:cap:1.2\"><identifier>&a39;</identifier></alert>";
    refused(&bomb, "line 2", "DOCTYPE");
    refused("<!DOCTYPE alert SYSTEM \"file:///etc/passwd\"><alert/>", "line 1, column 1", "DOCTYPE");
    refused(&ICE.replace("Ice &amp; sleet", "Ice &sleet;"), "line 30, column 19", "`&sleet;` is no letter");
    // Also once the alert has begun.
    refused(&ICE.replace("</alert>", "<!DOCTYPE x></alert>"), "line 38, column 1", "DOCTYPE");
}

#[test]
fn depth_and_size_have_their_limits() {
    refused(&"<a>".repeat(100_000), "line 1, column 97", "more than 32 deep");
    refused(&format!("<a>{}</a>", "<b/>".repeat(1_000_001)), "line 1", "more than 1000000 elements");
    for reading in [
        read_alerts(&vec![b' '; LARGEST + 1]),
        cap::read(&vec![b'<'; LARGEST + 1]),
        geojson::read(&vec![b'{'; LARGEST + 1]),
    ] {
        assert!(reading.faults.len() == 1 && reading.faults[0].says.contains("50 MB"), "{:?}", reading.faults);
    }
    assert!(forecast::read(&vec![b'{'; LARGEST + 1]).expect_err("too large")[0].says.contains("50 MB"));
    // Deep JSON: no parser runs out of its stack.
    let deep = format!("{}{}", "[".repeat(100_000), "]".repeat(100_000));
    let mut one = collection(&[feature(&json!({ "note": 1 }))]);
    one = one.replace("\"note\":1", &format!("\"note\":{deep}"));
    refused(&one, "features[0]", "recursion");
    let heavy = feature(&json!({ "description": "x".repeat(4_000_001) }));
    refused(&collection(&[heavy]), "features[0]", "more than 4000000");
    let many = format!("{{\"type\":\"FeatureCollection\",\"features\":[{}{{}}]}}", "{},".repeat(20_000));
    refused(&many, "features", "20001 alerts");
    let many = format!("<r xmlns=\"urn:oasis:names:tc:emergency:cap:1.2\">{}</r>", "<alert/>".repeat(20_001));
    refused(&many, "the file", "more than 20000 alerts");
    // Many faults are counted, not all told.
    let wrong: Vec<Value> = (0..500).map(|_| feature(&json!({ "sent": "soon" }))).collect();
    let told = read_alerts(collection(&wrong).as_bytes()).faults;
    assert_eq!((told.len(), told[20].says.as_str()), (21, "480 more faults follow"));
}

#[test]
fn file_that_is_cut_off_anywhere_is_refused() {
    let whole = [ALERTS, ICE, GRID].map(str::trim_end);
    for (nth, text) in whole.iter().enumerate() {
        for end in (0..text.len()).filter(|end| text.is_char_boundary(*end)) {
            let cut = &text.as_bytes()[..end];
            let refused = if nth == 2 { forecast::read(cut).is_err() } else { !read_alerts(cut).faults.is_empty() };
            assert!(refused, "{}", &text[..end]);
        }
    }
    refused(&ALERTS[..ALERTS.len() / 2], "line", "ends in the middle");
    refused(&ICE[..ICE.len() / 2], "line", "");
}

#[test]
fn files_of_another_kind_are_named() {
    refused("", "line 1, column 1", "empty");
    refused("wind 5 mph", "line 1, column 1", "neither CAP (XML) nor GeoJSON");
    refused("{\"type\": \"Topology\"}", "the file", "`Topology`");
    refused("{\"book\": 1}", "the file", "no `type`");
    refused("{\"type\": \"FeatureCollection\"}", "the file", "no `features`");
    refused("{\"type\": \"FeatureCollection\", \"features\": 5}", "line 1", "not as expected");
    refused("{\"type\": \"FeatureCollection\", \"features\": [NaN]}", "line 1", "cannot be read");
    refused(&ICE.replace("cap:1.2", "cap:1.1"), "the file", "no CAP 1.2 alert");
    refused("<html><body>404</body></html>", "the file", "no CAP 1.2 alert");
    assert!(cap::read(b"<alert>\xff</alert>").faults[0].says.contains("UTF-8"));
    assert!(forecast::read(ALERTS.as_bytes()).expect_err("no grid")[0].says.contains("no forecast grid"));
}

#[test]
fn values_that_cannot_be_are_refused_with_their_place() {
    for (from, to, says) in [
        ("<polygon>44.0,-72.0", "<polygon>NaN,-72.0", "`NaN,-72.0` is no point"),
        ("<polygon>44.0,-72.0", "<polygon>inf,-72.0", "`inf,-72.0` is no point"),
        (
            "45.0,-72.0 44.0,-72.0</polygon><circle>",
            "45.0,-72.0 44.0,-72.1</polygon><circle>",
            "does not end where it begins",
        ),
        ("46.0,-70.0 10", "46.0,-70.0 -1", "`-1` is no radius"),
        ("46.0,-70.0 10", "46.0,-70.0", "no radius"),
        ("46.0,-70.0 10", "-110.0,46.0 10", "look swapped"),
        ("<status>Actual", "<status>Maybe", "`Maybe` is none of Actual, Exercise"),
        ("<msgType>Alert", "<msgType>", "gives no `msgType`"),
        ("<sent>2026-12-08T05", "<sent>2026-13-08T05", "is no moment"),
        ("<sent>2026-12-08T05", "<sent>9999-12-08T05", "outside the years 2000 to 2099"),
        ("<event>Ice Storm Warning</event>", "", "the info gives no `event`"),
    ] {
        // In one line of the English part, so that the text to replace is there once.
        let text =
            ICE.replace("45.0,-72.0 44.0,-72.0</polygon>\n      <circle>", "45.0,-72.0 44.0,-72.0</polygon><circle>");
        let last = text.rfind(from).expect("there");
        let spoilt = format!("{}{}", &text[..last], text[last..].replacen(from, to, 1));
        refused(&spoilt, "line ", says);
    }
    for (over, geometry, at, says) in [
        (json!({ "onset": "2026-02-30T00:00:00Z" }), Value::Null, "properties.onset", "is no moment"),
        (json!({ "ends": 5 }), Value::Null, "properties.ends", "`5` is no text"),
        (json!({ "messageType": "Rumour" }), Value::Null, "properties.messageType", "`Rumour`"),
        (json!({ "event": null }), Value::Null, "properties", "gives no `event`"),
        (json!({ "references": [{}] }), Value::Null, "properties.references", "no `identifier`"),
        (json!({ "geocode": { "UGC": "ZZZ007" } }), Value::Null, "properties.geocode", "no list"),
        (json!({}), json!({ "type": "Point", "coordinates": [1, 2] }), "geometry", "`Point`"),
        (json!({}), json!({ "type": "Polygon" }), "geometry", "no `coordinates`"),
        (json!({}), json!({ "type": "Polygon", "coordinates": [] }), "geometry", "no ring"),
        (json!({}), json!({ "type": "Polygon", "coordinates": [[[0, 0], [1, 1], [0, 0]]] }), "geometry", "3 points"),
        (json!({}), json!({ "type": "Polygon", "coordinates": [[[0, "NaN"]]] }), "geometry", "is no point"),
        (
            json!({}),
            json!({ "type": "Polygon", "coordinates": [[[0, 91], [1, 0], [1, 1], [0, 91]]] }),
            "geometry",
            "not on the globe",
        ),
    ] {
        let mut one = feature(&over);
        one["geometry"] = geometry;
        refused(&collection(&[one]), &format!("features[0].{at}"), says);
    }
}

#[test]
fn alert_whose_time_cannot_be_is_a_fault_and_no_calm() {
    let outcome = weighed(&book(&json!({})), &[feature(&json!({ "ends": "2026-12-08T11:00:00Z" }))]);
    assert!(outcome.faults.len() == 1 && outcome.faults[0].says.contains("before it begins"), "{:?}", outcome.faults);
    // Of an alert of elsewhere, or of one that would be over anyway, it says nothing.
    let far = elsewhere(&json!({ "ends": "2026-12-08T11:00:00Z" }));
    let over = feature(&json!({ "onset": "2026-12-08T10:00:00Z", "ends": "2026-12-08T09:00:00Z" }));
    assert_eq!(weighed(&book(&json!({})), &[far, over]).faults, []);
    // However many there are, the faults are not more than can be read.
    let many: Vec<Value> =
        (0..100).map(|n| feature(&json!({ "id": format!("a{n}"), "ends": "2026-12-08T11:00:00Z" }))).collect();
    assert_eq!(weighed(&book(&json!({})), &many).faults.len(), 21);
}
