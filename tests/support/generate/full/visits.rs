//! Who comes to a job and how often: help, visits of an hour or two, and a last visit beyond the weeks.

use serde_json::{Value, json};

use super::super::Shape;
use super::date;
use crate::draw::Draw;
use crate::waits::list;

pub fn add(draw: &mut Draw, shape: Shape, job: &mut Value) {
    for step in list(job, "steps") {
        self::step(draw, step);
    }
    if draw.chance(45) {
        first_visit(job);
    }
    if draw.chance(40) {
        inspection(draw, job);
    }
    if draw.chance(45) {
        last_visit(draw, shape, job);
    }
}

/// Most steps take two people, so that a person has help; some are an hour or two of one.
fn step(draw: &mut Draw, step: &mut Value) {
    match step["id"].as_str() {
        Some("test") => visit(draw, step),
        Some("balance") if draw.chance(60) => {
            visit(draw, step);
            step["min_people"] = json!(1);
        }
        Some("seal" | "fans") if draw.chance(50) => {
            step["min_people"] = json!(1);
            step["help"] = json!(1);
        }
        Some("pack") => {
            step["help"] = json!(2);
            step["min_people"] = json!(draw.pick(&[2, 3]));
        }
        _ => step["help"] = json!(1),
    }
    for way in list(step, "ways").filter(|way| way["id"] == "two machines") {
        way["help"] = json!(2);
    }
}

/// In place of what it took, one to two hours.
fn visit(draw: &mut Draw, step: &mut Value) {
    let fields = step.as_object_mut().expect("a step");
    fields.remove("half_days");
    fields.remove("labor_hours");
    fields.insert("hours".to_owned(), draw.pick(&[json!(1), json!(1.25), json!(2)]));
}

/// Somebody measures before the work begins.
fn first_visit(job: &mut Value) {
    let steps = job["steps"].as_array_mut().expect("steps");
    let skill = steps[0]["skill"].clone();
    let after = steps[0]["after"].take();
    let mut measure = json!({ "id": "measure", "skill": skill, "hours": 1, "min_people": 1 });
    if after.is_array() {
        measure["after"] = after;
    }
    steps[0]["after"] = json!(["measure"]);
    steps.insert(0, measure);
}

/// The inspector comes once all is done.
fn inspection(draw: &mut Draw, job: &mut Value) {
    let steps = job["steps"].as_array_mut().expect("steps");
    if steps.iter().all(|step| step["id"] != "test") {
        let mut test = json!({ "id": "test", "skill": "inspection" });
        visit(draw, &mut test);
        steps.push(test);
    }
}

/// After all else somebody comes again, mostly beyond the weeks: from a date on, when the utility is through, or after a
/// long while.
fn last_visit(draw: &mut Draw, shape: Shape, job: &mut Value) {
    job["in_part"] = json!(true);
    let dates = 7 * i64::from(shape.weeks);
    let steps = job["steps"].as_array_mut().expect("steps");
    let (last, skill) = (steps.last().expect("a step")["id"].clone(), steps[0]["skill"].clone());
    let whole_weeks = draw.chance(15);
    let mut look = json!({ "id": "look", "skill": skill, "after": [last] });
    if draw.chance(50) {
        look["hours"] = json!(1.5);
        look["min_people"] = json!(1);
    } else {
        look["half_days"] = json!(1);
        look["help"] = json!(1);
    }
    match draw.below(4) {
        0 => look["earliest"] = json!(date(dates + draw.between(1, 60) as i64)),
        1 => look["waits_on"] = json!([{ "what": "the meter", "who": "the utility" }]),
        2 => look["after"] = json!([{ "step": last, "wait_half_days": 14 * (shape.weeks as usize - 1) }]),
        // At times within the weeks, if all goes well.
        _ => look["after"] = json!([{ "step": last, "wait_half_days": draw.pick(&[6, 14, 20]) }]),
    }
    steps.push(look);
    // Else what is parked would stay till then.
    let open_ended = |need: &&mut Value| !whole_weeks && need["to"].is_null();
    for need in list(job, "parked").filter(open_ended) {
        need["to"] = if need["from"].is_null() { last.clone() } else { need["from"].clone() };
    }
}
