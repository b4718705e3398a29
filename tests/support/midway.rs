//! Tiny random books in the middle of their week: some of it done, some in progress, and a plan that the crews were given.

use serde_json::{Value, json};
use yardless_book::Book;

use super::draw::Draw;
use super::exhaustive::best_from;
use super::tiny::{Fields, tiny_with};
use super::{book, day, half, helped, monday};

/// A tiny book with a history, the half-day it is, and the plan last given to the crews.
pub struct Midway {
    pub book: Book,
    pub now: usize,
    pub kept: Value,
}

/// A tiny book's history made up, consistent but planned by nobody; `splits`: some steps may be left and come back to.
pub fn midway(seed: u64, splits: bool) -> Midway {
    midway_with(seed, splits, Fields::First)
}

/// The same of a tiny book with more fields.
pub fn midway_with(seed: u64, splits: bool, fields: Fields) -> Midway {
    let mut draw = Draw::new(seed ^ 0x6d69_6477_6179);
    let mut json = serde_json::to_value(tiny_with(seed, fields)).expect("JSON");
    let now = draw.pick(&[0, 1, 1, 2, 2, 3, 4, 5, 7]);
    if splits {
        lengthen(&mut draw, &mut json);
    }
    let mut held = Vec::new();
    for j in 0..rows(&json, "jobs").len() {
        if draw.chance(65) {
            begin(&mut draw, &mut json, j, now, &mut held);
        }
    }
    let jobs = rows(&json, "jobs").len();
    if jobs > 1 && draw.chance(40) {
        follow(&mut draw, &mut json["jobs"], jobs - 1);
    }
    overtime(&mut draw, &mut json);
    json["prices"]["change"] = json!(draw.pick(&[60.0, 20.0, 3.5, 0.5]));
    // Coming back is cheap where it may be done at all, or the books would show it too seldom.
    json["prices"]["return"] = json!(draw.pick(if splits { &[4.0, 0.5, 0.0] } else { &[80.0, 80.0, 80.0] }));
    if splits {
        json["prices"]["wait_half_day"] = json!(draw.pick(&[2, 20, 60]));
    }
    json["shop"]["notice_half_days"] = json!(draw.pick(&[6, 3, 1, 0]));
    if draw.chance(60) {
        storm(&mut draw, &mut json, now);
    }
    for job in json["jobs"].as_array_mut().expect("jobs") {
        for step in job["steps"].as_array_mut().expect("steps") {
            // What is fixed to a half-day that has gone by says nothing any more.
            if step["fixed"]["start"].as_str().is_some_and(|start| start < half(now).as_str()) {
                step.as_object_mut().expect("a step").remove("fixed");
            }
            if splits && draw.chance(85) {
                step["may_split"] = json!(true);
            }
        }
    }
    if splits {
        interrupt(&mut draw, &mut json, now);
        leave(&mut Draw::new(seed ^ 0x6c65_6674), &mut json);
    }
    room_for_trailers(&mut json);
    let mut kept = kept(&mut draw, &json, now);
    if matches!(fields, Fields::Help | Fields::Stops | Fields::Days) {
        helped::add(&mut Draw::new(seed ^ 0x7769_7468), &mut json, &mut kept, now);
    }
    let mut made = Midway { book: book(json), now, kept };
    if fields != Fields::First {
        nearly_best(&mut Draw::new(seed ^ 0x6e65_6172), &mut made, fields);
    }
    made
}

fn rows<'a>(json: &'a Value, list: &str) -> &'a [Value] {
    json[list].as_array().map_or(&[], Vec::as_slice)
}

/// Some steps of a job done, the next one in progress at times; its parked units and those it holds stand there.
fn begin(draw: &mut Draw, json: &mut Value, j: usize, now: usize, held: &mut Vec<usize>) {
    let job = json["jobs"][j].clone();
    let steps = rows(&job, "steps").len();
    let done = draw.pick(&[0, 0, 0, 1, 1, 2]).min(steps);
    // The first half-day in which something may have happened, counted from now backwards.
    let mut from = now as i64 - 8;
    let mut started = false;
    for s in 0..steps {
        let step = &job["steps"][s];
        let goes_on = s >= done;
        if goes_on && !draw.chance(75) {
            break;
        }
        let start = from + draw.below(4) as i64;
        let way = step["ways"].as_array().map(|ways| draw.below(ways.len()));
        let how = way.map_or(step, |way| &step["ways"][way]);
        let mut row = json!({ "crew": crew(draw, json, step), "start": moment(start.min(now as i64 - 1)) });
        if way.is_some() || draw.chance(50) {
            row["way"] = json!(how["id"].as_str().filter(|_| way.is_some()).unwrap_or("usual"));
        }
        if goes_on {
            // A stop is over in its half-day.
            if !how["hours"].is_null() {
                break;
            }
            let mut wants = wants(how);
            let power = power(step, how);
            if power > 0 && draw.chance(50) {
                wants.extend(vec!["generator".to_owned(); power]);
            }
            let Some(units) = serving(json, &wants, &job, held) else { break };
            stand(json, &units, &job, held);
            row["units"] = json!(units.iter().map(|u| json["equipment"][*u]["id"].clone()).collect::<Vec<_>>());
            row["left"] = left(draw, how);
            json["jobs"][j]["steps"][s]["progress"] = row;
            started = true;
            break;
        }
        let end = (start + draw.below(4) as i64).min(now as i64 - 1).max(start.min(now as i64 - 1));
        from = end + 1;
        row["end"] = json!(moment(end));
        json["jobs"][j]["steps"][s]["done"] = row;
        started = true;
    }
    if started && !park(json, j, held) {
        json["jobs"][j].as_object_mut().expect("a job").remove("parked");
    }
}

/// Names the units parked at a started job, where there are enough.
fn park(json: &mut Value, j: usize, held: &mut Vec<usize>) -> bool {
    let job = json["jobs"][j].clone();
    if rows(&job, "steps").iter().all(|step| step.get("done").is_some()) {
        return true;
    }
    let step = |id: &Value| rows(&job, "steps").iter().find(|step| step["id"] == *id);
    let begun = |step: &Value| step.get("done").is_some() || step.get("progress").is_some();
    for (nth, need) in rows(&job, "parked").iter().enumerate() {
        // Held from now only where its first step has begun, and no more where its last is done (E7).
        if step(&need["from"]).is_some_and(|step| !begun(step))
            || step(&need["to"]).is_some_and(|step| step.get("done").is_some())
        {
            continue;
        }
        let kinds =
            vec![need["kind"].as_str().expect("a kind").to_owned(); need["count"].as_u64().unwrap_or(1) as usize];
        let Some(units) = serving(json, &kinds, &job, held) else { return false };
        stand(json, &units, &job, held);
        let ids: Vec<Value> = units.iter().map(|u| json["equipment"][*u]["id"].clone()).collect();
        json["jobs"][j]["parked"][nth]["units"] = json!(ids);
    }
    true
}

fn wants(how: &Value) -> Vec<String> {
    let kind = |need: &Value| need["kind"].as_str().expect("a kind").to_owned();
    let needs = rows(how, "needs").iter();
    needs.flat_map(|need| vec![kind(need); need["count"].as_u64().unwrap_or(1) as usize]).collect()
}

/// Units of power that a way takes: its own, else the step's.
fn power(step: &Value, how: &Value) -> usize {
    let own = if how["needs_power"].is_null() { &step["needs_power"] } else { &how["needs_power"] };
    own.as_u64().map_or(usize::from(own == true), |units| units as usize)
}

/// Units that nobody holds, one a want, the first that fit; of a shared kind those too that are held at the same place.
fn serving(json: &Value, wants: &[String], job: &Value, held: &[usize]) -> Option<Vec<usize>> {
    let mut units = Vec::new();
    for want in wants {
        let shared = rows(json, "kinds").iter().any(|kind| kind["id"] == *want && kind["shared"] == true);
        let fits = |u: &usize| {
            let unit = &json["equipment"][*u];
            let kinds = rows(unit, "kinds");
            let free = !held.contains(u) || (shared && unit["place"] == job["place"]);
            kinds.iter().any(|kind| kind == want) && free && !units.contains(u)
        };
        let unit = (0..rows(json, "equipment").len()).find(fits)?;
        units.push(unit);
    }
    Some(units)
}

fn stand(json: &mut Value, units: &[usize], job: &Value, held: &mut Vec<usize>) {
    for &unit in units {
        json["equipment"][unit]["place"] = job["place"].clone();
        held.push(unit);
    }
}

/// A crew with the skill; at times another, which history allows.
fn crew(draw: &mut Draw, json: &Value, step: &Value) -> Value {
    let able = |crew: &&Value| rows(crew, "skills").contains(&step["skill"]);
    let crews: Vec<&Value> = rows(json, "crews").iter().collect();
    let able: Vec<&Value> = crews.iter().copied().filter(able).collect();
    let among = if able.is_empty() || draw.chance(10) { crews } else { able };
    draw.pick(&among)["id"].clone()
}

/// A half-day as written in a book, also before the Monday.
fn moment(index: i64) -> String {
    let date = monday() + chrono::TimeDelta::days(index.div_euclid(2));
    format!("{date} {}", if index.rem_euclid(2) == 1 { "pm" } else { "am" })
}

/// The last step of a job comes after the first of an earlier one, started or not; and still after the step that something
/// is parked from to it (E7).
fn follow(draw: &mut Draw, jobs: &mut Value, j: usize) {
    let before = format!("j{}/s0", draw.below(j));
    let steps = rows(&jobs[j], "steps");
    let last = steps.last().expect("a step")["id"].clone();
    let ends = |need: &Value| !need["from"].is_null() && need["to"] == last && need["from"] != last;
    let one_before = steps.iter().rev().nth(1).map(|step| step["id"].clone());
    let kept = one_before.filter(|_| rows(&jobs[j], "parked").iter().any(ends));
    let step = jobs[j]["steps"].as_array_mut().and_then(|steps| steps.last_mut()).expect("a step");
    let mut after = step["after"].as_array().cloned().unwrap_or_else(|| kept.into_iter().collect());
    after.push(json!({ "step": before, "wait_half_days": draw.pick(&[0, 0, 3]) }));
    step["after"] = json!(after);
}

/// Something of what the way takes, in its own measure.
fn left(draw: &mut Draw, how: &Value) -> Value {
    match (how["half_days"].as_u64(), how["labor_hours"].as_f64()) {
        (Some(half_days), _) => json!(draw.between(1, half_days as usize)),
        (None, hours) => json!(hours.expect("hours") * draw.pick(&[0.25, 0.5, 1.0])),
    }
}

/// Days that only overtime works, and what it costs.
fn overtime(draw: &mut Draw, json: &mut Value) {
    let worked = rows(&json["shop"], "work_days").to_vec();
    let off: Vec<&str> =
        ["tue", "wed", "fri", "sat", "sun"].into_iter().filter(|d| !worked.contains(&json!(d))).collect();
    if draw.chance(55) {
        let days = if draw.chance(50) { vec![draw.pick(&off)] } else { off };
        json["shop"]["overtime_days"] = json!(days);
    }
    json["prices"]["overtime_half_day"] = json!(draw.pick(&[240.0, 30.0, 3.0, 0.5, 0.5]));
}

/// Steps long enough to be left in between.
fn lengthen(draw: &mut Draw, json: &mut Value) {
    for job in json["jobs"].as_array_mut().expect("jobs") {
        for step in job["steps"].as_array_mut().expect("steps") {
            let hows: Vec<&mut Value> = if step.get("ways").is_some() {
                step["ways"].as_array_mut().expect("ways").iter_mut().collect()
            } else {
                vec![step]
            };
            for how in hows {
                if how.get("half_days").is_some() {
                    how["half_days"] = json!(draw.pick(&[2, 2, 3, 4]));
                } else if let Some(hours) = how["labor_hours"].as_f64() {
                    how["labor_hours"] = json!(hours * draw.pick(&[1.0, 1.5, 2.0]));
                }
            }
        }
    }
}

/// Units that are out for a while, soon: a step that may split can be done on both sides of it.
fn interrupt(draw: &mut Draw, json: &mut Value, now: usize) {
    for unit in json["equipment"].as_array_mut().expect("units") {
        if draw.chance(70) {
            let first = now + draw.below(4);
            unit["out"] = json!([format!("{}/{}", half(first), half(first + draw.below(2)))]);
        }
    }
}

/// Some steps that are in progress have been left: what they held has gone elsewhere since, or stands there still.
fn leave(draw: &mut Draw, json: &mut Value) {
    let places = rows(json, "places").len();
    let mut gone = Vec::new();
    for job in json["jobs"].as_array_mut().expect("jobs") {
        for step in job["steps"].as_array_mut().expect("steps") {
            if step["may_split"] != true || !step["progress"]["units"].is_array() || !draw.chance(50) {
                continue;
            }
            gone.extend(rows(&step["progress"], "units").iter().cloned());
            if draw.chance(50) {
                step["progress"]["units"] = json!([]);
            } else {
                step["progress"].as_object_mut().expect("a progress").remove("units");
            }
        }
    }
    // A shared unit may be held besides.
    let held: Vec<Value> = rows(json, "jobs")
        .iter()
        .flat_map(|job| rows(job, "parked").iter().chain(rows(job, "steps").iter().map(|step| &step["progress"])))
        .flat_map(|holder| rows(holder, "units").iter().cloned())
        .collect();
    for unit in json["equipment"].as_array_mut().expect("units") {
        if gone.contains(&unit["id"]) && draw.chance(60) && !held.contains(&unit["id"]) {
            unit["place"] = json!(format!("p{}", draw.below(places)));
        }
    }
}

/// A storm from now on, at one place or at all of them.
fn storm(draw: &mut Draw, json: &mut Value, now: usize) {
    let first = now + draw.below(4);
    let on = format!("{}/{}", half(first), half(first + draw.between(1, 4)));
    let mut entry = json!({ "on": on, "storm": true });
    if draw.chance(30) {
        entry["no_travel"] = json!(true);
    }
    if draw.chance(50) {
        entry["at"] = json!(["p1"]);
    }
    match json["weather"].as_array_mut() {
        Some(entries) => entries.push(entry),
        None => json["weather"] = json!([entry]),
    }
}

/// Trailers that the history set down at a place have their spots there (E6).
fn room_for_trailers(json: &mut Value) {
    let units = rows(json, "equipment").to_vec();
    for place in json["places"].as_array_mut().expect("places") {
        let here = units.iter().filter(|unit| unit["moves"] == "towed" && unit["place"] == place["id"]).count();
        if place["trailer_spots"].as_u64().is_some_and(|spots| (spots as usize) < here) {
            place["trailer_spots"] = json!(here);
        }
    }
}

/// The plan that the crews have: a row for most steps, some of them long impossible, and one of a job since taken away.
fn kept(draw: &mut Draw, json: &Value, now: usize) -> Value {
    let mut steps = Vec::new();
    for job in rows(json, "jobs") {
        for step in rows(job, "steps") {
            if !draw.chance(75) {
                continue;
            }
            let way = step["ways"].as_array().map_or(json!("usual"), |ways| draw.pick(ways)["id"].clone());
            let start = draw.pick(&[now, now, now + 1, now + 2, now + 3, now + 5, 16, 1]);
            steps.push(json!({
                "job": job["id"], "step": step["id"], "way": way, "crew": crew(draw, json, step),
                "start": half(start), "end": half(start + draw.below(3)), "units": []
            }));
        }
    }
    if draw.chance(15) {
        let start = now + draw.below(3);
        steps.push(json!({
            "job": "gone", "step": "s0", "way": "usual", "crew": "c0", "start": half(start), "end": half(start), "units": []
        }));
    }
    json!({ "plan": 1, "from": day(0), "weeks": 1, "cost": 0, "steps": steps })
}

/// At times the kept plan is a best one, but for some starts in the other half of their date (N3).
fn nearly_best(draw: &mut Draw, made: &mut Midway, fields: Fields) {
    if draw.chance(40) {
        return;
    }
    let Some(best) = best_from(&made.book, monday(), 1, made.now, None, 50_000) else { return };
    let mut rows = rows(&best.plan, "steps").to_vec();
    for row in &mut rows {
        let start = (0..14).find(|h| row["start"] == half(*h));
        let other = start.map(|h| h ^ 1).filter(|h| *h >= made.now);
        if let Some(other) = other.filter(|_| draw.chance(60)) {
            row["start"] = json!(half(other));
            row["end"] = row["start"].clone();
        }
    }
    made.kept["steps"] = json!(rows);
    if fields != Fields::Waits {
        helped::told_otherwise(draw, &made.book, &mut made.kept);
    }
}
