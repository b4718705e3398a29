//! A tiny book with ratings of trucks and trailers, hitches and brakes (H7).

use serde_json::{Value, json};

use super::draw::Draw;

/// Adds the fields to a book of one week, and a truck at times.
pub fn add(draw: &mut Draw, json: &mut Value) {
    let trucks = json["trucks"].as_array_mut().expect("trucks");
    if trucks.len() < 3 && draw.chance(60) {
        trucks.push(json!({ "id": format!("t{}", trucks.len()), "tow_lb": draw.pick(&[4000, 9000]) }));
    }
    for truck in trucks.iter_mut() {
        if draw.chance(30) {
            truck["weight_lb"] = json!(7000);
            truck["combined_lb"] = json!(draw.pick(&[9999, 10_000, 10_999, 11_000, 12_999, 13_000]));
        }
        if draw.chance(40) {
            truck["payload_lb"] = json!(draw.pick(&[2999, 3000, 4000, 5999]));
        }
        if draw.chance(40) {
            truck["hitches"] = draw.pick(&[json!(["ball"]), json!(["pintle"]), json!(["ball", "pintle"])]);
        }
        if draw.chance(50) {
            truck["brake_control"] = json!(draw.chance(40));
        }
    }
    // Hauls are cheap enough to be made, and jobs dear enough to be done.
    if draw.chance(70) {
        json["prices"]["tow_minute"] = json!(0.05);
        json["prices"]["late_day"] = json!(300);
    }
    for unit in json["equipment"].as_array_mut().expect("equipment") {
        if unit["moves"] == "carried" && draw.chance(30) {
            unit["moves"] = json!("towed");
        }
        if draw.chance(30) {
            unit.as_object_mut().expect("a unit").remove("weight_lb");
            unit["empty_lb"] = json!(draw.pick(&[2000, 3000]));
            if draw.chance(70) {
                unit["contents_lb"] = json!(draw.pick(&[0, 1000, 3000]));
            }
        }
        if draw.chance(20) {
            unit["rating_lb"] = json!(draw.pick(&[2999, 3000, 4000, 6000]));
        }
        if draw.chance(40) {
            unit["hitch"] = json!(draw.pick(&["ball", "pintle"]));
        }
        if draw.chance(40) {
            unit["brakes"] = json!(draw.pick(&["none", "surge", "electric", "electric"]));
        }
    }
}
