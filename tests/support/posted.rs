//! A tiny book with weights posted on its roads (H8), besides ratings.

use serde_json::{Value, json};

use super::draw::Draw;
use super::{day, ratings};

/// Adds the fields to a book of one week.
pub fn add(draw: &mut Draw, json: &mut Value) {
    if draw.chance(50) {
        ratings::add(draw, json);
    }
    for truck in json["trucks"].as_array_mut().expect("trucks") {
        if draw.chance(80) {
            truck["weight_lb"] = json!(draw.pick(&[6000, 7000, 8000]));
        }
    }
    for road in json["roads"].as_array_mut().expect("roads") {
        let posted: Vec<Value> = (0..draw.between(0, 2)).map(|_| posting(draw)).collect();
        road["posted"] = json!(posted);
        // Else nothing is hauled to most of them.
        if draw.chance(80) {
            road["no_trailers"] = json!([]);
        }
    }
    // Hauls are cheap enough to be made, and jobs dear enough to be done.
    if draw.chance(70) {
        json["prices"]["tow_minute"] = json!(0.05);
        json["prices"]["late_day"] = json!(300);
    }
    let weather = json["weather"].as_array_mut().expect("weather");
    for _ in 0..draw.between(1, 3) {
        let low = draw.pick(&[31, 31, 32, 20]);
        weather.push(json!({ "on": day(draw.between(0, 4)), "low_f": low }));
    }
}

fn posting(draw: &mut Draw) -> Value {
    let on = draw.pick(&["12-07/12-11", "12-07/12-09", "12-09/12-13", "11-01/04-30"]);
    let pounds = draw.pick(&[8999, 9000, 9999, 10_000, 10_999, 11_000, 12_000, 13_000]);
    json!({ "on": on, "pounds": pounds, "frozen_mornings": draw.chance(60) })
}
