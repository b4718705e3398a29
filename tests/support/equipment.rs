//! A tiny book with equipment that came later in odd company: kinds of which one unit serves several needs at a time (E8),
//! and what is parked from one step to another (E7).

use serde_json::{Value, json};

use super::draw::Draw;

/// Adds the fields to a book of one week.
pub fn add(draw: &mut Draw, json: &mut Value) {
    let shared = share(draw, json);
    if draw.chance(60) {
        meet(draw, json, &shared);
    }
    for job in list(json, "jobs") {
        if draw.chance(25) {
            job["parked"] =
                json!([{ "kind": draw.pick(&["trailer", "generator", "blower"]), "count": draw.pick(&[1, 1, 2]) }]);
        }
        if job["steps"].as_array().is_some_and(|steps| steps.len() == 2) && draw.chance(30) {
            lengthen(draw, job);
        }
        between(draw, job);
        for step in list(job, "steps") {
            ask(draw, step, &shared);
        }
    }
}

/// The rows of a list, none where the object has no such list.
fn list<'a>(of: &'a mut Value, name: &str) -> impl Iterator<Item = &'a mut Value> {
    of.get_mut(name).and_then(Value::as_array_mut).into_iter().flatten()
}

/// Some kinds are shared; then each of their units has that kind alone, and what it served as besides has a unit of its own.
fn share(draw: &mut Draw, json: &mut Value) -> Vec<&'static str> {
    let shared: Vec<&str> = ["blower", "trailer", "generator"].into_iter().filter(|_| draw.chance(60)).collect();
    let kinds = shared.iter().map(|kind| json!({ "id": kind, "power": *kind == "generator", "shared": true }));
    let power = json!({ "id": "generator", "power": true });
    json["kinds"] = kinds.chain((!shared.contains(&"generator")).then_some(power)).collect();
    let mut more = Vec::new();
    for unit in list(json, "equipment") {
        let kinds: Vec<String> = unit["kinds"].as_array().into_iter().flatten().map(text).collect();
        let Some(alone) = kinds.iter().find(|kind| shared.contains(&kind.as_str())) else { continue };
        unit["kinds"] = json!([alone]);
        for (n, other) in kinds.iter().filter(|kind| *kind != alone).enumerate() {
            let id = format!("{}-{n}", text(&unit["id"]));
            more.push(json!({ "id": id, "kinds": [other], "moves": unit["moves"], "place": unit["place"] }));
        }
    }
    // At times a second unit of a shared kind, so that a need may take two.
    if let Some(kind) = shared.first().filter(|_| draw.chance(50)) {
        let moves = draw.pick(&["carried", "carried", "towed"]);
        more.push(json!({ "id": "again", "kinds": [kind], "moves": moves, "weight_lb": 3000, "place": "p0" }));
    }
    json["equipment"].as_array_mut().expect("equipment").extend(more);
    shared
}

fn text(value: &Value) -> String {
    value.as_str().expect("a text").to_owned()
}

/// All jobs are at one place, and two crews can do any of their steps; now and then in a hurry, and at times for one unit.
fn meet(draw: &mut Draw, json: &mut Value, shared: &[&str]) {
    let one = shared.first().filter(|_| draw.chance(50));
    let crew = |id: &str| json!({ "id": id, "people": 2, "skills": ["insulation", "carpentry"] });
    json["crews"] = json!([crew("c0"), crew("c1")]);
    for job in list(json, "jobs") {
        job["place"] = json!("p1");
        if draw.chance(60) {
            job["late_day"] = json!(250);
            job["left_out"] = json!(900);
            job["due"] = json!("2026-12-06");
            job.as_object_mut().expect("a job").remove("earliest");
        }
        if let (Some(kind), Some(first)) = (one, list(job, "steps").next()) {
            let needs = json!([{ "kind": kind }]);
            if first["ways"].is_array() {
                list(first, "ways").for_each(|way| way["needs"] = needs.clone());
            } else {
                first["needs"] = needs;
            }
        }
    }
}

/// Needs of several units, and of one kind several times.
fn ask(draw: &mut Draw, step: &mut Value, shared: &[&str]) {
    let more = |draw: &mut Draw, how: &mut Value| {
        let Some(needs) = how.get_mut("needs").and_then(Value::as_array_mut) else { return };
        if draw.chance(55) {
            let any = ["trailer", "generator", "blower"];
            let among = if shared.is_empty() || draw.chance(30) { &any } else { shared };
            let kind = draw.pick(among);
            needs.push(json!({ "kind": kind, "count": draw.pick(&[1, 1, 1, 2]) }));
        }
        if draw.chance(15)
            && let Some(again) = needs.first().cloned()
        {
            needs.push(again);
        }
    };
    if step["ways"].is_array() {
        list(step, "ways").for_each(|way| more(draw, way));
    } else {
        more(draw, step);
    }
    if draw.chance(25) {
        step["needs_power"] = json!(true);
    }
}

/// One step more at the end.
fn lengthen(draw: &mut Draw, job: &mut Value) {
    let mut last = json!({ "id": "s2", "skill": draw.pick(&["insulation", "carpentry"]), "half_days": 1, "needs": [] });
    if draw.chance(40) {
        last["after"] = draw.pick(&[json!([]), json!(["s0"])]);
    }
    job["steps"].as_array_mut().expect("steps").push(last);
}

/// Some of what is parked is held from a step on, or to one, and there are several needs at times.
fn between(draw: &mut Draw, job: &mut Value) {
    let steps: Vec<Value> = job["steps"].as_array().cloned().unwrap_or_default();
    let parked = job.get_mut("parked").and_then(Value::as_array_mut);
    let Some(parked) = parked else { return };
    if draw.chance(30) {
        parked.push(json!({ "kind": draw.pick(&["trailer", "generator", "blower"]) }));
    }
    // Whether a step comes after one listed before it, by steps of the job.
    let follows = |later: usize, earlier: usize| -> bool {
        let before = |k: usize| -> Vec<usize> {
            let named = steps[k]["after"].as_array().map(|after| {
                let name = |after: &Value| after.as_str().or(after["step"].as_str()).map(str::to_owned);
                let place = |name: String| steps.iter().position(|step| step["id"] == name);
                after.iter().filter_map(name).filter_map(place).collect()
            });
            named.unwrap_or_else(|| k.checked_sub(1).into_iter().collect())
        };
        let mut queue = vec![later];
        while let Some(step) = queue.pop() {
            if step == earlier {
                return true;
            }
            queue.extend(before(step));
        }
        false
    };
    for need in parked {
        if draw.chance(25) {
            continue;
        }
        let (a, b) = (draw.below(steps.len()), draw.below(steps.len()));
        let both = draw.below(3);
        if both != 0 {
            need["from"] = steps[a]["id"].clone();
        }
        if both != 1 && (both == 0 || follows(b, a)) {
            need["to"] = steps[b]["id"].clone();
        }
    }
}
