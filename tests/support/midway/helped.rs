//! Who helped and who helps, in a history that is made up, and in what the crews were told (W11, N1, N3).

use serde_json::{Value, json};

use crate::support::draw::Draw;
use crate::support::waits::list;

/// Names helpers in some rows of the book and of the kept plan; a stop that is done was done in one half-day.
pub fn add(draw: &mut Draw, json: &mut Value, kept: &mut Value) {
    let own: Vec<Value> =
        list(json, "crews").filter(|crew| crew["own"] != false).map(|crew| crew["id"].clone()).collect();
    for job in list(json, "jobs") {
        for step in list(job, "steps") {
            let stops = hours(step);
            for field in ["done", "progress"] {
                let Some(row) = step.get_mut(field) else { continue };
                if stops.iter().any(|way| *way == row["way"]) || stops.contains(&Value::Null) {
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

/// The ways of a step that are stops, by their ids; null for the only one.
fn hours(step: &Value) -> Vec<Value> {
    let ways = step["ways"].as_array().into_iter().flatten();
    let mut stops: Vec<Value> = ways.filter(|way| !way["hours"].is_null()).map(|way| way["id"].clone()).collect();
    if !step["hours"].is_null() {
        stops.push(Value::Null);
    }
    stops
}

/// One or two other crews, where all are the shop's own.
fn help(draw: &mut Draw, row: &mut Value, own: &[Value]) {
    let others: Vec<&Value> = own.iter().filter(|crew| **crew != row["crew"]).collect();
    if !own.contains(&row["crew"]) || others.is_empty() {
        return;
    }
    let mut with = vec![draw.pick(&others)];
    if draw.chance(25) {
        with.extend(others.into_iter().filter(|crew| *crew != with[0]).take(1).collect::<Vec<_>>());
    }
    row["with"] = json!(with);
}
