//! Rule H8: weights posted on roads, from both sides of the pound, the date and the degree.

use serde_json::{Value, json};
use yardless_plan::shop::{Id, TruckId};

use crate::forge::{book, haul, holds, plan, refused, shop, with};

/// A unit of 5,000 lb, a truck of 8,000 lb, and a posting on the road of place a, with more said of each.
fn yard(moves: &str, posting: &Value, truck: &Value) -> Value {
    let unit = json!({"id": "u", "kinds": ["k"], "moves": moves, "weight_lb": 5000, "place": "lot"});
    let truck = with(json!({"id": "t1", "tow_lb": 14000, "weight_lb": 8000}), truck);
    let posting = with(json!({"on": "12-07/12-09", "pounds": 12_999}), posting);
    let mut book = book(&json!({
        "equipment": [unit], "trucks": [truck], "weather": [], "roads": [{"id": "hill road", "posted": [posting]}],
    }));
    for place in book["places"].as_array_mut().expect("places") {
        place["road"] = if place["id"] == "a" { json!("hill road") } else { Value::Null };
        if place["road"].is_null() {
            place.as_object_mut().expect("a place").remove("road");
        }
    }
    book
}

fn at(when: &str) -> Value {
    plan(&json!({"hauls": [haul("u", "lot", "a", when, "t1")]}))
}

/// Whether the tables that plans are made by let the truck haul at an index.
fn may(book: &Value, h: usize) -> bool {
    let shop = shop(book);
    let unit = shop.units.ids().next().expect("a unit");
    let place = |id: &str| shop.find_place(id).expect("a place");
    shop.can_haul(TruckId::from_index(0), unit, (place("lot"), place("a")), h)
}

#[test]
fn h8_truck_and_unit_together_are_no_heavier_than_posted() {
    for moves in ["towed", "carried"] {
        let within = yard(moves, &json!({"pounds": 13_000}), &json!({}));
        let beyond = yard(moves, &json!({}), &json!({}));
        holds(&within, &at("7 am"));
        refused("H8", &beyond, &at("7 am"));
        assert!(may(&within, 0) && !may(&beyond, 0));
        // What is not entered adds nothing.
        let mut unknown = beyond.clone();
        unknown["trucks"][0].as_object_mut().expect("a truck").remove("weight_lb");
        holds(&unknown, &at("7 am"));
        unknown["roads"][0]["posted"][0]["pounds"] = json!(4999);
        refused("H8", &unknown, &at("7 am"));
    }
    // It binds at the place that is left as well.
    let beyond = yard("towed", &json!({}), &json!({}));
    let mut there = beyond.clone();
    there["equipment"][0]["place"] = json!("a");
    refused("H8", &there, &plan(&json!({"hauls": [haul("u", "a", "lot", "7 am", "t1")]})));
    // The least of two postings counts.
    let mut two = yard("towed", &json!({"pounds": 13_000}), &json!({}));
    two["roads"][0]["posted"].as_array_mut().expect("postings").push(json!({"on": "12-07/12-07", "pounds": 12_999}));
    refused("H8", &two, &at("7 am"));
    holds(&two, &at("8 am"));
}

#[test]
fn h8_holds_on_its_dates() {
    let book = yard("towed", &json!({}), &json!({}));
    refused("H8", &book, &at("9 pm"));
    holds(&book, &at("10 am"));
    assert!(!may(&book, 5) && may(&book, 6));
}

#[test]
fn h8_frozen_mornings_lift_what_says_so() {
    let low = |book: &Value, on: &str, low: f64| with(book.clone(), &json!({"weather": [{"on": on, "low_f": low}]}));
    let lifted = yard("towed", &json!({"frozen_mornings": true}), &json!({}));
    let stays = yard("towed", &json!({}), &json!({}));
    let (frozen, thawed) = (low(&lifted, "2026-12-08", 31.9), low(&lifted, "2026-12-08", 32.0));
    holds(&frozen, &at("8 am"));
    refused("H8", &thawed, &at("8 am"));
    refused("H8", &low(&stays, "2026-12-08", 10.0), &at("8 am"));
    // Not later that day, nor in its evening, nor where nobody has reported it, nor by the frost elsewhere.
    refused("H8", &frozen, &at("8 pm"));
    let mut evening = at("8 pm");
    evening["hauls"][0]["evening"] = json!(true);
    refused("H8", &frozen, &evening);
    refused("H8", &frozen, &at("7 am"));
    let mut elsewhere = frozen.clone();
    elsewhere["weather"][0]["at"] = json!(["lot"]);
    refused("H8", &elsewhere, &at("8 am"));
    assert!(may(&frozen, 2) && !may(&frozen, 3) && !may(&thawed, 2) && !may(&elsewhere, 2));
}
