//! Builds small books and plans, and asks the checker.
//!
//! Every horizon is the two weeks from Monday 7 December 2026: `7 am` is index 0, `18 pm` index 23, the last worked.

use serde_json::{Value, json};
use yardless_book::Book;
use yardless_book::half_day::{Horizon, parse_date};
use yardless_check::{Verdict, check};
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

/// Two crews of two with a truck each, a lot and three sites (`hill` closed to trailers by season), a trailer, staging,
/// two machines and a generator; `parts` replace whole fields.
pub fn book(parts: &Value) -> Value {
    let unit = |id: &str, kind: &str, moves: &str, pounds: u32| json!({"id": id, "kinds": [kind], "moves": moves, "weight_lb": pounds, "place": "lot"});
    let mut book = json!({
        "book": 1,
        "shop": {"name": "Forge", "time_zone": "America/New_York"},
        "roads": [{"id": "hill road", "no_trailers": ["11-15/04-15"]}],
        "places": [{"id": "lot"}, {"id": "a"}, {"id": "b"}, {"id": "hill", "road": "hill road"}],
        "drives": [{"from": "lot", "to": "a", "minutes": 30}, {"from": "lot", "to": "b", "minutes": 40},
            {"from": "a", "to": "b", "minutes": 25}, {"from": "lot", "to": "hill", "minutes": 20}],
        "kinds": [{"id": "generator", "power": true}],
        "crews": [{"id": "north", "people": 2, "skills": ["insulation"]}, {"id": "south", "people": 2, "skills": ["insulation", "carpentry"]}],
        "trucks": [{"id": "t1", "crew": "north", "tow_lb": 14000}, {"id": "t2", "crew": "south", "tow_lb": 7000}],
        "equipment": [unit("tr", "trailer", "towed", 5000), unit("st", "staging", "towed", 3000),
            unit("m1", "machine", "carried", 0), unit("m2", "machine", "carried", 0), unit("gen", "generator", "carried", 0)],
        "jobs": []
    });
    replace(&mut book, parts);
    book
}

/// A job at a place.
pub fn job(id: &str, place: &str, steps: &Value) -> Value {
    json!({"id": id, "place": place, "steps": steps})
}

/// A job whose one step `w` takes a half-day of insulation; `step` adds to it.
pub fn small_job(id: &str, place: &str, step: &Value) -> Value {
    let mut whole = json!({"id": "w", "skill": "insulation", "half_days": 1});
    replace(&mut whole, step);
    job(id, place, &json!([whole]))
}

/// A value with some of its fields replaced.
pub fn with(mut value: Value, parts: &Value) -> Value {
    replace(&mut value, parts);
    value
}

fn replace(value: &mut Value, parts: &Value) {
    for (field, part) in parts.as_object().expect("an object") {
        value[field] = part.clone();
    }
}

/// A plan of the two weeks; what it costs is filled in unless `parts` says it.
pub fn plan(parts: &Value) -> Value {
    with(json!({"plan": 1, "from": "2026-12-07", "weeks": 2, "steps": []}), parts)
}

/// A plan of nothing but steps.
pub fn steps(rows: &[Value]) -> Value {
    plan(&json!({ "steps": rows }))
}

/// A row `job/step`, done the usual way.
pub fn step(name: &str, crew: &str, start: &str, end: &str, units: &[&str]) -> Value {
    let (job, step) = name.split_once('/').expect("job/step");
    json!({"job": job, "step": step, "way": "usual", "crew": crew, "start": at(start), "end": at(end), "units": units})
}

/// A haul at the start of `7 am`, or in the evening of `7 pm evening`.
pub fn haul(unit: &str, from: &str, to: &str, when: &str, truck: &str) -> Value {
    let start = when.trim_end_matches(" evening");
    json!({"unit": unit, "from": from, "to": to, "at": at(start), "evening": start != when, "truck": truck})
}

fn at(text: &str) -> String {
    let (day, half) = text.split_once(' ').expect("such as 7 am");
    format!("2026-12-{day:0>2} {half}")
}

/// The book made ready.
pub fn shop(book: &Value) -> Shop {
    let book: Book = serde_json::from_value(book.clone()).expect("a book");
    let horizon = Horizon::new(parse_date("2026-12-07").expect("a date"), 2).expect("a Monday");
    Shop::new(&book, horizon).expect("a book without fault")
}

/// What the checker finds.
pub fn judge(book: &Value, plan: &Value) -> Verdict {
    let shop = shop(book);
    let mut plan = plan.clone();
    let said = plan.get("cost").is_some();
    if !said {
        plan["cost"] = json!(0);
    }
    let mut plan: Plan = serde_json::from_value(plan).expect("a plan");
    if !said {
        plan.cost = check(&shop, &plan).costs.total();
    }
    check(&shop, &plan)
}

/// The plan breaks no rule.
#[track_caller]
pub fn holds(book: &Value, plan: &Value) {
    let verdict = judge(book, plan);
    assert!(verdict.holds(), "{:#?}", verdict.breaches);
}

/// The plan breaks this rule and no other.
#[track_caller]
pub fn refused(rule: &str, book: &Value, plan: &Value) {
    let verdict = judge(book, plan);
    let rules: Vec<&str> = verdict.breaches.iter().map(|breach| breach.rule.text()).collect();
    assert!(!rules.is_empty() && rules.iter().all(|found| *found == rule), "{rule}? {:#?}", verdict.breaches);
}

/// The plan breaks this rule, whatever else it breaks.
#[track_caller]
pub fn breaks(rule: &str, book: &Value, plan: &Value) {
    let verdict = judge(book, plan);
    assert!(verdict.breaches.iter().any(|breach| breach.rule.text() == rule), "{rule}? {:#?}", verdict.breaches);
}

/// A step of one half-day by the crew `north` may be done at `first` and not at `before`, by this rule.
#[track_caller]
pub fn first_at(book: &Value, rule: &str, before: &str, first: &str) {
    refused(rule, book, &steps(&[step("x/w", "north", before, before, &[])]));
    holds(book, &steps(&[step("x/w", "north", first, first, &[])]));
}
