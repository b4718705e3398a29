//! What the owner acts on in a week, a row each, over everything else on its sheet: who is late, what is not planned, whom
//! to call, what must have left a place, or be there, by when. What it costs stands under the sheet.

use std::ops::Range;

use super::asks::asks;
use super::course::Course;
use super::foot::not_planned;
use super::in_short::late;
use super::in_time::in_time;
use super::told::Told;
use super::word_given::{WordBroken, words_broken};

/// The word before what must be moved in time: the last of the rows.
pub const MOVE: &str = "Move";

/// The rows of some half-days: a word, and a line; without what is waited on.
pub fn acts(course: &Course, half_days: &Range<usize>) -> Vec<[String; 2]> {
    let row = |word: &str, line: String| [word.to_owned(), line];
    let late = late(course, half_days).into_iter().map(|line| row("Late", line));
    let out = not_planned(course.shop, course.plan).into_iter().map(|(job, why)| {
        let why = if why.is_empty() { String::new() } else { format!(": {why}") };
        row("Not planned", format!("{job}{why}"))
    });
    let words = words_broken(course.shop, course.plan).into_iter().map(|word| row("Call", call(&word)));
    let in_time = in_time(course, half_days);
    let moves = in_time.iter().map(|of| row(MOVE, of.says(course)));
    late.chain(out).chain(words).chain(moves).collect()
}

/// The rows as text, with what is waited on where that is wanted; nothing where there are none.
pub fn told(course: &Course, half_days: &Range<usize>, calls: bool) -> Told {
    let mut rows = acts(course, half_days);
    if calls {
        let at = rows.iter().position(|[word, _]| word == MOVE).unwrap_or(rows.len());
        let asks = asks(course.shop).into_iter().map(|ask| ["Call".to_owned(), ask.says()]);
        rows.splice(at..at, asks);
    }
    for n in (1..rows.len()).rev() {
        if rows[n][0] == rows[n - 1][0] {
            rows[n][0].clear();
        }
    }
    Told::default().rows(0, rows, [12, 0])
}

/// A customer who was told another date.
fn call(word: &WordBroken) -> String {
    let whom = if word.contact.is_empty() { String::new() } else { format!("{}: ", word.contact) };
    format!("{whom}{} of {}, {}", word.step, word.job_name, word.what())
}
