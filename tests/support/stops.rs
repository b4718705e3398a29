//! A tiny book with short visits: stops that share a half-day or do not, crews of others that work on several steps at
//! once, and some help beside them (W13, W16, W11).

use serde_json::{Value, json};

use super::draw::Draw;
use super::waits::list;
use super::{day, help};

/// Adds the fields to a book of one week.
pub fn add(draw: &mut Draw, json: &mut Value) {
    if draw.chance(70) {
        json["shop"]["stop_minutes"] = json!(draw.pick(&[20, 15, 45, 0]));
    }
    if draw.chance(35) {
        help::add(draw, json);
    }
    if draw.chance(40) {
        // Soon is worth much, also overtime.
        json["prices"]["wait_half_day"] = json!(draw.pick(&[20, 60]));
    }
    // At times all crews are of others: the first has both skills.
    for crew in list(json, "crews") {
        if draw.chance(30) {
            crew["own"] = json!(false);
        }
        if crew["own"] == false && draw.chance(70) {
            crew["at_once"] = json!(draw.pick(&[1, 2, 2, 3]));
        }
    }
    visits(draw, json);
    let hours = json["shop"]["half_day_hours"].as_f64().expect("hours");
    for job in list(json, "jobs") {
        for step in list(job, "steps") {
            self::step(draw, step, hours);
        }
    }
}

/// More jobs, each of one step that may be a stop.
fn visits(draw: &mut Draw, json: &mut Value) {
    let places = json["places"].as_array().map_or(1, Vec::len);
    let jobs = json["jobs"].as_array_mut().expect("jobs");
    for _ in 0..draw.between(1, 4 - jobs.len().min(2)) {
        let (id, place) = (format!("j{}", jobs.len()), format!("p{}", draw.below(places)));
        let step = json!({ "id": "s0", "skill": draw.pick(&["insulation", "carpentry"]), "hours": 1 });
        jobs.push(json!({ "id": id, "place": place, "due": day(draw.below(3)), "steps": [step] }));
    }
}

fn step(draw: &mut Draw, step: &mut Value, half_day: f64) {
    // What may be helped is a stop less often; then its help counts for nothing.
    let likely = if step["help"].is_null() { 75 } else { 35 };
    if draw.chance(25) {
        step["help"] = json!(1);
    }
    if step["min_people"].is_null() && draw.chance(15) {
        step["min_people"] = json!(2);
    }
    for way in list(step, "ways") {
        if draw.chance(likely) {
            stop(draw, way, half_day);
        }
    }
    if step["ways"].is_null() && draw.chance(likely) {
        stop(draw, step, half_day);
    }
}

/// In place of what it took, some hours: some together fill a half-day to the minute, some are too long by little.
fn stop(draw: &mut Draw, how: &mut Value, half_day: f64) {
    let fields = how.as_object_mut().expect("a step or way");
    fields.remove("half_days");
    fields.remove("labor_hours");
    let hours = draw.pick(&[0.5, 1.0, 1.0, 1.25, 1.5, 1.5, 1.75, 2.0, 3.5, half_day]);
    fields.insert("hours".to_owned(), json!(f64::min(hours, half_day)));
}
