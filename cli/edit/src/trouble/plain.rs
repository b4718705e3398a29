//! How a refusal is told on a terminal, in lines: file, line, column, what is wrong, what to do.

use std::fmt::Write as _;
use std::ops::Range;

use serde_json::Value;
use yardless_book::{Fault, visible};

use super::Trouble;
use crate::lines::Lines;
use crate::spoken::place;

/// Most faults that are told; of more it is said how many they are.
pub const MOST_TOLD: usize = 100;

impl Trouble {
    /// The whole of it in one line, for where it is one of several.
    pub fn in_one_line(&self) -> String {
        self.plain().lines().map(str::trim).collect::<Vec<_>>().join("; ")
    }
    /// `file:line:column: code: says`, and the remedy under it.
    pub fn plain(&self) -> String {
        match self.told() {
            Ok(topic) => entry(topic.code(), &topic.says(), None, Some(topic.help().text())),
            Err(faulty) => {
                let mut lines = Lines::new(&faulty.bytes);
                let faults = faulty.faults.iter().take(MOST_TOLD);
                let book = faulty.book();
                let told = faults.map(|fault| in_file(&faulty.file, &mut lines, &book, fault)).collect::<String>();
                told + &tally(&faulty.file, faulty.faults.len())
            }
        }
    }
}

fn entry(head: &str, says: &str, at: Option<&str>, help: Option<&str>) -> String {
    let mut out = format!("{}: {}\n", printable(head), printable(says));
    if let Some(at) = at {
        let _ = writeln!(out, "  at: {}", printable(at));
    }
    if let Some(help) = help {
        let _ = writeln!(out, "  help: {}", printable(help));
    }
    out
}

/// A fault at its place: `file:line:column: code: says`, and under it the place in words and the remedy.
pub fn in_file(file: &str, lines: &mut Lines, book: &Value, (fault, at): &(Fault, Range<usize>)) -> String {
    let (line, column) = lines.at(at.start);
    let head = format!("{file}:{line}:{column}: {}", fault.code.text());
    let place = (!fault.path.0.is_empty()).then(|| place(book, &fault.path));
    entry(&head, &fault.says, place.as_deref(), fault.help.as_deref())
}

/// How many there are, and how many are not told.
pub fn tally(file: &str, faults: usize) -> String {
    let more = match faults.saturating_sub(MOST_TOLD) {
        0 => String::new(),
        more => format!("and {more} more; "),
    };
    format!("{more}{faults} fault{} in {}\n", if faults == 1 { "" } else { "s" }, printable(file))
}

/// Names in a book are free text: what could steer a terminal, or turn a line around, is shown as its escape.
pub fn printable(text: &str) -> String {
    // Ends of lines and tabs are the program's own.
    let pieces = text.split_inclusive(['\n', '\t']);
    pieces.fold(String::with_capacity(text.len()), |out, piece| {
        let says = piece.trim_end_matches(['\n', '\t']);
        out + &visible(says) + &piece[says.len()..]
    })
}
