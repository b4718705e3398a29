//! What stops a command, and how it is told: file, line, column, what is wrong, what to do.

use std::fmt::Write as _;
use std::io::{self, IsTerminal, Write as _};
use std::ops::Range;
use std::sync::Arc;

use miette::{GraphicalReportHandler, LabeledSpan, MietteDiagnostic, Report};
use yardless_book::{Fault, nearest};

use crate::answer::printable;
use crate::exit::Exit;
use crate::lines::{Excerpts, Lines};

/// What stopped a command.
#[derive(Clone, Debug)]
pub enum Trouble {
    /// One sentence, with a stable code and a remedy.
    One {
        /// How the run ends.
        exit: Exit,
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
        Self::One { exit: Exit::BadInput, code, says: says.into(), help: help.into() }
    }
    /// Our own failure, in one sentence.
    pub fn ours(code: &'static str, says: impl Into<String>, help: impl Into<String>) -> Self {
        Self::One { exit: Exit::OurFailure, code, says: says.into(), help: help.into() }
    }
    /// How the run ends.
    pub fn exit(&self) -> Exit {
        match self {
            Self::One { exit, .. } => *exit,
            Self::Book { .. } => Exit::BadInput,
        }
    }
    /// The whole of it in one line, for where it is one of several.
    pub fn in_one_line(&self) -> String {
        self.plain().lines().map(str::trim).collect::<Vec<_>>().join("; ")
    }
    /// Tells it on stderr: with the lines of the book around each fault on a terminal, a line each elsewhere.
    pub fn tell(&self) {
        let text = if io::stderr().is_terminal() { self.drawn() } else { self.plain() };
        let _ = io::stderr().write_all(text.as_bytes());
    }

    /// `file:line:column: code: says`, and the remedy under it.
    fn plain(&self) -> String {
        match self {
            Self::One { code, says, help, .. } => entry(code, says, Some(help)),
            Self::Book { file, bytes, faults } => {
                let mut lines = Lines::new(bytes);
                let told = faults.iter().take(MOST_TOLD).map(|fault| in_file(file, &mut lines, fault));
                told.collect::<String>() + &tally(file, faults.len())
            }
        }
    }

    fn drawn(&self) -> String {
        match self {
            Self::One { code, says, help, .. } => {
                draw(&MietteDiagnostic::new(printable(says)).with_code(*code).with_help(printable(help)).into())
            }
            Self::Book { file, bytes, faults } => {
                // Bytes that are no text cannot be drawn.
                let Ok(text) = std::str::from_utf8(bytes) else { return self.plain() };
                let source = Arc::new(Excerpts::new(file, text));
                let mut lines = Lines::new(bytes);
                let mut out = String::new();
                for all @ (fault, at) in faults.iter().take(MOST_TOLD) {
                    // A line that fills the screen shows nothing.
                    let Some(at) = source.short(at) else {
                        out.push_str(&in_file(file, &mut lines, all));
                        continue;
                    };
                    let mut told = MietteDiagnostic::new(printable(&fault.says))
                        .with_code(fault.code.text())
                        .with_labels([LabeledSpan::at(at, "here")]);
                    told.help = fault.help.as_deref().map(printable);
                    out.push_str(&draw(&Report::new(told).with_source_code(Arc::clone(&source))));
                }
                out + &tally(file, faults.len())
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

fn in_file(file: &str, lines: &mut Lines, (fault, at): &(Fault, Range<usize>)) -> String {
    let (line, column) = lines.at(at.start);
    entry(&format!("{file}:{line}:{column}: {}", fault.code.text()), &fault.says, fault.help.as_deref())
}

/// `; did you mean ...?` where something known is near.
pub fn did_you_mean<'n>(name: &str, known: impl IntoIterator<Item = &'n str>) -> String {
    nearest(name, known).map_or_else(String::new, |near| format!("; did you mean `{near}`?"))
}

fn tally(file: &str, faults: usize) -> String {
    let more = match faults.saturating_sub(MOST_TOLD) {
        0 => String::new(),
        more => format!("and {more} more; "),
    };
    format!("{more}{faults} fault{} in {}\n", if faults == 1 { "" } else { "s" }, printable(file))
}

fn draw(report: &Report) -> String {
    let mut out = String::new();
    match GraphicalReportHandler::new().render_report(&mut out, report.as_ref()) {
        Ok(()) => out,
        Err(_) => format!("{report}\n"),
    }
}
