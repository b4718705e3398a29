//! Jobs of a random book: attic, dense pack, ventilation, renovation and house test, with their steps.

use serde_json::{Value, json};

use super::Shape;
use crate::draw::Draw;
use crate::{day, monday};

pub fn jobs(draw: &mut Draw, shape: Shape) -> Vec<Value> {
    let mut jobs: Vec<Value> = Vec::new();
    for j in 0..shape.jobs {
        let work = shape.work() * (0.6 + 0.8 * draw.share());
        let mut job = json!({ "id": format!("job{j}"), "place": format!("site{j}"), "late_day": draw.pick(&[50, 100, 150, 250]) });
        let (steps, parked) = match draw.below(5) {
            0 => attic(draw, work),
            1 => dense_pack(draw, work),
            2 => ventilation(draw, work),
            3 => renovation(draw, work),
            _ => branches(draw, work),
        };
        job["steps"] = json!(steps);
        if let Some(kind) = parked {
            job["parked"] = json!([{ "kind": kind }]);
        }
        dates(draw, shape, &mut job);
        follow(draw, &mut job, &jobs);
        jobs.push(job);
    }
    jobs
}

/// `earliest`, `due` and when the house is shut. A few are overdue at the beginning; a few have no date.
fn dates(draw: &mut Draw, shape: Shape, job: &mut Value) {
    let horizon = 7 * shape.weeks as usize;
    let mut earliest = 0;
    if draw.chance(30) {
        earliest = draw.below(horizon / 2);
        job["earliest"] = json!(day(earliest));
    } else if draw.chance(3) {
        // Later than the horizon (W1).
        job["earliest"] = json!(day(horizon + 3));
        return;
    }
    match draw.below(10) {
        0 => {}
        1 if job["earliest"].is_null() => {
            job["due"] = json!((monday() - chrono::Days::new(draw.between(1, 9) as u64)).to_string());
        }
        2 => job["due"] = json!(day(horizon + draw.below(5))),
        _ if shape.tight => job["due"] = json!(day(earliest + draw.between(3, (4 * (horizon - earliest) / 5).max(4)))),
        _ => job["due"] = json!(day(earliest + draw.between(3, horizon - earliest))),
    }
    if draw.chance(15) {
        let first = draw.below(horizon);
        job["no_access"] = json!([format!("{}/{}", day(first), day(first + draw.below(3)))]);
    }
    if draw.chance(15) {
        job["left_out"] = json!(draw.pick(&[800, 2500, 6000]));
    }
}

/// At times the first step waits for the last of an earlier job.
fn follow(draw: &mut Draw, job: &mut Value, before: &[Value]) {
    if before.is_empty() || !draw.chance(8) {
        return;
    }
    let other = draw.pick(before);
    let last = other["steps"].as_array().and_then(|steps| steps.last()).expect("a step");
    let name = format!("{}/{}", other["id"].as_str().expect("an id"), last["id"].as_str().expect("an id"));
    job["steps"][0]["after"] = json!([name]);
}

/// A step of about so many half-days, at times given in labor hours of two people.
fn step(draw: &mut Draw, id: &str, skill: &str, half_days: f64, more: Value) -> Value {
    let mut step = json!({ "id": id, "skill": skill });
    let n = (half_days.round() as usize).max(1);
    if draw.chance(30) {
        step["labor_hours"] = json!(8 * n);
    } else {
        step["half_days"] = json!(n);
    }
    let Value::Object(more) = more else { return step };
    step.as_object_mut().expect("an object").extend(more);
    step
}

type Steps = (Vec<Value>, Option<&'static str>);

fn attic(draw: &mut Draw, work: f64) -> Steps {
    let seal = step(draw, "seal", "insulation", work * 0.4, json!({ "min_low_f": 10 }));
    let blow = step(
        draw,
        "blow",
        "insulation",
        work * 0.6,
        json!({ "needs": [{ "kind": "blowing machine" }], "needs_power": true }),
    );
    let test = json!({
        "id": "test", "skill": "inspection", "half_days": 1,
        "after": [{ "step": "blow", "wait_half_days": 0, "within_half_days": 14 }]
    });
    (if draw.chance(30) { vec![seal, blow, test] } else { vec![seal, blow] }, None)
}

fn dense_pack(draw: &mut Draw, work: f64) -> Steps {
    let strip = step(draw, "strip", "carpentry", work * 0.3, json!({ "outside": true, "max_gust_mph": 30 }));
    let needs = json!({
        "outside": true, "max_gust_mph": 35, "min_people": 2, "max_people": 3, "needs_power": true,
        "needs": [{ "kind": "blowing machine" }]
    });
    let pack = step(draw, "pack", "insulation", work * 0.4, needs);
    let mut close = step(draw, "close", "carpentry", work * 0.3, json!({ "outside": true, "dry": true }));
    if draw.chance(50) {
        // What is open in winter is closed soon.
        close["after"] = json!([{ "step": "pack", "within_half_days": 10 }]);
    }
    (vec![strip, pack, close], Some("staging trailer"))
}

fn ventilation(draw: &mut Draw, work: f64) -> Steps {
    let duct = step(draw, "duct", "ventilation", work * 0.7, json!({ "needs": [{ "kind": "ventilation trailer" }] }));
    let balance = step(draw, "balance", "ventilation", work * 0.3, json!({ "needs_power": true }));
    (vec![duct, balance], None)
}

fn renovation(draw: &mut Draw, work: f64) -> Steps {
    let days = (work * 0.5).round().max(1.0) as usize;
    let frame = json!({ "id": "frame", "skill": "carpentry", "ways": [
        { "id": "tool trailer", "half_days": days, "needs": [{ "kind": "tool trailer" }] },
        { "id": "truck kit", "half_days": days + 1 + days / 2, "extra": draw.pick(&[0, 25]) }
    ] });
    let fill = json!({ "id": "fill", "skill": "insulation", "ways": [
        { "id": "one machine", "half_days": days, "needs": [{ "kind": "blowing machine" }] },
        { "id": "two machines", "half_days": days.div_ceil(2), "needs": [{ "kind": "blowing machine", "count": 2 }], "min_people": 3 }
    ] });
    (vec![frame, fill], None)
}

/// Two branches from one beginning, joined or each with its own end; something to cure in between.
fn branches(draw: &mut Draw, work: f64) -> Steps {
    let open = step(draw, "open", "carpentry", work * 0.2, json!({}));
    let foam = step(
        draw,
        "foam",
        "insulation",
        work * 0.3,
        json!({
            "after": ["open"], "min_low_f": 20, "needs": [{ "kind": "tool trailer" }]
        }),
    );
    let fans = step(draw, "fans", "ventilation", work * 0.3, json!({ "after": ["open"] }));
    let after = json!([{ "step": "foam", "wait_half_days": 2 }, "fans"]);
    let close = step(draw, "close", "carpentry", work * 0.2, json!({ "after": after }));
    let parked = draw.chance(30).then_some("tool trailer");
    // Where the tool trailer is parked, the foam does without its own.
    let mut steps = if draw.chance(60) { vec![open, foam, fans, close] } else { vec![open, foam, fans] };
    if parked.is_some() {
        steps[1]["needs"] = json!([]);
    }
    (steps, parked)
}
