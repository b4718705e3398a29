//! Crews that are persons: pairs that usually work together, with homes to drive from, and hours of their own.

use serde_json::{Value, json};

use super::super::Shape;
use crate::day;
use crate::draw::Draw;
use crate::waits::list;

/// The first half of the crews stay crews of several, each other one becomes two persons, usual with each other. The inspector
/// comes to several houses in a half-day.
pub fn add(draw: &mut Draw, shape: Shape, json: &mut Value) {
    let together = shape.crews / 2;
    let mut mates = Vec::new();
    for (c, crew) in list(json, "crews").enumerate() {
        if crew["own"] == false {
            inspector(crew);
            continue;
        }
        if c >= together {
            let id = format!("mate{c}");
            crew["people"] = json!(1);
            list(crew, "away").for_each(|away| drop(away.as_object_mut().expect("an entry").remove("people")));
            let skills = if draw.chance(25) { json!(["carrying"]) } else { crew["skills"].clone() };
            let mut mate = json!({ "id": id, "people": 1, "skills": skills, "usual_with": [crew["id"]] });
            if draw.chance(50) {
                hours(draw, &mut mate);
            }
            crew["usual_with"] = json!([id]);
            home(draw, shape, &mut mate);
            mates.push(mate);
        }
        home(draw, shape, crew);
        if c == 0 || draw.chance(20) {
            crew["keep_open"] = json!(draw.pick(&[1, 2]));
        }
    }
    json["crews"].as_array_mut().expect("crews").extend(mates);
}

/// Away every week at the same hours, or only there in them.
fn hours(draw: &mut Draw, mate: &mut Value) {
    let on = format!("{}/", day(0));
    if draw.chance(30) {
        mate["only"] = json!([{ "on": on, "weekdays": ["mon", "tue", "wed", "thu"] }]);
        return;
    }
    let weekday = draw.pick(&["mon", "wed", "fri"]);
    mate["away"] = if draw.chance(50) {
        json!([{ "on": on, "weekdays": [weekday], "half": "pm" }])
    } else {
        json!([{ "on": { "on": on, "weekdays": [weekday] } }])
    };
}

fn home(draw: &mut Draw, shape: Shape, crew: &mut Value) {
    if draw.chance(80) {
        crew["home"] = json!(format!("driveway{}", draw.below(shape.crews)));
    }
}

/// On two weekdays of every week, in several houses a half-day.
fn inspector(crew: &mut Value) {
    crew["at_once"] = json!(3);
    crew["only"] = json!([{ "on": format!("{}/", day(0)), "weekdays": ["tue", "thu"] }]);
}
