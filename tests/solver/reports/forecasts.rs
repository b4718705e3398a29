//! Forecasts: the hours that count, units, shares, what is unknown, and what is too old.

use serde_json::{Value, json};
use yardless_book::Book;
use yardless_book::Report::Said;
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
fn grid_becomes_gust_low_high_and_rain_by_the_shops_hours() {
    let outcome = grid(GRID, &book(&json!({})), "2026-12-08T11:00:00Z");
    // In UTC the hours are 12:30 to 16:30 and 17:00 to 21:00. 48.28 km/h = 30.0 mph; the 64.37 km/h come at 23:00. -5 and
    // 1 degC = 23 and 33.8 degF; the -2 of the evening do not count. Rain falls while it is above freezing, from 17:00 on.
    // Snow, 40 mm over twelve hours: 18.3 mm = 0.72 inches up to 16:30, under 1.
    let expected = json!([
        { "on": "2026-12-08 am", "at": ["rim"], "gust_mph": 30.0, "low_f": 23.0, "high_f": 23.0 },
        { "on": "2026-12-08 pm", "at": ["rim"], "gust_mph": 30.0, "low_f": 33.0, "high_f": 34.0, "rain": true }
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

/// A layer: its unit, and stretches with their values.
fn layer(unit: &str, spans: &[(&str, f64)]) -> Value {
    let values = spans.iter().map(|(time, value)| json!({ "validTime": time, "value": value }));
    json!({ "uom": format!("wmoUnit:{unit}"), "values": values.collect::<Vec<_>>() })
}

/// A grid of these layers alone.
fn only(updated: &str, layers: &[(&str, Value)]) -> String {
    let mut properties = json!({ "updateTime": updated });
    for (name, layer) in layers {
        properties[name] = layer.clone();
    }
    json!({ "properties": properties }).to_string()
}

#[test]
fn hour_outside_the_shops_hours_stops_nothing() {
    // By the clock: to 07:30, 07:30 to 11:30, to noon, noon to 16:00, to midnight. Gusts of 60 and 20 mph, nearly: 96.56 and
    // 32.18 km/h are 59.9996 and 19.9957. Rain falls in all but the hours.
    let times = [
        "2026-12-08T05:00:00+00:00/PT7H30M",
        "2026-12-08T12:30:00+00:00/PT4H",
        "2026-12-08T16:30:00+00:00/PT30M",
        "2026-12-08T17:00:00+00:00/PT4H",
        "2026-12-08T21:00:00+00:00/PT8H",
    ];
    let spans = |values: [f64; 5]| -> Vec<(&str, f64)> { times.into_iter().zip(values).collect() };
    let text = only(
        "2026-12-08T04:00:00Z",
        &[
            ("temperature", layer("degF", &spans([-4.0, 41.0, 99.0, 50.0, -9.0]))),
            ("windGust", layer("km_h-1", &spans([96.56, 32.18, 96.56, 32.18, 96.56]))),
            ("quantitativePrecipitation", layer("mm", &spans([9.0, 0.0, 9.0, 0.0, 9.0]))),
        ],
    );
    let now = "2026-12-08T06:00:00Z";
    let wet = json!([{ "on": "2026-12-08", "rain": true }]);
    let expected = json!([
        { "on": "2026-12-08 am", "at": ["rim"], "gust_mph": 20.0, "low_f": 41.0, "high_f": 41.0, "rain": false },
        { "on": "2026-12-08 pm", "at": ["rim"], "gust_mph": 20.0, "low_f": 50.0, "high_f": 50.0, "rain": false }
    ]);
    let outcome = grid(&text, &book(&json!({ "weather": wet })), now);
    assert_eq!(entries(&outcome), expected);
    assert_eq!(outcome.forecasts[0].partly, []);
    // A shop that begins a minute early, works through noon and ends a minute late feels what comes there. What falls in that
    // last minute, at -9 degrees, is no rain.
    let shop = json!({ "name": "Early", "time_zone": "America/New_York", "hours": ["07:29-12:30", "12:30-16:01"] });
    let expected = json!([
        { "on": "2026-12-08 am", "at": ["rim"], "gust_mph": 60.0, "low_f": -4.0, "high_f": 99.0, "rain": true },
        { "on": "2026-12-08 pm", "at": ["rim"], "gust_mph": 60.0, "low_f": -9.0, "high_f": 50.0 }
    ]);
    assert_eq!(entries(&grid(&text, &book(&json!({ "shop": shop })), now)), expected);
}

/// The half-days whose roads are covered.
fn covered(outcome: &Outcome) -> Vec<String> {
    let covered = outcome.entries.iter().filter(|entry| !entry.roads.is_unsaid());
    covered.map(|entry| entry.on.to_string()).collect()
}

#[test]
fn totals_are_shared_out_by_time_from_the_hours_before_to_the_end_of_the_own() {
    // 40 mm from 06:00 to 18:00: 5.5 hours of it up to 11:30 are 18.3 mm = 0.72 in, 4.5 up to 16:00 are 15 mm = 0.59 in,
    // and 2 in the evening, which count for the next morning, 6.7 mm = 0.26 in.
    for (least, expected) in [
        (0.73, &[][..]),
        (0.72, &["2026-12-08 am"]),
        (0.6, &["2026-12-08 am"]),
        (0.59, &["2026-12-08"]),
        (0.27, &["2026-12-08"]),
        (0.26, &["2026-12-08/2026-12-09 am"]),
    ] {
        let fine = book(&json!({ "reports": { "covered_snow_in": least } }));
        assert_eq!(covered(&grid(GRID, &fine, "2026-12-08T11:00:00Z")), expected, "{least}");
    }
    // Ice, in metres, from noon to midnight: 0.2 mm = 0.008 in by 16:00, 0.4 mm = 0.016 in after: over the 0.01 of the shop's
    // policy the next morning only.
    let ice = with("iceAccumulation", &layer("m", &[("2026-12-08T17:00:00+00:00/PT12H", 0.0006)]));
    assert_eq!(covered(&grid(&ice, &book(&json!({})), "2026-12-08T11:00:00Z")), ["2026-12-09 am"]);
}

#[test]
fn snow_of_an_evening_covers_the_road_in_the_morning() {
    // 30 mm = 1.18 in from 17:00 to 23:00 on Monday; nothing is known of Tuesday's own hours.
    let snow = [("snowfallAmount", layer("mm", &[("2026-12-07T22:00:00+00:00/PT6H", 30.0)]))];
    let outcome = grid(&only("2026-12-07T20:00:00Z", &snow), &book(&json!({})), "2026-12-07T20:30:00Z");
    assert_eq!(entries(&outcome), json!([{ "on": "2026-12-08 am", "at": ["rim"], "roads": "covered" }]));
    assert_eq!(outcome.forecasts[0].until.map(|half| half.to_string()).as_deref(), Some("2026-12-08 am"));
}

#[test]
fn mornings_follow_the_change_of_the_clocks() {
    // A millimetre an hour. From 16:00 to 11:30 are 19.5 hours = 0.768 in; 20.5 = 0.807 in where an hour comes twice, on
    // 1 November 2026 in New York, and 18.5 = 0.728 in where one is skipped, on 8 March.
    let found = |from: &str, hours: f64, length: &str, least: f64, now: &str| {
        let time = format!("{from}/{length}");
        let snow = [("snowfallAmount", layer("mm", &[(&time, hours)]))];
        covered(&grid(&only(now, &snow), &book(&json!({ "reports": { "covered_snow_in": least } })), now))
    };
    // 30 October, 16:00, to 2 November, 11:30: 20:00 UTC to 16:30 UTC, 68.5 hours.
    let november = |least| found("2026-10-30T20:00:00Z", 68.5, "P2DT20H30M", least, "2026-10-30T20:00:00Z");
    assert_eq!(november(0.81), [""; 0]);
    assert_eq!(november(0.80), ["2026-11-01 am"]);
    assert_eq!(november(0.76), ["2026-10-31 am", "2026-11-01 am", "2026-11-02 am"]);
    // 6 March, 16:00, to 9 March, 11:30: 21:00 UTC to 15:30 UTC, 66.5 hours.
    let march = |least| found("2026-03-06T21:00:00Z", 66.5, "P2DT18H30M", least, "2026-03-06T21:00:00Z");
    assert_eq!(march(0.75), ["2026-03-07 am", "2026-03-09 am"]);
    assert_eq!(march(0.72), ["2026-03-07 am", "2026-03-08 am", "2026-03-09 am"]);
}

#[test]
fn lower_high_eases_and_the_worst_of_two_forecasts_counts() {
    let text = json!([{ "on": "2026-12-08", "high_f": 30 }]);
    let outcome = grid(GRID, &book(&json!({ "weather": text })), "2026-12-08T11:00:00Z");
    // 23 in the morning is less than 30, 34 in the afternoon is more.
    assert_eq!(outcome.entries.iter().map(|entry| entry.high_f).collect::<Vec<_>>(), [Said(23.0), Said(34.0)]);
    let eased: Vec<(String, Easing)> = outcome.eased.iter().map(|eased| (eased.on.to_string(), eased.by)).collect();
    assert_eq!(eased, [("2026-12-08 am".to_owned(), Easing::High(30.0, 23.0))]);
    // What the book says already is no news.
    let told = book(&json!({ "weather": outcome.entries }));
    assert_eq!(entries(&grid(GRID, &told, "2026-12-08T11:00:00Z")), json!([]));
    let even = with("temperature", &layer("degF", &[("2026-12-08T05:00:00+00:00/P1D", 28.0)]));
    let both = [GRID, &even].map(|text| ("rim".to_owned(), forecast::read(text.as_bytes()).expect("a forecast")));
    let found = weigh(&book(&json!({})), &[], &both, now());
    let figures = found.entries.iter().map(|entry| (entry.low_f, entry.high_f));
    assert_eq!(figures.collect::<Vec<_>>(), [(Said(23.0), Said(28.0)), (Said(28.0), Said(34.0))]);
}

#[test]
fn unknown_is_never_calm() {
    let book = book(&json!({ "weather": [{ "on": "2026-12-08", "rain": true, "gust_mph": 50 }] }));
    // No gusts, no temperature: neither gust nor rain of the book is touched, though half of the morning's water is known to be
    // none.
    let bare: Value = json!({ "properties": {
        "updateTime": "2026-12-08T09:00:00+00:00",
        "windGust": { "values": [{ "validTime": "2026-12-08T05:00:00+00:00/P1D", "value": null }] },
        "temperature": null,
        "quantitativePrecipitation": { "uom": "wmoUnit:mm", "values": [
            { "validTime": "2026-12-08T05:00:00+00:00/PT9H30M", "value": 0 }, { "validTime": "2026-12-08T17:00:00+00:00/PT12H", "value": 1 }
        ] }
    } });
    let outcome = grid(&bare.to_string(), &book, "2026-12-08T11:00:00Z");
    assert_eq!(entries(&outcome), json!([]));
    assert_eq!(outcome.forecasts[0].until, None);
    // Known to be dry all morning: that is news, and it is told as easing; so is the lower gust.
    let outcome = grid(GRID, &book, "2026-12-08T11:00:00Z");
    assert_eq!(
        entries(&outcome)[0],
        json!({ "on": "2026-12-08 am", "at": ["rim"], "gust_mph": 30.0, "low_f": 23.0, "high_f": 23.0, "rain": false })
    );
    let eased: Vec<(String, Easing)> = outcome.eased.iter().map(|eased| (eased.on.to_string(), eased.by)).collect();
    let [day, am] = ["2026-12-08", "2026-12-08 am"].map(str::to_owned);
    assert_eq!(eased, [(day, Easing::Gust(50.0, 30.0)), (am, Easing::Rain)]);
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
    // From 15:00 on one hour of the four is known; from noon to 16:00 all are. 10 m/s = 22.4 mph, rounded up.
    for (time, partly) in
        [("2026-12-08T20:00:00+00:00/PT3H", &["2026-12-08 pm"][..]), ("2026-12-08T17:00:00+00:00/PT4H", &[])]
    {
        let gust = with("windGust", &layer("m_s-1", &[(time, 10.0)]));
        let outcome = grid(&gust, &book(&json!({})), "2026-12-08T11:00:00Z");
        assert_eq!(entries(&outcome)[1]["gust_mph"], 23.0);
        assert_eq!(outcome.forecasts[0].partly.iter().map(ToString::to_string).collect::<Vec<_>>(), partly);
    }
    // The evening is none of the hours: of it alone nothing is said.
    let evening = [("windGust", layer("m_s-1", &[("2026-12-08T21:00:00+00:00/PT8H", 10.0)]))];
    let outcome = grid(&only("2026-12-08T09:00:00Z", &evening), &book(&json!({})), "2026-12-08T11:00:00Z");
    assert_eq!((entries(&outcome), outcome.forecasts[0].until), (json!([]), None));
}

#[test]
fn figures_a_hair_past_a_whole_number_are_that_number() {
    // By hand: 64.438 / 1.609344 = 40.0399 mph, 64.470 / 1.609344 = 40.0598 mph.
    let time = "2026-12-08T17:00:00+00:00/PT12H";
    let figures = |gust: f64, degrees: f64| {
        let both = [("windGust", layer("km_h-1", &[(time, gust)])), ("temperature", layer("degF", &[(time, degrees)]))];
        let outcome = grid(&only("2026-12-08T09:00:00Z", &both), &book(&json!({})), "2026-12-08T17:00:00Z");
        let entry = &outcome.entries[0];
        (entry.gust_mph, entry.low_f, entry.high_f)
    };
    assert_eq!(figures(64.438, 22.96), (Said(40.0), Said(23.0), Said(23.0)));
    assert_eq!(figures(64.470, 22.94), (Said(41.0), Said(22.0), Said(23.0)));
    assert_eq!(figures(64.438, 23.04), (Said(40.0), Said(23.0), Said(23.0)));
    assert_eq!(figures(64.438, 23.06), (Said(40.0), Said(23.0), Said(24.0)));
}

#[test]
fn old_forecast_says_nothing_and_its_age_is_told() {
    let (fresh, old) = ("2026-12-08T21:00:00Z", "2026-12-08T21:00:01Z");
    let pm = json!([{ "on": "2026-12-08 pm", "at": ["rim"], "gust_mph": 30.0, "low_f": 33.0, "high_f": 34.0, "rain": true }]);
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
    let times = ["2026-12-08T05:00:00+00:00/PT12H", "2026-12-08T17:00:00+00:00/PT12H"];
    let gusty = with("windGust", &layer("km_h-1", &[(times[0], 48.28), (times[1], 64.37)]));
    let forecast = forecast::read(gusty.as_bytes()).expect("a forecast");
    let outcome = weigh(&book(&json!({})), &alerts(&collection(&[one])), &[("hollow".to_owned(), forecast)], now());
    // The warning's 35 mph are more than Tuesday morning's 30, less than the afternoon's 40.
    let expected = json!([
        { "on": "2026-12-08 am", "at": ["hollow"], "gust_mph": 35.0, "low_f": 23.0, "high_f": 23.0 },
        { "on": "2026-12-08 pm", "at": ["hollow"], "gust_mph": 40.0, "low_f": 33.0, "high_f": 34.0, "rain": true },
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
