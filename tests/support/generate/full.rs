//! The same random book with every field that came later, as a shop of persons has them: no base of its own, trailers stand in
//! driveways and at sites, what is seldom wanted is hired, and the last visit lies beyond the weeks.

mod gear;
mod people;
mod visits;
mod words;

use serde_json::{Value, json};
use yardless_book::Book;

use super::{Shape, fix, generate};
use crate::draw::Draw;
use crate::waits::list;
use crate::{day, monday};

/// The book of [`generate`] and what such a shop says besides. The same shape and seed give the same book.
pub fn full(shape: Shape, seed: u64) -> Book {
    let mut draw = Draw::new(seed ^ 0x6675_6c6c);
    let mut json = serde_json::to_value(generate(shape, seed)).expect("JSON");
    shop(&mut draw, &mut json);
    people::add(&mut draw, shape, &mut json);
    gear::add(&mut draw, shape, &mut json);
    weather(&mut draw, shape, &mut json);
    let mut before: Vec<Value> = Vec::new();
    for job in list(&mut json, "jobs") {
        // Who does it and when has changed: starts are fixed anew.
        list(job, "steps").for_each(|step| drop(step.as_object_mut().expect("a step").remove("fixed")));
        gear::job(&mut draw, job);
        visits::add(&mut draw, shape, job);
        words::add(&mut draw, shape, job);
        if let Some(last) = before.last().filter(|_| draw.chance(20)) {
            // Two jobs in one house.
            job["place"] = last["place"].clone();
        }
        before.push(job.clone());
    }
    fix(&mut draw, shape, json)
}

/// Two people at least, notice, words given, ranks; at times no work on Friday afternoons.
fn shop(draw: &mut Draw, json: &mut Value) {
    let shop = &mut json["shop"];
    shop["min_people"] = json!(2);
    shop["stop_minutes"] = json!(draw.pick(&[20, 30]));
    shop["noon_minutes"] = json!(draw.pick(&[25, 40, 60]));
    shop["told_half_days"] = json!(10);
    if draw.chance(25) {
        let mut closed = shop["closed"].as_array().cloned().unwrap_or_default();
        closed.push(json!({ "on": format!("{}/", day(0)), "weekdays": ["fri"], "half": "pm" }));
        shop["closed"] = json!(closed);
    }
    for (name, price) in [
        ("told_day", json!(60)),
        ("help_half_day", json!(draw.pick(&[10, 20]))),
        ("reserve_half_day", json!(draw.pick(&[20, 60]))),
        ("drive_minute", json!(draw.pick(&[0.2, 0.4]))),
        ("open_half_day", json!(draw.pick(&[2, 4]))),
        ("change_same_date", json!(15)),
    ] {
        json["prices"][name] = price;
    }
    json["ranks"] = json!([
        { "id": "promised", "name": "Promised", "late_day": 250, "left_out": 6000 },
        { "id": "usual", "late_day": 90 },
        { "id": "filler", "late_day": 15, "left_out": 700 }
    ]);
}

/// Warm spells on some of the dates that are reported.
fn weather(draw: &mut Draw, shape: Shape, json: &mut Value) {
    let dates = (7 * shape.weeks as usize).min(10);
    let entries = json["weather"].as_array_mut().expect("weather");
    for _ in 0..draw.between(3, 5) {
        let first = draw.below(dates);
        let last = (first + draw.below(4)).min(dates - 1);
        let mut entry =
            json!({ "on": format!("{}/{}", day(first), day(last)), "high_f": draw.pick(&[48.0, 57.0, 61.5]) });
        if draw.chance(40) {
            entry["half"] = json!("pm");
        }
        entries.push(entry);
    }
}

/// A date so many days after the Monday, or before it.
fn date(after: i64) -> String {
    (monday() + chrono::TimeDelta::days(after)).to_string()
}
