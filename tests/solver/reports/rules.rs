//! Which alerts count, from when to when, and where.

use serde_json::{Value, json};
use yardless_weather::{Ruling, Verdict, table, weigh};

use crate::{ICE, alerts, at, book, collection, entries, feature, weighed};

/// The half-days of the only alert, and whether its end is open.
fn on(over: &Value) -> (String, bool) {
    let outcome = weighed(&book(&json!({})), &[feature(over)]);
    assert_eq!(outcome.faults, []);
    let told: &Ruling = &outcome.alerts[0];
    (told.on.map_or_else(|| format!("{:?}", told.verdict), |on| on.to_string()), told.open_ended)
}

#[test]
fn half_days_are_those_that_the_alert_touches_on_the_shops_clock() {
    let span = |onset: &str, ends: &str| on(&json!({ "onset": onset, "ends": ends })).0;
    // New York is five hours behind UTC in December.
    assert_eq!(span("2026-12-09T05:00:00Z", "2026-12-09T17:00:00Z"), "2026-12-09 am");
    assert_eq!(span("2026-12-09T05:00:00Z", "2026-12-09T17:00:01Z"), "2026-12-09");
    assert_eq!(span("2026-12-09T16:59:59Z", "2026-12-10T05:00:00Z"), "2026-12-09");
    assert_eq!(span("2026-12-09T17:00:00Z", "2026-12-10T05:00:00Z"), "2026-12-09 pm");
    // No longer than a moment: the half-day that it lies in.
    assert_eq!(span("2026-12-09T17:00:00Z", "2026-12-09T17:00:00Z"), "2026-12-09 pm");
    // What has begun is told from the half-day of now on.
    assert_eq!(span("2026-12-06T12:00:00Z", "2026-12-08T20:00:00Z"), "2026-12-08");
}

#[test]
fn half_days_follow_the_change_of_the_clocks() {
    let day = |onset: &str, ends: &str| {
        let one =
            alerts(&collection(&[feature(&json!({ "sent": "2026-01-01T00:00:00Z", "onset": onset, "ends": ends }))]));
        let outcome = weigh(&book(&json!({})), &one, &[], at("2026-01-01T00:00:00Z"));
        outcome.alerts[0].on.expect("half-days").to_string()
    };
    // Clocks go forward on 8 March 2026 (noon is 16:00 UTC), back on 1 November (noon is 17:00 UTC).
    assert_eq!(day("2026-03-08T05:00:00Z", "2026-03-08T16:00:00Z"), "2026-03-08 am");
    assert_eq!(day("2026-03-08T16:00:00Z", "2026-03-09T04:00:00Z"), "2026-03-08 pm");
    assert_eq!(day("2026-11-01T04:00:00Z", "2026-11-01T17:00:00Z"), "2026-11-01 am");
    assert_eq!(day("2026-11-01T16:59:00Z", "2026-11-02T05:00:00Z"), "2026-11-01");
}

#[test]
fn end_that_is_not_given_is_open_only_where_the_message_lapses_before_the_hazard() {
    // Onset 07:00 on the 10th.
    let onset = "2026-12-10T12:00:00Z";
    assert_eq!(
        on(&json!({ "onset": onset, "ends": null, "expires": "2026-12-09T12:00:00Z" })),
        ("2026-12-10/2026-12-11 am".into(), true)
    );
    assert_eq!(
        on(&json!({ "onset": onset, "ends": null, "expires": null })),
        ("2026-12-10/2026-12-11 am".into(), true)
    );
    assert_eq!(
        on(&json!({ "onset": onset, "ends": null, "expires": "2026-12-10T18:00:00Z" })),
        ("2026-12-10".into(), false)
    );
    // Where the end is given, what lapses before it is the message, not the hazard.
    assert_eq!(
        on(&json!({ "onset": onset, "ends": "2026-12-12T12:00:00Z", "expires": "2026-12-09T12:00:00Z" })),
        ("2026-12-10/2026-12-12 am".into(), false)
    );
    // Without onset from when the message holds, else from when it was sent.
    let late = json!({ "onset": null, "effective": "2026-12-08T18:00:00Z", "ends": "2026-12-08T19:00:00Z" });
    assert_eq!(on(&late).0, "2026-12-08 pm");
    assert_eq!(on(&json!({ "onset": null, "ends": "2026-12-08T19:00:00Z" })).0, "2026-12-08");
}

/// Which alerts count, by id.
fn counting(features: &[Value]) -> Vec<String> {
    let told = weighed(&book(&json!({})), features).alerts;
    told.into_iter().filter(|told| matches!(told.verdict, Verdict::Counts(_))).map(|told| told.id).collect()
}

fn referring(id: &str, kind: &str, hour: u32, to: &[&str]) -> Value {
    let references: Vec<Value> = to.iter().map(|id| json!({ "identifier": id, "sender": "s" })).collect();
    feature(
        &json!({ "id": id, "messageType": kind, "sent": format!("2026-12-08T{hour:02}:00:00Z"), "references": references }),
    )
}

#[test]
fn updates_and_cancels_drop_what_they_refer_to_in_whatever_order_they_come() {
    let chain =
        [referring("a", "Alert", 6, &[]), referring("b", "Update", 7, &["a"]), referring("c", "Cancel", 8, &["b"])];
    let other = referring("d", "Alert", 6, &[]);
    for order in [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] {
        let mut features = order.map(|index| chain[index].clone()).to_vec();
        features.insert(1, other.clone());
        assert_eq!(counting(&features), ["d"], "{order:?}");
    }
    assert_eq!(counting(&chain[..2]), ["b"]);
}

#[test]
fn what_is_not_meant_takes_nothing_back() {
    let alert = referring("a", "Alert", 6, &[]);
    for status in ["Test", "Exercise", "System", "Draft"] {
        let mut cancel = referring("c", "Cancel", 8, &["a"]);
        cancel["properties"]["status"] = status.into();
        assert_eq!(counting(&[cancel, alert.clone()]), ["a"], "{status}");
    }
    assert_eq!(counting(&[referring("c", "Ack", 8, &["a"]), alert.clone()]), ["a"]);
    // Nor does a message what came after it, what another sent under the same name, or itself.
    assert_eq!(counting(&[referring("c", "Cancel", 5, &["a"]), alert.clone()]), ["a"]);
    let mut other = referring("c", "Cancel", 8, &["a"]);
    other["properties"]["references"][0]["sender"] = "someone else".into();
    assert_eq!(counting(&[other, alert]), ["a"]);
    assert_eq!(counting(&[referring("a", "Update", 6, &["a"])]), ["a"]);
}

#[test]
fn same_alert_twice_counts_once_and_one_that_is_over_does_not() {
    let alert = referring("a", "Alert", 6, &[]);
    assert_eq!(counting(&[alert.clone(), alert]), ["a"]);
    let over = json!({ "onset": "2026-12-08T06:00:00Z", "ends": "2026-12-08T10:59:59Z" });
    assert_eq!(on(&over).0, "PassedOver(\"over since 2026-12-08 05:59\")");
}

/// Whether a place lies in a GeoJSON geometry or in codes.
fn lies(place: &Value, geometry: &Value, codes: &Value) -> bool {
    let mut one = feature(&json!({ "geocode": codes }));
    one["geometry"] = geometry.clone();
    let outcome = weighed(&book(&json!({ "places": [place] })), &[one]);
    outcome.alerts[0].places.len() == 1
}

#[test]
fn place_matches_by_outline_or_by_code() {
    let square = json!({ "type": "Polygon", "coordinates": [[[-72, 44], [-71, 44], [-71, 45], [-72, 45], [-72, 44]]] });
    let at = |lat: f64, lon: f64| lies(&json!({ "id": "p", "at": [lat, lon] }), &square, &json!({}));
    assert!(at(44.5, -71.5) && at(44.0, -71.5) && at(45.0, -72.0), "in it, on its edge, on its corner");
    assert!(!at(44.5, -70.99) && !at(45.01, -71.5) && !at(44.5, 71.5) && !at(-71.5, 44.5));
    // Outside the outline but in the county: either is enough.
    let both = json!({ "id": "p", "at": [40.0, -71.5], "zones": ["099007"] });
    assert!(
        lies(&both, &square, &json!({ "SAME": ["099007"] })) && !lies(&both, &square, &json!({ "SAME": ["099008"] }))
    );
    let two = json!({ "type": "MultiPolygon", "coordinates": [
        [[[0, 0], [1, 0], [1, 1], [0, 0]]], [[[179, -1], [-179, -1], [-179, 1], [179, 1], [179, -1]]] ] });
    let at = |lat: f64, lon: f64| lies(&json!({ "id": "p", "at": [lat, lon] }), &two, &json!({}));
    assert!(at(0.0, 179.5) && at(0.0, -179.5) && at(0.2, 0.6), "across the 180th meridian");
    assert!(!at(0.0, 178.5) && !at(0.0, -178.5) && !at(0.6, 0.2) && !at(0.0, 90.0));
}

#[test]
fn same_codes_name_parts_of_counties_whole_states_and_the_country() {
    // 47 CFR 11.31: PSSCCC; P 0 is the whole county, CCC 000 the whole state, 000000 the whole country.
    let named =
        |zone: &str, code: &str| lies(&json!({ "id": "p", "zones": [zone] }), &Value::Null, &json!({ "SAME": [code] }));
    assert!(named("099007", "099007") && named("099007", "199007") && named("199007", "099007"));
    assert!(named("099007", "099000") && named("099007", "000000"));
    assert!(!named("199007", "299007") && !named("099007", "098000") && !named("099007", "099009"));
    assert!(!lies(&json!({ "id": "p", "zones": ["ZZZ007"] }), &Value::Null, &json!({ "UGC": ["ZZC007"] })));
}

#[test]
fn circle_reaches_as_far_as_it_says_over_the_globe() {
    // One degree along the equator is 2 pi 6371.0088 / 360 = 111.195 km.
    for (radius, inside) in [("111.1", false), ("111.2", true)] {
        let text = ICE.replace("46.0,-70.0 10", &format!("0.0,179.5 {radius}"));
        let book = book(&json!({ "places": [{ "id": "p", "at": [0.0, -179.5] }] }));
        let told = &weigh(&book, &alerts(&text), &[], at("2026-12-08T11:00:00Z")).alerts[0];
        assert_eq!(!told.places.is_empty(), inside, "{radius}");
    }
}

#[test]
fn books_row_goes_before_the_default_and_the_worst_of_several_counts() {
    let own = json!({ "reports": { "events": [
        { "event": "winter storm warning", "low_f": 10, "gust_mph": 30.5 },
        { "event": "Falling Icicle Statement", "storm": true, "rain": true, "gust_mph": 20 }
    ] } });
    let both = [feature(&json!({})), feature(&json!({ "id": "b", "event": "Falling Icicle Statement" }))];
    let expected = json!([{
        "on": "2026-12-08 am", "at": ["hollow"], "storm": true, "gust_mph": 30.5, "low_f": 10.0, "rain": true
    }]);
    assert_eq!(entries(&weighed(&book(&own), &both)), expected);
    let rows = table(&book(&own));
    let of = |event: &str| rows.iter().filter(|row| row.event.eq_ignore_ascii_case(event)).collect::<Vec<_>>();
    assert!(matches!(of("Winter Storm Warning")[..], [row] if row.from_book && !row.effect.storm));
    assert!(matches!(of("High Wind Warning")[..], [row] if !row.from_book && row.effect.gust_mph == Some(58.0)));
}

#[test]
fn alert_alone_never_eases_what_the_book_says() {
    let advisory = [feature(&json!({ "event": "Wind Advisory" }))];
    let gust = |mph: u32| book(&json!({ "weather": [{ "on": "2026-12-08", "gust_mph": mph }] }));
    assert_eq!(entries(&weighed(&gust(60), &advisory)), json!([]));
    assert_eq!(
        entries(&weighed(&gust(40), &advisory)),
        json!([{ "on": "2026-12-08 am", "at": ["hollow"], "gust_mph": 46.0 }])
    );
}
