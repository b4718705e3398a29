//! A tiny book whose crews keep half-days open and drive from their homes (C14, C15), with help or stops at times.

use serde_json::{Value, json};

use super::draw::Draw;
use super::waits::list;
use super::{help, stops};

/// Adds the fields to a book of one week.
pub fn add(draw: &mut Draw, json: &mut Value) {
    match draw.below(4) {
        0 | 1 => help::add(draw, json),
        2 => stops::add(draw, json),
        _ => {}
    }
    json["prices"]["reserve_half_day"] = json!(draw.pick(&[60.0, 15.0, 3.0, 0.5]));
    if draw.chance(90) {
        json["prices"]["drive_minute"] = json!(draw.pick(&[0.25, 0.05, 0.02, 0.01]));
    }
    if draw.chance(70) {
        json["shop"]["noon_minutes"] = json!(draw.pick(&[5, 10, 20]));
    }
    let places = json["places"].as_array().map_or(1, Vec::len);
    for crew in list(json, "crews").filter(|crew| crew["own"] != false) {
        if draw.chance(60) {
            crew["keep_open"] = json!(draw.pick(&[2, 5, 8, 10, 14]));
        }
        if draw.chance(85) {
            crew["home"] = json!(format!("p{}", draw.below(places)));
        }
    }
    spread(draw, json, places);
    // Some pairs of places have no minutes at all.
    if draw.chance(15) {
        let place = draw.below(places);
        json["places"][place].as_object_mut().expect("a place").remove("at");
    }
    for job in list(json, "jobs") {
        for step in list(job, "steps") {
            // A half-day each makes for two places on a date.
            if draw.chance(60) && step["ways"].is_null() && step["hours"].is_null() {
                step.as_object_mut().expect("a step").remove("labor_hours");
                step["half_days"] = json!(1);
            }
            if draw.chance(40) {
                step["after"] = json!([]);
            }
        }
    }
}

/// Jobs at several places, of which some are soon done and should be: two on one date, where noon allows it.
fn spread(draw: &mut Draw, json: &mut Value, places: usize) {
    if draw.chance(60) {
        json["prices"]["wait_half_day"] = json!(draw.pick(&[20, 60]));
    }
    let jobs = json["jobs"].as_array_mut().expect("jobs");
    for _ in jobs.len()..3 {
        let step = json!({ "id": "s0", "skill": "insulation", "half_days": 1 });
        jobs.push(json!({ "id": format!("j{}", jobs.len()), "place": "p0", "steps": [step] }));
    }
    for (nth, job) in jobs.iter_mut().enumerate() {
        if draw.chance(70) {
            job["place"] = json!(format!("p{}", nth % places));
        }
    }
}
