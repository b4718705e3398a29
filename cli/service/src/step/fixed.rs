//! What the owner fixes of a step (W8), as an entry of the book.

use serde_json::{Map, Value};
use yardless_book::half_day::HalfDay;

/// The book with a step fixed to begin in a half-day, by a crew where one is named; let go where neither is.
pub fn fixed(book: &Value, (job, step): (&str, &str), start: Option<HalfDay>, crew: Option<&str>) -> Value {
    let mut book = book.clone();
    let jobs = book["jobs"].as_array_mut().into_iter().flatten();
    let steps = jobs.filter(|of| of["id"] == job).filter_map(|of| of["steps"].as_array_mut()).flatten();
    for of in steps.filter(|of| of["id"] == step) {
        let Some(fields) = of.as_object_mut() else { continue };
        // A way that is fixed stays so.
        let mut fixed = fields.get("fixed").and_then(Value::as_object).cloned().unwrap_or_default();
        set(&mut fixed, "start", start.map(|start| start.to_string()));
        set(&mut fixed, "crew", crew.map(str::to_owned));
        if fixed.is_empty() {
            fields.shift_remove("fixed");
        } else {
            fields.insert("fixed".to_owned(), fixed.into());
        }
    }
    book
}

fn set(fixed: &mut Map<String, Value>, field: &str, value: Option<String>) {
    match value {
        Some(value) => {
            fixed.insert(field.to_owned(), value.into());
        }
        None => {
            fixed.shift_remove(field);
        }
    }
}

#[test]
fn step_is_fixed_and_let_go_and_its_way_stays() {
    let step = |fixed: Value| serde_json::json!({ "jobs": [{ "id": "a", "steps": [{ "id": "s", "fixed": fixed }, { "id": "t" }] }] });
    let at: HalfDay = "2026-12-09 am".parse().expect("a half-day");
    let book = step(serde_json::json!({ "way": "by-hand" }));
    let with = fixed(&book, ("a", "s"), Some(at), Some("north"));
    assert_eq!(
        with["jobs"][0]["steps"][0]["fixed"],
        serde_json::json!({ "way": "by-hand", "start": "2026-12-09 am", "crew": "north" })
    );
    assert_eq!(fixed(&with, ("a", "s"), None, None), book);
    let other = fixed(&book, ("a", "t"), Some(at), None);
    assert_eq!(other["jobs"][0]["steps"][1]["fixed"], serde_json::json!({ "start": "2026-12-09 am" }));
    assert_eq!(fixed(&other, ("a", "t"), None, None), book);
}
