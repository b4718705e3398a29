//! What the tests of planning share: random books, planted books, and the best plan of a tiny book by trying everything.

pub mod cases;
pub mod costs;
pub mod days;
pub mod draw;
pub mod equipment;
pub mod exhaustive;
pub mod generate;
pub mod help;
pub mod helped;
pub mod home;
pub mod in_part;
pub mod memory;
pub mod midway;
pub mod news;
pub mod plain;
pub mod planted;
pub mod posted;
pub mod ratings;
pub mod rewrite;
pub mod season;
pub mod stops;
pub mod tiny;
pub mod waits;
pub mod yardsticks;

use chrono::NaiveDate;
use serde_json::Value;
use yardless_book::Book;

/// The Monday on which every made-up book begins.
pub fn monday() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 12, 7).expect("a date")
}

/// A day so many days after that Monday, as written in a book.
pub fn day(after: usize) -> String {
    (monday() + chrono::Days::new(after as u64)).to_string()
}

/// A half-day by its index, as written in a book.
pub fn half(index: usize) -> String {
    format!("{} {}", day(index / 2), if index.is_multiple_of(2) { "am" } else { "pm" })
}

/// A book from its JSON, which is known to be well formed.
pub fn book(json: Value) -> Book {
    serde_json::from_value(json).expect("a book")
}
