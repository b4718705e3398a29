//! `yardless schema`: the JSON Schema of the book.

use yardless_solver::book;

use crate::answer::Answer;

/// Prints the schema.
pub fn run() -> Answer {
    Answer::new(format!("{:#}\n", book::schema()))
}
