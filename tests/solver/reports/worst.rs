//! The worst files that are let in: what they cost in memory and time grows with their size, not with its square.
//!
//! Each case runs in a process of its own, so that the most memory that it held can be told. The bounds are several times what
//! is needed; without what they guard, the first two took 4 GB, and more than a minute.

use std::fmt::Write;
use std::process::Command;
use std::time::Duration;

use serde_json::{Value, json};
use yardless_book::Book;
use yardless_weather::{Outcome, forecast, read_alerts, weigh};

use crate::memory::{peak_mb, worked, worked_since};
use crate::{book, collection, feature, now};

const ALONE: &str = "YARDLESS_ALONE";

/// Does a test's work in a process of its own, which may hold so many MB and work so many seconds at most.
fn alone(test: &str, most: u64, longest: u64, does: impl FnOnce()) {
    if std::env::var(ALONE).is_ok_and(|asked| asked == test) {
        let started = worked();
        does();
        let took = worked_since(started);
        let peak = peak_mb("self").unwrap_or_default();
        println!("{test}: {took:?}, {peak} MB");
        assert!(took < Duration::from_secs(longest) && peak < most, "{took:?} of {longest} s, {peak} MB of {most}");
        return;
    }
    let this = std::env::current_exe().expect("this test");
    let output = Command::new(this).args([test, "--exact", "--nocapture"]).env(ALONE, test).output().expect("it runs");
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success() && said.contains("1 passed"), "{said}{}", String::from_utf8_lossy(&output.stderr));
    println!("{}", said.lines().find(|line| line.contains(" MB")).unwrap_or_default());
}

/// A book of 25 places, each with a zone, a county and coordinates.
fn shop() -> Book {
    let place = |n: u32| json!({ "id": format!("place-{n}"), "at": [44.2 + f64::from(n) / 100.0, -71.5], "zones": [format!("ZZZ{n:03}"), "099007"] });
    book(&json!({ "places": (0..25).map(place).collect::<Vec<_>>() }))
}

/// A CAP message by its references and its infos.
fn message(id: &str, kind: &str, references: &str, infos: &str) -> String {
    format!(
        "<alert xmlns=\"urn:oasis:names:tc:emergency:cap:1.2\"><identifier>{id}</identifier><sender>s</sender>\
         <sent>2026-12-08T10:00:00Z</sent><status>Actual</status><msgType>{kind}</msgType>\
         <references>{references}</references>{infos}</alert>"
    )
}

/// Alerts that could be read whole, weighed; no entry names more than 20 of them.
#[track_caller]
fn outcome(text: &str) -> Outcome {
    let reading = read_alerts(text.as_bytes());
    assert_eq!(reading.faults, []);
    let outcome = weigh(&shop(), &reading.alerts, &[], now());
    for entry in &outcome.entries {
        assert!(entry.extra["x_alerts"].as_array().is_some_and(|ids| (1..=20).contains(&ids.len())), "{entry:?}");
    }
    outcome
}

#[track_caller]
fn refused(text: &str, says: &str) {
    let reading = read_alerts(text.as_bytes());
    assert!(reading.alerts.is_empty() && reading.faults.len() == 1, "{:?}", reading.faults);
    assert!(reading.faults[0].says.contains(says), "{:?}", reading.faults);
}

#[test]
fn references_are_kept_once_for_all_infos() {
    alone("worst::references_are_kept_once_for_all_infos", 150, 20, || {
        let mut references = String::new();
        (0..100_000).for_each(|n| write!(references, "s,{n} ").expect("a text"));
        let info = "<info><event>Ice Storm Warning</event><area><geocode><valueName>SAME</valueName><value>099007</value></geocode></area></info>";
        // All infos are the same, or none.
        let same = message("x", "Update", &references, &info.repeat(4_000));
        assert_eq!(outcome(&same).entries.len(), 1);
        let other: String =
            (0..4_000).map(|n| info.replace("</event>", &format!("</event><headline>{n}</headline>"))).collect();
        let other = message("y", "Update", &references, &other);
        let both = format!("<feed>{other}{other}</feed>");
        refused(&both.replace("</feed>", &format!("{other}</feed>")), "more than 200000 references");
        let told = outcome(&both).alerts;
        let again = told.iter().filter(|told| format!("{:?}", told.verdict).contains("there already")).count();
        assert_eq!((told.len(), again), (8_000, 4_000));
    });
}

#[test]
fn thousands_of_alerts_at_once_cost_no_more_than_themselves() {
    alone("worst::thousands_of_alerts_at_once_cost_no_more_than_themselves", 300, 40, || {
        let events = ["Winter Storm Warning", "Wind Advisory", "High Wind Warning", "Winter Weather Advisory"];
        let one = |n: usize, from: i64, hours: i64| {
            let onset = now() + chrono::Duration::hours(from);
            feature(&json!({
                "id": format!("urn:oid:{n}"), "event": events[n % events.len()], "headline": "Made up",
                "onset": onset, "ends": onset + chrono::Duration::hours(hours), "geocode": { "SAME": ["099007"] }
            }))
        };
        // All at all places over the same sixty days.
        let same: Vec<Value> = (0..5_000).map(|n| one(n, 0, 1_440)).collect();
        assert_eq!(outcome(&collection(&same)).entries.len(), 1);
        // Each at its own time.
        let apart: Vec<Value> =
            (0..5_000).map(|n| one(n, (n as i64 * 37) % 1_400, 12 + (n as i64 * 11) % 90)).collect();
        assert!(outcome(&collection(&apart)).entries.len() > 1);
        // One after the other, over twenty years.
        let years: Vec<Value> = (0..10_000).map(|n| one(n, n as i64 * 18, 12)).collect();
        let outcome = outcome(&collection(&years));
        assert!((2_500..=10_000).contains(&outcome.entries.len()), "{}", outcome.entries.len());
    });
}

#[test]
fn messages_under_one_name_are_looked_up_and_not_tried_one_by_one() {
    alone("worst::messages_under_one_name_are_looked_up_and_not_tried_one_by_one", 300, 8, || {
        let info = "<info><event>Gale</event></info>";
        let mut text = "<feed>".to_owned();
        for n in 0..10_000 {
            text += &message("same", "Alert", "", &info.replace("Gale", &format!("Gale {n}")));
            text += &message(&format!("update-{n}"), "Update", &"other,same ".repeat(20), info);
        }
        text += "</feed>";
        let told = outcome(&text).alerts;
        assert_eq!(told.len(), 20_000);
    });
}

#[test]
fn outlines_and_codes_have_their_limits() {
    alone("worst::outlines_and_codes_have_their_limits", 400, 30, || {
        let outlined = |points: usize, inner: &str| {
            // A saw that goes through all latitudes: no edge can be passed over.
            let mut ring = String::from("0,0 ");
            (0..points - 2)
                .for_each(|n| write!(ring, "{},{} ", if n % 2 == 0 { -80 } else { 80 }, n % 170).expect("a text"));
            let area = format!("<area><polygon>{ring}0,0</polygon>{inner}</area>");
            message("x", "Alert", "", &format!("<info><event>Ice Storm Warning</event>{area}</info>"))
        };
        assert_eq!(outcome(&outlined(300_000, "")).alerts.len(), 1);
        refused(&outlined(1_000_001, ""), "more than 1000000 points");
        let code = "<geocode><valueName>UGC</valueName><value>ZZC999</value></geocode>";
        assert_eq!(outcome(&outlined(4, &code.repeat(100_000))).alerts.len(), 1);
        refused(&outlined(4, &code.repeat(200_001)), "more than 200000 codes");
        let other = code.replace("UGC", "X");
        assert_eq!(outcome(&outlined(4, &other.repeat(50_000))).alerts.len(), 1);
    });
}

#[test]
fn values_in_json_are_counted_before_they_are_kept() {
    alone("worst::values_in_json_are_counted_before_they_are_kept", 250, 20, || {
        let zeros = "0,".repeat(1_900_000);
        refused(&format!("{{\"type\":\"FeatureCollection\",\"features\":[{zeros}{zeros}{zeros}0]}}"), "5700001 alerts");
        let padded = |inside: &str| collection(&[feature(&json!({}))]).replace("\"references\":[]", inside);
        refused(&padded(&format!("\"references\":[{zeros}0]")), "more than 500000 values");
        refused(&padded(&format!("\"references\":[{}0]", "[0],".repeat(200_000))), "no `identifier`");
        for layer in ["updateTime", "windGust", "temperature"] {
            let grid = format!("{{\"properties\":{{\"{layer}\":[{zeros}0]}}}}");
            assert_eq!(forecast::read(grid.as_bytes()).expect_err("a fault")[0].at, format!("properties.{layer}"));
        }
        // As many values as a layer may have, all within one half-day.
        let value =
            |n: i64| json!({ "validTime": format!("{:?}/PT2S", now() + chrono::Duration::seconds(2 * n)), "value": 1 });
        let layer = |unit: &str| json!({ "uom": unit, "values": (0..10_000).map(value).collect::<Vec<_>>() });
        let grid = json!({ "properties": {
            "updateTime": now(), "windGust": layer("wmoUnit:km_h-1"), "temperature": layer("wmoUnit:degC"),
            "snowfallAmount": layer("wmoUnit:mm"), "quantitativePrecipitation": layer("wmoUnit:mm")
        } });
        let grid = forecast::read(grid.to_string().as_bytes()).expect("a forecast");
        let forecasts: Vec<_> = (0..25).map(|n| (format!("place-{n}"), grid.clone())).collect();
        assert_eq!(weigh(&shop(), &[], &forecasts, now()).forecasts.len(), 25);
    });
}

#[test]
fn elements_and_texts_of_xml_cost_no_more_than_themselves() {
    alone("worst::elements_and_texts_of_xml_cost_no_more_than_themselves", 400, 20, || {
        let many =
            message("x", "Alert", "", &format!("<info><event>Gale</event>{}</info>", "<resource/>".repeat(900_000)));
        assert_eq!(outcome(&many).alerts.len(), 1);
        // A name as long as the file may not be copied for each info.
        let long = "n".repeat(1_000_000);
        let infos = "<info><event>Gale</event></info>".repeat(5_000);
        assert_eq!(outcome(&message(&long, "Alert", "", &infos)).alerts.len(), 5_000);
        // Nor looked through for each.
        let infos = format!("<info><event>{long}</event></info>").repeat(20);
        assert_eq!(outcome(&message("x", "Alert", "", &infos)).alerts.len(), 20);
        refused(&message("x", "Alert", "", &"<info/>".repeat(20_001)), "more than 20000 alerts");
    });
}
