//! Who helped and who helps, in a history that is made up, and in what the crews were told (W11, N1, N3).

use serde_json::{Value, json};
use yardless_book::Book;

use super::draw::Draw;
use super::half;
use super::waits::list;

/// Names helpers in some rows of the book and of the kept plan; a stop that is done was done in one half-day. Who could
/// help is away for a while from now on, at times: it may come to the second span alone (W10).
pub fn add(draw: &mut Draw, json: &mut Value, kept: &mut Value, now: usize) {
    for crew in list(json, "crews").skip(1) {
        if draw.chance(35) {
            let first = now + draw.below(2);
            crew["away"] = json!([{ "on": format!("{}/{}", half(first), half(first + draw.below(3))) }]);
        }
    }
    let own: Vec<String> =
        list(json, "crews").filter(|crew| crew["own"] != false).map(|crew| text(&crew["id"])).collect();
    for job in list(json, "jobs") {
        for step in list(job, "steps") {
            let stops = stops(step);
            for field in ["done", "progress"] {
                let Some(row) = step.get_mut(field) else { continue };
                if stops.contains(&row["way"]) || stops.contains(&Value::Null) {
                    if row.get("end").is_some() {
                        row["end"] = row["start"].clone();
                    }
                } else if draw.chance(60) {
                    help(draw, row, &own);
                }
            }
        }
    }
    for row in list(kept, "steps") {
        if draw.chance(25) {
            help(draw, row, &own);
        }
    }
}

/// The crews were told of other helpers, or of none.
pub fn told_otherwise(draw: &mut Draw, book: &Book, kept: &mut Value) {
    let own: Vec<String> = book.crews.iter().filter(|crew| crew.own).map(|crew| crew.id.clone()).collect();
    for row in list(kept, "steps") {
        match draw.below(5) {
            0 => drop(row.as_object_mut().expect("a row").remove("with")),
            1 | 2 => help(draw, row, &own),
            _ => {}
        }
    }
}

fn text(id: &Value) -> String {
    id.as_str().expect("an id").to_owned()
}

/// The ways of a step that are stops, by their ids; null for the only one.
fn stops(step: &Value) -> Vec<Value> {
    let ways = step["ways"].as_array().into_iter().flatten();
    let mut stops: Vec<Value> = ways.filter(|way| !way["hours"].is_null()).map(|way| way["id"].clone()).collect();
    if !step["hours"].is_null() {
        stops.push(Value::Null);
    }
    stops
}

/// One or two other crews, where all are the shop's own.
fn help(draw: &mut Draw, row: &mut Value, own: &[String]) {
    let crew = text(&row["crew"]);
    let mut others: Vec<&String> = own.iter().filter(|other| **other != crew).collect();
    if !own.contains(&crew) || others.is_empty() {
        return;
    }
    let mut with = vec![others.swap_remove(draw.below(others.len()))];
    if !others.is_empty() && draw.chance(25) {
        with.push(others[0]);
    }
    row["with"] = json!(with);
}
