//! A tiny book in which it costs where units stand (C12), some are hired (C13), and open sites
//! cost (C16).

use serde_json::{Value, json};

use super::draw::Draw;

/// Adds the fields to a book of one week.
pub fn add(draw: &mut Draw, json: &mut Value) {
    for place in json["places"].as_array_mut().expect("places") {
        if draw.chance(60) {
            place["stand_half_day"] = json!(draw.pick(&[0.5, 2.0, 2.0, 6.25, 15.0]));
        }
    }
    if draw.chance(50) {
        json["prices"]["open_half_day"] = json!(draw.pick(&[0.75, 3.0, 12.0, 40.0]));
    }
    // Hauls cheap enough to be made for it alone, in some books.
    if draw.chance(60) {
        json["prices"]["tow_minute"] = json!(draw.pick(&[0.02, 0.05, 0.1]));
    }
    let places = json["places"].as_array().map_or(1, Vec::len);
    for unit in json["equipment"].as_array_mut().expect("equipment") {
        if unit["moves"] == "carried" && draw.chance(40) {
            unit["moves"] = json!("towed");
        }
        if draw.chance(30) {
            unit["hire_half_day"] = json!(draw.pick(&[0.5, 2.0, 5.75, 20.0]));
            // At times it stands elsewhere when the week begins.
            let from = if draw.chance(60) { unit["place"].clone() } else { json!(format!("p{}", draw.below(places))) };
            unit["hire_place"] = from;
        }
    }
}
