//! A tiny book whose jobs may be planned in part: steps that come after the week, or just do not, and what hangs on them
//! (W12, E7).

use serde_json::{Value, json};

use super::draw::Draw;
use super::{day, half};

/// Adds the fields to a book of one week.
pub fn add(draw: &mut Draw, json: &mut Value) {
    if draw.chance(50) {
        json["shop"]["in_part"] = json!(true);
    }
    let jobs = json["jobs"].as_array_mut().expect("jobs");
    for j in 0..jobs.len() {
        let before: Vec<Value> = jobs[..j].to_vec();
        let job = &mut jobs[j];
        if draw.chance(60) {
            job["in_part"] = json!(draw.chance(80));
        }
        if draw.chance(70) {
            last_visit(draw, job, &before);
        }
        let steps = job["steps"].as_array_mut().expect("steps");
        if draw.chance(25) {
            let step = draw.below(steps.len());
            late(draw, &mut steps[step]);
        }
        if draw.chance(12) {
            let step = draw.below(steps.len());
            at_no_date(draw, &mut steps[step]);
        }
        if draw.chance(35) && !job["parked"].is_array() {
            job["parked"] = json!([{ "kind": draw.pick(&["trailer", "generator", "blower"]) }]);
        }
        if draw.chance(40) {
            job["left_out"] = json!(draw.pick(&[15, 100, 900]));
        }
    }
    for unit in json["equipment"].as_array_mut().expect("units") {
        // Out at the week's end: what is parked on rests then.
        if draw.chance(25) {
            unit["out"] = json!([format!("{}/{}", half(draw.between(4, 9)), half(draw.between(9, 12)))]);
        }
    }
}

/// Parks something from the last visit of some jobs on, or to it (E7).
pub fn park(draw: &mut Draw, json: &mut Value) {
    for job in json["jobs"].as_array_mut().expect("jobs") {
        let visits = job["steps"].as_array().is_some_and(|steps| steps.iter().any(|step| step["id"] == "look"));
        if !visits || !draw.chance(50) {
            continue;
        }
        let mut need = json!({ "kind": draw.pick(&["trailer", "generator", "blower"]) });
        need[draw.pick(&["from", "to", "to"])] = json!("look");
        match job["parked"].as_array_mut() {
            Some(parked) => parked.push(need),
            None => job["parked"] = json!([need]),
        }
    }
}

/// One step more, after the others or after another job's.
fn last_visit(draw: &mut Draw, job: &mut Value, before: &[Value]) {
    let steps = job["steps"].as_array_mut().expect("steps");
    let mut look =
        json!({ "id": "look", "skill": draw.pick(&["insulation", "carpentry"]), "half_days": draw.between(1, 2) });
    let mut after = Vec::new();
    if draw.chance(60) {
        let last = steps.last().expect("a step")["id"].clone();
        let wait = draw.pick(&[0, 0, 2]);
        let mut link = json!({ "step": last, "wait_half_days": wait });
        if draw.chance(45) {
            link["within_half_days"] = json!(wait + draw.below(5));
        }
        after.push(link);
    }
    if !before.is_empty() && draw.chance(40) {
        let other = draw.pick(before);
        let of = draw.pick(other["steps"].as_array().expect("steps"));
        let name = format!("{}/{}", other["id"].as_str().expect("an id"), of["id"].as_str().expect("an id"));
        after.push(if draw.chance(30) { json!({ "step": name, "within_half_days": 4 }) } else { json!(name) });
    }
    if !after.is_empty() || draw.chance(15) {
        look["after"] = json!(after);
    }
    if draw.chance(75) {
        late(draw, &mut look);
    }
    if draw.chance(20) {
        look["told"] = json!({ "from": day(1), "to": day(2) });
    }
    steps.push(look);
}

/// Keeps a step from ending within the week, or nearly.
fn late(draw: &mut Draw, step: &mut Value) {
    match draw.below(5) {
        0 if step["due"].is_null() => step["earliest"] = json!(day(draw.pick(&[4, 5, 7, 8]))),
        1 => step["waits_on"] = json!([{ "what": "power" }]),
        2 if step["fixed"].is_null() => {
            step["waits_on"] = json!([{ "what": "power", "expected": day(draw.between(3, 8)) }]);
        }
        3 if step["half_days"].is_number() => step["half_days"] = json!(draw.between(6, 12)),
        _ => step["no_access"] = json!([format!("{}/{}", day(draw.between(0, 2)), day(draw.between(3, 6)))]),
    }
}

/// Keeps a step from being done at any date: too many people or units.
fn at_no_date(draw: &mut Draw, step: &mut Value) {
    if draw.chance(50) || !step["ways"].is_null() {
        step["min_people"] = json!(draw.pick(&[3, 4]));
        step.as_object_mut().expect("a step").remove("max_people");
    } else {
        step["needs"] =
            json!([{ "kind": draw.pick(&["blower", "trailer"]) }, { "kind": "blower", "count": draw.between(1, 2) }]);
    }
}
