//! Forecasts: units, shares, what is unknown, and what is too old.

use serde_json::{Value, json};
use yardless_book::Book;
use yardless_weather::{Easing, Outcome, forecast, weigh};

use crate::{GRID, alerts, at, book, collection, entries, feature, now};

fn grid(text: &str, book: &Book, now: &str) -> Outcome {
    let grid = forecast::read(text.as_bytes()).expect("a forecast");
    weigh(book, &[], &[("rim".to_owned(), grid)], at(now))
}

/// The fixture with one layer replaced.
fn with(layer: &str, value: &Value) -> String {
    let mut grid: Value = serde_json::from_str(GRID).expect("JSON");
    grid["properties"][layer] = value.clone();
    grid.to_string()
}

#[test]
fn grid_becomes_gust_low_and_rain_by_half_day() {
    let outcome = grid(GRID, &book(&json!({})), "2026-12-08T11:00:00Z");
    // 48.28 km/h = 30.0 mph, 64.37 km/h = 40.0 mph; -5, 1 and -2 degC = 23, 33.8 and 28.4 degF. Rain falls while it is above
    // freezing, from noon to 18:00. 40 mm of snow over twelve hours are 0.79 inches in either half-day: under 1.
    let expected = json!([
        { "on": "2026-12-08 am", "at": ["rim"], "gust_mph": 30.0, "low_f": 23.0 },
        { "on": "2026-12-08 pm", "at": ["rim"], "gust_mph": 40.0, "low_f": 28.0, "rain": true }
    ]);
    assert_eq!(entries(&outcome), expected);
    let told = &outcome.forecasts[0];
    // Wednesday's only value is null: unknown, so that the forecast ends on Tuesday.
    assert_eq!(told.until.map(|half| half.to_string()).as_deref(), Some("2026-12-08 pm"));
    assert_eq!(
        (told.missing.clone(), told.age.map(|age| age.num_minutes()), told.stale),
        (vec!["iceAccumulation"], Some(120), false)
    );
}

#[test]
fn totals_are_shared_out_by_time_also_on_the_day_that_has_25_hours() {
    let fine = book(&json!({ "reports": { "covered_snow_in": 0.75 } }));
    // Either half has 20 mm = 0.79 in.
    let covered = |outcome: &Outcome| -> Vec<String> {
        let covered = outcome.entries.iter().filter(|entry| !entry.roads.is_unsaid());
        covered.map(|entry| entry.on.to_string()).collect()
    };
    assert_eq!(covered(&grid(GRID, &fine, "2026-12-08T11:00:00Z")), ["2026-12-08"]);
    // 1 November 2026 in New York: am has 13 hours of the 25, so 26 of 50 mm = 1.02 in; pm has 24 mm = 0.94 in.
    let snow =
        json!({ "uom": "wmoUnit:mm", "values": [{ "validTime": "2026-11-01T04:00:00+00:00/P1DT1H", "value": 50 }] });
    let november = with("snowfallAmount", &snow)
        .replace("2026-12-08T09:00:00", "2026-11-01T03:00:00")
        .replace("2026-12-0", "2026-11-1");
    assert_eq!(covered(&grid(&november, &book(&json!({})), "2026-11-01T05:00:00Z")), ["2026-11-01 am"]);
    // Ice, in metres: 0.3 mm = 0.0118 in, over the 0.01 of the shop's policy.
    let ice =
        json!({ "uom": "wmoUnit:m", "values": [{ "validTime": "2026-12-08T17:00:00+00:00/PT12H", "value": 0.0003 }] });
    assert_eq!(
        covered(&grid(&with("iceAccumulation", &ice), &book(&json!({})), "2026-12-08T11:00:00Z")),
        ["2026-12-08 pm"]
    );
}

#[test]
fn unknown_is_never_calm() {
    let book = book(&json!({ "weather": [{ "on": "2026-12-08", "rain": true, "gust_mph": 50 }] }));
    // No gusts, no temperature: neither gust nor rain of the book is touched, though half of the water is known to be none.
    let bare: Value = json!({ "properties": {
        "updateTime": "2026-12-08T09:00:00+00:00",
        "windGust": { "values": [{ "validTime": "2026-12-08T05:00:00+00:00/P1D", "value": null }] },
        "temperature": null,
        "quantitativePrecipitation": { "uom": "wmoUnit:mm", "values": [
            { "validTime": "2026-12-08T05:00:00+00:00/PT6H", "value": 0 }, { "validTime": "2026-12-08T17:00:00+00:00/PT12H", "value": 1 }
        ] }
    } });
    let outcome = grid(&bare.to_string(), &book, "2026-12-08T11:00:00Z");
    assert_eq!(entries(&outcome), json!([]));
    assert_eq!(outcome.forecasts[0].until, None);
    // Known to be dry all morning: that is news, and it is told as easing; so is the lower gust.
    let outcome = grid(GRID, &book, "2026-12-08T11:00:00Z");
    assert_eq!(
        entries(&outcome)[0],
        json!({ "on": "2026-12-08 am", "at": ["rim"], "gust_mph": 30.0, "low_f": 23.0, "rain": false })
    );
    let eased: Vec<(String, Easing)> = outcome.eased.iter().map(|eased| (eased.on.to_string(), eased.by)).collect();
    let [am, pm] = ["2026-12-08 am", "2026-12-08 pm"].map(str::to_owned);
    assert_eq!(eased, [(am.clone(), Easing::Gust(50.0, 30.0)), (pm, Easing::Gust(50.0, 40.0)), (am, Easing::Rain)]);
}

#[test]
fn forecast_for_another_square_is_told() {
    let outside = |place: &str, text: &str| {
        let grid = forecast::read(text.as_bytes()).expect("a forecast");
        weigh(&book(&json!({})), &[], &[(place.to_owned(), grid)], now()).forecasts[0].outside
    };
    let nowhere = GRID.replace("\"geometry\": {", "\"x_geometry\": {");
    assert_eq!(
        [outside("rim", GRID), outside("far", GRID), outside("hollow", GRID), outside("far", &nowhere)],
        [false, true, false, false]
    );
    let open = GRID.replace(", [-71.6, 44.1]]]", "]]");
    assert_eq!(forecast::read(open.as_bytes()).expect_err("a fault")[0].at, "geometry");
}

#[test]
fn half_day_of_which_a_part_is_known_is_told() {
    let gust =
        json!({ "uom": "wmoUnit:m_s-1", "values": [{ "validTime": "2026-12-08T20:00:00+00:00/PT3H", "value": 10 }] });
    let outcome = grid(&with("windGust", &gust), &book(&json!({})), "2026-12-08T11:00:00Z");
    // 10 m/s = 22.4 mph, rounded up.
    assert_eq!(entries(&outcome)[1]["gust_mph"], 23.0);
    assert_eq!(outcome.forecasts[0].partly.iter().map(ToString::to_string).collect::<Vec<_>>(), ["2026-12-08 pm"]);
}

#[test]
fn figures_a_hair_past_a_whole_number_are_that_number() {
    // By hand: 64.438 / 1.609344 = 40.0399 mph, 64.470 / 1.609344 = 40.0598 mph.
    let time = "2026-12-08T17:00:00+00:00/PT12H";
    let figures = |gust: f64, low: f64| {
        let layer = |unit: &str, value: f64| json!({ "uom": unit, "values": [{ "validTime": time, "value": value }] });
        let gust = with("windGust", &layer("wmoUnit:km_h-1", gust));
        let mut both: Value = serde_json::from_str(&gust).expect("JSON");
        both["properties"]["temperature"] = layer("wmoUnit:degF", low);
        let entries = entries(&grid(&both.to_string(), &book(&json!({})), "2026-12-08T17:00:00Z"));
        (entries[0]["gust_mph"].as_f64().expect("a gust"), entries[0]["low_f"].as_f64().expect("a low"))
    };
    assert_eq!(figures(64.438, 22.96), (40.0, 23.0));
    assert_eq!(figures(64.470, 22.94), (41.0, 22.0));
}

#[test]
fn old_forecast_says_nothing_and_its_age_is_told() {
    let (fresh, old) = ("2026-12-08T21:00:00Z", "2026-12-08T21:00:01Z");
    let pm = json!([{ "on": "2026-12-08 pm", "at": ["rim"], "gust_mph": 40.0, "low_f": 28.0, "rain": true }]);
    assert_eq!(entries(&grid(GRID, &book(&json!({})), fresh)), pm);
    let outcome = grid(GRID, &book(&json!({})), old);
    assert_eq!((entries(&outcome), outcome.forecasts[0].stale), (json!([]), true));
    assert_eq!(outcome.forecasts[0].age.map(|age| age.num_hours()), Some(12));
    assert_eq!(entries(&grid(GRID, &book(&json!({ "reports": { "stale_hours": 13 } })), old)), pm);
    // Of unknown age is too old; dated ahead of now is wrong.
    let undated = GRID.replace("\"updateTime\": \"2026-12-08T09:00:00+00:00\",", "");
    assert!(grid(&undated, &book(&json!({})), fresh).forecasts[0].stale);
    assert_eq!(grid(GRID, &book(&json!({})), "2026-12-08T07:59:00Z").faults.len(), 1);
}

#[test]
fn alert_and_forecast_together_give_the_worse_and_storms_are_not_cut_up() {
    let one = feature(
        &json!({ "event": "Blizzard Warning", "onset": "2026-12-08T11:00:00Z", "ends": "2026-12-10T05:00:00Z" }),
    );
    let forecast = forecast::read(GRID.as_bytes()).expect("a forecast");
    let outcome = weigh(&book(&json!({})), &alerts(&collection(&[one])), &[("hollow".to_owned(), forecast)], now());
    // The warning's 35 mph are more than Tuesday morning's 30, less than the afternoon's 40.
    let expected = json!([
        { "on": "2026-12-08 am", "at": ["hollow"], "gust_mph": 35.0, "low_f": 23.0 },
        { "on": "2026-12-08 pm", "at": ["hollow"], "gust_mph": 40.0, "low_f": 28.0, "rain": true },
        { "on": "2026-12-08/2026-12-09", "at": ["hollow"], "storm": true, "no_travel": true, "roads": "covered" },
        { "on": "2026-12-09", "at": ["hollow"], "gust_mph": 35.0 }
    ]);
    let mut found: Vec<Value> = entries(&outcome).as_array().expect("entries").clone();
    found.sort_by_key(|entry| entry["on"].as_str().map(|on| (on.len() > 13, on.to_owned())));
    let mut expected: Vec<Value> = expected.as_array().expect("entries").clone();
    expected.sort_by_key(|entry| entry["on"].as_str().map(|on| (on.len() > 13, on.to_owned())));
    assert_eq!(found, expected);
}

#[test]
fn layers_that_cannot_be_understood_are_refused_by_name() {
    let value =
        |uom: &str, value: Value, time: &str| json!({ "uom": uom, "values": [{ "validTime": time, "value": value }] });
    let time = "2026-12-08T05:00:00+00:00/PT6H";
    let twice = json!({ "uom": "wmoUnit:mm", "values": [
        { "validTime": time, "value": 1 }, { "validTime": "2026-12-08T10:00:00+00:00/PT6H", "value": 1 } ] });
    for (layer, wrong, says) in [
        ("windGust", value("wmoUnit:kt", json!(20), time), "the unit `wmoUnit:kt`, which is not known"),
        ("windGust", value("wmoUnit:degC", json!(20), time), "the unit `wmoUnit:degC`"),
        ("temperature", json!({ "values": [{ "validTime": time, "value": 3 }] }), "no unit"),
        ("temperature", value("wmoUnit:degC", json!(1e300), time), "cannot be"),
        ("windGust", value("wmoUnit:km_h-1", json!("calm"), time), "`\"calm\"` is no number"),
        ("snowfallAmount", value("wmoUnit:mm", json!(-1), time), "-1 cannot be"),
        ("snowfallAmount", twice, "overlap"),
        ("iceAccumulation", value("wmoUnit:mm", json!(1), "2026-12-08T05:00:00+00:00"), "no duration"),
        ("iceAccumulation", value("wmoUnit:mm", json!(1), "2026-12-08T05:00:00+00:00/P1M"), "`P1M` is no duration"),
        ("iceAccumulation", value("wmoUnit:mm", json!(1), "2026-12-08T05:00:00+00:00/PT0H"), "not between"),
        ("iceAccumulation", value("wmoUnit:mm", json!(1), "9999-12-08T05:00:00+00:00/PT6H"), "2000 to 2099"),
        ("quantitativePrecipitation", json!([1]), "no list `values`"),
    ] {
        let faults = forecast::read(with(layer, &wrong).as_bytes()).expect_err("a fault");
        assert_eq!(faults.len(), 1, "{faults:?}");
        let fault = &faults[0];
        assert!(fault.at.starts_with(&format!("properties.{layer}")) && fault.says.contains(says), "{fault:?}");
        assert!(fault.says.contains(layer), "{fault:?}");
    }
}
