//! The 57 small case books, with the best cost of each.

use chrono::NaiveDate;
use serde_json::Value;
use yardless_solver::book::Book;

/// A case of `tests/cases/index.json`.
pub struct Case {
    pub name: String,
    pub book: Book,
    pub from: NaiveDate,
    pub weeks: u32,
    pub best_cents: i64,
    pub hauls: usize,
    pub left_out: Vec<String>,
}

/// All of them, in the index's order.
pub fn all() -> Vec<Case> {
    let read = |name: &str| {
        let path = format!("{}/../tests/cases/{name}.json", env!("CARGO_MANIFEST_DIR"));
        std::fs::read(&path).unwrap_or_else(|e| panic!("{path}: {e}"))
    };
    let index: Vec<Value> = serde_json::from_slice(&read("index")).expect("an index");
    let text = |case: &Value, field: &str| case[field].as_str().expect("a text").to_owned();
    let case = |case: &Value| Case {
        name: text(case, "case"),
        book: serde_json::from_slice(&read(&text(case, "case"))).expect("a book"),
        from: text(case, "from").parse().expect("a date"),
        weeks: case["weeks"].as_u64().expect("weeks") as u32,
        best_cents: (case["best_cost"].as_f64().expect("a cost") * 100.0).round() as i64,
        hauls: case["hauls"].as_u64().expect("a number") as usize,
        left_out: serde_json::from_value(case["left_out"].clone()).expect("ids"),
    };
    index.iter().map(case).collect()
}
