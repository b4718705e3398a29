//! The small case books, with the best cost of each.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde_json::Value;
use yardless_book::Book;
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_plan::LaterRow;

/// A case of `tests/cases/index.json`.
pub struct Case {
    pub name: String,
    pub book: Book,
    pub from: NaiveDate,
    pub weeks: u32,
    /// Index of the half-day from which on is planned (N1); 0 in a plan from a clean sheet.
    pub now: usize,
    /// The plan last given to the crews (N2), as stored.
    pub kept: Option<Value>,
    pub best_cents: i64,
    /// Hauls of the best plan, where the index says.
    pub hauls: Option<usize>,
    pub left_out: Vec<String>,
    /// Later jobs, and the later steps of jobs in part, as a plan lists them.
    pub later: Vec<LaterRow>,
}

/// Those that are planned from a clean sheet, in the index's order.
pub fn all() -> Vec<Case> {
    that_need(None)
}

/// Those with a history, a kept plan or overtime (N1, N3, W9).
pub fn rescheduling() -> Vec<Case> {
    ["history", "overtime"].into_iter().flat_map(|what| that_need(Some(what))).collect()
}

/// Those with steps that may split (W10); the reader refuses their books as yet.
pub fn splitting() -> Vec<Case> {
    that_need(Some("may_split"))
}

/// Those of what came to the first rules later, by topic: waits, words given and ranks; crews that help others; stops and
/// crews at several steps at once; jobs planned in part; half-days kept open and rounds from home; what standing, hire and
/// open sites cost; dates by which units are to be home and sites cleared; ratings of trucks and
/// trailers; weights posted on roads; shared kinds and what is parked between steps.
pub fn by_topic() -> Vec<Case> {
    let topics = [
        ("waits", 14),
        ("help", 10),
        ("stops", 10),
        ("in_part", 22),
        ("days", 9),
        ("costs", 8),
        ("home", 9),
        ("ratings", 4),
        ("posted", 5),
        ("equipment", 7),
    ];
    let of = |(topic, least)| {
        let cases = of_topic(topic);
        assert!(cases.len() >= least, "{topic}: {}", cases.len());
        cases
    };
    topics.into_iter().flat_map(of).collect()
}

/// Those of one topic, a folder of `tests/cases`.
pub fn of_topic(topic: &str) -> Vec<Case> {
    let index: Vec<Value> = serde_json::from_slice(&read(&format!("{topic}/index"))).expect("an index");
    index.iter().map(|row| case(row, &format!("{topic}/"))).collect()
}

/// How many cases there are by what they need; a clean sheet is "".
pub fn counts() -> BTreeMap<String, usize> {
    let mut counts = BTreeMap::new();
    for case in index() {
        *counts.entry(case["needs"].as_str().unwrap_or_default().to_owned()).or_default() += 1;
    }
    counts
}

fn read(name: &str) -> Vec<u8> {
    let path = format!("{}/../../tests/cases/{name}.json", env!("CARGO_MANIFEST_DIR"));
    std::fs::read(&path).unwrap_or_else(|e| panic!("{path}: {e}"))
}

fn index() -> Vec<Value> {
    serde_json::from_slice(&read("index")).expect("an index")
}

fn that_need(what: Option<&str>) -> Vec<Case> {
    index().iter().filter(|case| case["needs"].as_str() == what).map(|row| case(row, "")).collect()
}

fn case(case: &Value, folder: &str) -> Case {
    let text = |field: &str| case[field].as_str().expect("a text").to_owned();
    let from = text("from").parse().expect("a date");
    let weeks = case["weeks"].as_u64().expect("weeks") as u32;
    let now = case["now"].as_str().map_or(0, |now| {
        let now: HalfDay = now.parse().expect("a half-day");
        Horizon::new(from, weeks).expect("a horizon").index(now).expect("a half-day of the horizon")
    });
    Case {
        name: text("case"),
        book: serde_json::from_slice(&read(&format!("{folder}{}", text("case")))).expect("a book"),
        from,
        weeks,
        now,
        kept: case.get("kept").cloned(),
        best_cents: (case["best_cost"].as_f64().expect("a cost") * 100.0).round() as i64,
        hauls: case["hauls"].as_u64().map(|hauls| hauls as usize),
        left_out: serde_json::from_value(case["left_out"].clone()).expect("ids"),
        later: case["later"].as_array().into_iter().flatten().map(later).collect(),
    }
}

/// A job by its id, or a row as in a plan.
fn later(row: &Value) -> LaterRow {
    let whole = |job: &str| LaterRow { job: job.to_owned(), steps: Vec::new() };
    row.as_str().map_or_else(|| serde_json::from_value(row.clone()).expect("a row"), whole)
}
