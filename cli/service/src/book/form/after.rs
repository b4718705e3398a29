//! The steps that a step comes after, as rows: which, and how long after it.

use serde_json::{Map, Value, json};

use super::Input;
use super::cells::{cell, number, plain, read_number, tick};
use crate::request::sent::Fields;

/// Most steps of other jobs that are to choose from; of a longer list, those of jobs at the same place.
const MOST: usize = 250;

/// Steps to choose from: those of the job itself, then those of other jobs as `job/step`.
pub fn choices(book: &Value, job: &Value) -> Vec<(String, String)> {
    let steps = |of: &Value| of["steps"].as_array().cloned().unwrap_or_default();
    let name = |of: &Value| of["name"].as_str().or(of["id"].as_str()).unwrap_or_default().to_owned();
    let id = |of: &Value| of["id"].as_str().map(str::to_owned);
    let mut all: Vec<(String, String)> = steps(job).iter().filter_map(|step| Some((id(step)?, name(step)))).collect();
    // A pattern is of no place, and its steps come after its own alone.
    if job["place"].is_null() {
        return all;
    }
    let others: Vec<&Value> =
        book["jobs"].as_array().into_iter().flatten().filter(|other| other["id"] != job["id"]).collect();
    let many = others.iter().map(|other| other["steps"].as_array().map_or(0, Vec::len)).sum::<usize>() > MOST;
    for other in others.into_iter().filter(|other| !many || other["place"] == job["place"]) {
        let Some(of) = id(other) else { continue };
        let more = steps(other);
        all.extend(
            more.iter()
                .filter_map(|step| Some((format!("{of}/{}", id(step)?), format!("{}: {}", name(other), name(step))))),
        );
    }
    all
}

/// What is said of all of them, and a row each, the last one empty.
pub fn rows(value: Option<&Value>, choices: &[(String, String)], name: &str) -> Input {
    let none = Vec::new();
    let links = value.and_then(Value::as_array).unwrap_or(&none);
    let free = value.is_some_and(|value| value.as_array().is_some_and(Vec::is_empty));
    let row = |(n, link): (usize, &Value)| {
        let at = format!("{name}.{n}");
        let step = link.get("step").unwrap_or(link).as_str().unwrap_or_default();
        let mut all = choices.to_vec();
        if !step.is_empty() && !all.iter().any(|(id, _)| id == step) {
            all.push((step.to_owned(), format!("{step} (not in the book)")));
        }
        let of = |field: &str| link.get(field).map_or_else(String::new, plain);
        vec![
            cell(format!("{at}.step"), "Step", Input::Pick(all, step.to_owned())),
            cell(format!("{at}.wait_half_days"), "Half-days to wait", number(&of("wait_half_days"), true)),
            cell(format!("{at}.within_half_days"), "At most so many", number(&of("within_half_days"), true)),
        ]
    };
    let rows = links.iter().chain([&Value::Null]).enumerate().map(row).collect();
    Input::Rows(vec![cell(format!("{name}.free"), "Comes after none: may be done at any time", tick(free))], rows)
}

/// The links that were sent; nothing said is the step before, and free is none.
pub fn sent(name: &str, rows: impl Iterator<Item = usize>, sent: &Fields, was: Option<&Value>) -> Option<Value> {
    let was: Vec<&Value> = was.and_then(Value::as_array).into_iter().flatten().collect();
    let one = |n: usize| {
        let get = |field: &str| sent.get(&format!("{name}.{n}.{field}")).to_owned();
        let step = get("step");
        let numbers = ["wait_half_days", "within_half_days"].map(|field| (field, get(field)));
        if step.is_empty() && numbers.iter().all(|(_, typed)| typed.is_empty()) {
            return None;
        }
        let known = was.iter().find(|of| of.get("step").unwrap_or(of).as_str() == Some(step.as_str()));
        let mut link = known.and_then(|of| of.as_object()).cloned().unwrap_or_default();
        for (field, typed) in numbers {
            link.shift_remove(field);
            if !typed.is_empty() {
                link.insert(field.to_owned(), read_number(&typed, true));
            }
        }
        if link.keys().all(|field| field == "step") {
            return Some(Value::from(step));
        }
        let mut all = Map::from_iter([("step".to_owned(), Value::from(step))]);
        all.extend(link.into_iter().filter(|(field, _)| field != "step"));
        Some(all.into())
    };
    let links: Vec<Value> = rows.filter_map(one).collect();
    match (links.is_empty(), sent.ticked(&format!("{name}.free"))) {
        (true, true) => Some(json!([])),
        (true, false) => None,
        _ => Some(links.into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn links_are_chosen_with_waits_and_free_is_none() {
        let of = |pairs: &[(&str, &str)]| {
            let all = pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect();
            sent("after", [0, 1].into_iter(), &Fields::of(all), None)
        };
        let pairs = [
            ("after.0.step", "seal"),
            ("after.1.step", "other/step"),
            ("after.1.wait_half_days", "2"),
            ("after.1.within_half_days", "4"),
        ];
        let expected = json!(["seal", { "step": "other/step", "wait_half_days": 2, "within_half_days": 4 }]);
        assert_eq!(of(&pairs), Some(expected));
        assert_eq!((of(&[("after.free", "on")]), of(&[])), (Some(json!([])), None));
        let book = json!({ "jobs": [{ "id": "b", "name": "Barn", "steps": [{ "id": "s", "name": "Seal" }] }] });
        let job = json!({ "id": "a", "place": "x", "steps": [{ "id": "t" }] });
        let all = choices(&book, &job);
        assert_eq!(all, [("t".to_owned(), "t".to_owned()), ("b/s".to_owned(), "Barn: Seal".to_owned())]);
    }
}
