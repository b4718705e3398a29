//! Makes a planted book harder, change by change, as long as the made-up plan still holds in it.

use serde_json::{Value, json};
use yardless_book::Book;
use yardless_plan::Plan;
use yardless_plan::shop::{Id, StepId};

use super::Made;
use crate::draw::Draw;
use crate::{day, half};

/// Tries many changes; keeps each in which the plan still holds.
pub(super) fn tighten(draw: &mut Draw, mut json: Value, mut kept: (Book, Plan), made: &Made) -> (Book, Plan) {
    let tries = 40 + 4 * made.steps.len();
    for _ in 0..tries {
        let mut harder = json.clone();
        change(draw, &mut harder, made);
        if let Some(held) = made.within(&harder) {
            (json, kept) = (harder, held);
        }
    }
    kept
}

fn change(draw: &mut Draw, book: &mut Value, made: &Made) {
    // A week so small may have come out without a job or a truck.
    let none = ["jobs", "trucks"].iter().any(|list| book[*list].as_array().is_none_or(Vec::is_empty));
    match draw.below(if none { 1 } else { 5 }) {
        0 => weather(draw, book, made),
        1 => place(draw, book, made),
        2 => crew_or_truck(draw, book, made),
        3 => job(draw, book, made),
        _ => step(draw, book, made),
    }
}

/// One of a list of the book.
fn one<'a>(draw: &mut Draw, book: &'a mut Value, list: &str) -> &'a mut Value {
    let list = book[list].as_array_mut().expect("a list");
    let row = draw.below(list.len());
    &mut list[row]
}

fn add(object: &mut Value, list: &str, row: Value) {
    match &mut object[list] {
        Value::Array(rows) => rows.push(row),
        none => *none = json!([row]),
    }
}

fn range(draw: &mut Draw, made: &Made) -> String {
    let first = draw.below(made.horizon.len() - 4);
    format!("{}/{}", half(first), half(first + draw.below(5)))
}

fn weather(draw: &mut Draw, book: &mut Value, made: &Made) {
    let mut entry = json!({ "on": range(draw, made) });
    if draw.chance(70) {
        entry["at"] = json!([one(draw, book, "places")["id"]]);
    }
    let (field, value) = match draw.below(7) {
        0 => ("storm", json!(true)),
        1 => ("no_travel", json!(true)),
        2 => ("roads", json!("covered")),
        3 => ("roads", json!("clear")),
        4 => ("gust_mph", json!(40)),
        5 => ("low_f", json!(5)),
        _ => ("rain", json!(true)),
    };
    entry[field] = value;
    add(book, "weather", entry);
}

fn place(draw: &mut Draw, book: &mut Value, made: &Made) {
    let clear = json!({ "on": range(draw, made), "roads": "clear" });
    let spots = draw.below(3);
    let from = draw.below(made.horizon.len() / 2);
    let place = one(draw, book, "places");
    match draw.below(3) {
        0 => place["trailer_spots"] = json!(spots),
        1 => place["power_from"] = json!(day(from)),
        _ => {
            place["road"] = json!("hill");
            add(book, "weather", clear);
        }
    }
}

fn crew_or_truck(draw: &mut Draw, book: &mut Value, made: &Made) {
    let when = range(draw, made);
    match draw.below(8) {
        0 => add(one(draw, book, "crews"), "away", json!({ "on": when, "people": draw.between(1, 3) })),
        1 => one(draw, book, "crews")["skills"] = json!([draw.pick(&["skill0", "skill1"])]),
        2 => add(&mut book["shop"], "closed", json!(when)),
        3 => {
            let crew = one(draw, book, "crews")["id"].clone();
            one(draw, book, "trucks")["crew"] = crew;
        }
        4 => add(one(draw, book, "trucks"), "out", json!(when)),
        5 => one(draw, book, "trucks")["carries"] = json!(draw.below(3)),
        6 => one(draw, book, "trucks")["tows"] = json!(draw.below(3)),
        _ => add(one(draw, book, "equipment"), "out", json!(when)),
    }
}

fn job(draw: &mut Draw, book: &mut Value, made: &Made) {
    let when = range(draw, made);
    let date = day(draw.below(made.horizon.len() / 2));
    let late_day = draw.pick(&[30, 100, 200]);
    let job = one(draw, book, "jobs");
    match draw.below(3) {
        0 => job["earliest"] = json!(date),
        1 => add(job, "no_access", json!(when)),
        _ => (job["due"], job["late_day"]) = (json!(date), json!(late_day)),
    }
    // The two dates must not cross.
    if job["due"].as_str() < job["earliest"].as_str() && job["due"].is_string() {
        job["due"] = job["earliest"].clone();
    }
}

fn step(draw: &mut Draw, book: &mut Value, made: &Made) {
    let jobs: Vec<(String, usize)> = book["jobs"]
        .as_array()
        .expect("jobs")
        .iter()
        .map(|job| (job["id"].as_str().expect("an id").to_owned(), job["steps"].as_array().expect("steps").len()))
        .collect();
    let j = draw.below(jobs.len());
    let first: usize = jobs[..j].iter().map(|(_, steps)| steps).sum();
    let k = draw.below(jobs[j].1);
    let done = made.done(StepId::from_index(first + k));
    let step = &mut book["jobs"][j]["steps"][k];
    match draw.below(11) {
        0 => step["outside"] = json!(true),
        1 => step["dry"] = json!(true),
        2 => step["max_gust_mph"] = json!(30),
        3 => step["min_low_f"] = json!(15),
        4 => step["needs_power"] = json!(true),
        5 => step["min_people"] = json!(draw.between(2, 3)),
        6 => step["fixed"] = json!({ "start": half(done.start) }),
        7 => step["fixed"] = json!({ "crew": format!("c{}", done.team.index()) }),
        8 if k > 0 => {
            // As tight as the made-up plan, or a little looser.
            let gap = done.start - made.done(StepId::from_index(first + k - 1)).end - 1;
            let (wait, within) = (gap.saturating_sub(draw.below(2)), gap + draw.below(3));
            step["after"] =
                json!([{ "step": format!("s{}", k - 1), "wait_half_days": wait, "within_half_days": within }]);
        }
        9 if k == 0 => {
            let (other, steps) = &jobs[draw.below(jobs.len())];
            if *other != jobs[j].0 {
                step["after"] = json!([format!("{other}/s{}", steps - 1)]);
            }
        }
        10 => {
            // A second way, dearer and quicker, beside the one that the plan takes.
            let Some(n) = step["half_days"].as_u64() else { return };
            let needs = step["needs"].clone();
            step.as_object_mut().expect("a step").retain(|field, _| field != "needs" && field != "half_days");
            let quick =
                json!({ "id": "quick", "half_days": n.div_ceil(2), "needs": needs, "min_people": 3, "extra": 30 });
            step["ways"] = json!([{ "id": "plain", "half_days": n, "needs": needs }, quick]);
        }
        _ => {}
    }
}
