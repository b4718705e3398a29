//! Books written otherwise that must plan the same: other ids, another order, a week later.

use chrono::Days;
use serde_json::Value;
use yardless_book::Book;
use yardless_book::half_day::parse_date;

use super::book;

/// The same book with every id and skill written backwards, so that they also sort otherwise.
pub fn renamed(of: &Book) -> Book {
    let mut json = serde_json::to_value(of).expect("JSON");
    rename(&mut json);
    book(json)
}

/// The fields that hold ids or skills, or lists of them. Coordinates are an `at` too, but no texts.
const IDS: [&str; 15] = [
    "id",
    "road",
    "from",
    "to",
    "place",
    "hire_place",
    "at",
    "kind",
    "kinds",
    "crew",
    "way",
    "skill",
    "skills",
    "after",
    "step",
];

fn rename(value: &mut Value) {
    match value {
        Value::Array(rows) => rows.iter_mut().for_each(rename),
        Value::Object(fields) => {
            for (name, field) in fields {
                match field {
                    Value::String(id) if IDS.contains(&name.as_str()) => backwards(id),
                    Value::Array(rows) if IDS.contains(&name.as_str()) => {
                        for row in rows {
                            if let Value::String(id) = row { backwards(id) } else { rename(row) }
                        }
                    }
                    other => rename(other),
                }
            }
        }
        _ => {}
    }
}

/// `job/step` keeps its slash.
fn backwards(id: &mut String) {
    *id = id.split('/').map(|part| part.chars().rev().collect()).collect::<Vec<String>>().join("/");
}

/// The same book with its lists in the opposite order, where order says nothing.
pub fn reordered(of: &Book) -> Book {
    let mut book = of.clone();
    book.places.reverse();
    book.drives.reverse();
    book.crews.reverse();
    book.trucks.reverse();
    book.equipment.reverse();
    book.jobs.reverse();
    book
}

/// A book or a plan with every date a week later.
pub fn a_week_later(value: &mut Value) {
    match value {
        Value::Array(rows) => rows.iter_mut().for_each(a_week_later),
        Value::Object(fields) => fields.values_mut().for_each(a_week_later),
        Value::String(text) => *text = text.split('/').map(later).collect::<Vec<_>>().join("/"),
        _ => {}
    }
}

fn later(text: &str) -> String {
    match text.get(..10).map(parse_date) {
        Some(Ok(date)) => format!("{}{}", date + Days::new(7), &text[10..]),
        _ => text.to_owned(),
    }
}
