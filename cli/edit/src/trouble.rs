//! What stops whatever was asked for, and how it is told in lines: file, line, column, what is wrong, what to do.

use std::fmt::Write as _;
use std::ops::Range;

use yardless_book::{Fault, nearest, visible};

use crate::lines::Lines;

/// Whose fault it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// The program's own failure, or the machine's: the input was right.
    OurFailure,
    /// The command, the book or another file given is wrong.
    BadInput,
    /// The plan given does not hold by its book.
    DoesNotHold,
}

/// What stopped what was asked for.
#[derive(Clone, Debug)]
pub enum Trouble {
    /// One sentence, with a stable code and a remedy.
    One {
        /// Whose fault it is.
        cause: Cause,
        /// The stable code.
        code: &'static str,
        /// What is wrong.
        says: String,
        /// What to do about it.
        help: String,
    },
    /// Faults of a book, each with its bytes in the text.
    Book {
        /// The file's name as the user gave it.
        file: String,
        /// What it holds.
        bytes: Vec<u8>,
        /// At least one fault.
        faults: Vec<(Fault, Range<usize>)>,
    },
}

impl Trouble {
    /// Wrong input, in one sentence.
    pub fn input(code: &'static str, says: impl Into<String>, help: impl Into<String>) -> Self {
        Self::One { cause: Cause::BadInput, code, says: says.into(), help: help.into() }
    }
    /// Our own failure, in one sentence.
    pub fn ours(code: &'static str, says: impl Into<String>, help: impl Into<String>) -> Self {
        Self::One { cause: Cause::OurFailure, code, says: says.into(), help: help.into() }
    }
    /// Whose fault it is.
    pub fn cause(&self) -> Cause {
        match self {
            Self::One { cause, .. } => *cause,
            Self::Book { .. } => Cause::BadInput,
        }
    }
    /// The whole of it in one line, for where it is one of several.
    pub fn in_one_line(&self) -> String {
        self.plain().lines().map(str::trim).collect::<Vec<_>>().join("; ")
    }
    /// `file:line:column: code: says`, and the remedy under it.
    pub fn plain(&self) -> String {
        match self {
            Self::One { code, says, help, .. } => entry(code, says, Some(help)),
            Self::Book { file, bytes, faults } => {
                let mut lines = Lines::new(bytes);
                let told = faults.iter().take(MOST_TOLD).map(|fault| in_file(file, &mut lines, fault));
                told.collect::<String>() + &tally(file, faults.len())
            }
        }
    }
}

/// Most faults that are told; of more it is said how many they are.
pub const MOST_TOLD: usize = 100;

fn entry(head: &str, says: &str, help: Option<&str>) -> String {
    let mut out = format!("{}: {}\n", printable(head), printable(says));
    if let Some(help) = help {
        let _ = writeln!(out, "  help: {}", printable(help));
    }
    out
}

/// A fault at its place: `file:line:column: code: says`, and the remedy under it.
pub fn in_file(file: &str, lines: &mut Lines, (fault, at): &(Fault, Range<usize>)) -> String {
    let (line, column) = lines.at(at.start);
    entry(&format!("{file}:{line}:{column}: {}", fault.code.text()), &fault.says, fault.help.as_deref())
}

/// `; did you mean ...?` where something known is near.
pub fn did_you_mean<'n>(name: &str, known: impl IntoIterator<Item = &'n str>) -> String {
    nearest(name, known).map_or_else(String::new, |near| format!("; did you mean `{near}`?"))
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
