//! A tiny book in which units are to be home by a date (C17), and gone from where the work is over (C18).

use serde_json::{Value, json};

use super::draw::Draw;
use super::{costs, day};

/// Adds the fields to a book of one week.
pub fn add(draw: &mut Draw, json: &mut Value) {
    if draw.chance(25) {
        costs::add(draw, json);
    }
    // Hauls cheap enough to be made for it alone, in most books.
    if draw.chance(70) {
        json["prices"]["tow_minute"] = json!(draw.pick(&[0.02, 0.05, 0.1]));
    }
    for place in json["places"].as_array_mut().expect("places") {
        if draw.chance(60) {
            place["clear_by"] = json!({ "days": draw.pick(&[0, 0, 1, 2]) });
            price(draw, &mut place["clear_by"]);
        }
    }
    let places = json["places"].as_array().map_or(1, Vec::len);
    for unit in json["equipment"].as_array_mut().expect("equipment") {
        if unit["moves"] == "carried" && draw.chance(50) {
            unit["moves"] = json!("towed");
        }
        if draw.chance(40) {
            // At times it is late from the beginning, at times it need not be home in this week.
            let date = if draw.chance(10) { "2026-12-05".to_owned() } else { day(draw.below(6)) };
            unit["home_by"] = json!({ "date": date, "place": format!("p{}", draw.below(places)) });
            price(draw, &mut unit["home_by"]);
        }
    }
}

/// Its own price, or the price list's.
fn price(draw: &mut Draw, of: &mut Value) {
    if draw.chance(75) {
        of["late_day"] = json!(draw.pick(&[0.5, 2.0, 7.25, 30.0]));
    }
}
