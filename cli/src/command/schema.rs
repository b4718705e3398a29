//! `yardless schema`: the JSON Schema of the book.

use crate::answer::Answer;

/// Prints the schema.
pub fn run() -> Answer {
    Answer::new(format!("{:#}\n", yardless_book::schema()))
}
