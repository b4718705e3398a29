//! Of a command: what it is to plan, and the files that it is to write.

use super::topic::{Cause, Help, Topic};
use super::words::{DEFECT, all};

/// Why a command is not done.
#[derive(Clone, Debug, PartialEq)]
pub enum OfCommand {
    /// No weeks can be planned from that date on.
    From {
        /// What the calendar says.
        why: String,
    },
    /// The plan found does not hold.
    FoundBreaks {
        /// What breaks, each with its rule.
        breaches: Vec<String>,
    },
    /// There are not so many plans to choose from.
    NoChoice {
        /// The number asked for.
        choice: usize,
        /// How many there are.
        found: usize,
    },
    /// Where the starter book is to be written there is a file.
    NewExists {
        /// The file's name.
        name: String,
    },
    /// The machine does not take the starter book.
    NewUnwritten {
        /// The file's name.
        name: String,
        /// What the machine says.
        why: String,
    },
    /// Where a copy is to be written there is a file.
    CopyExists {
        /// The file's name.
        name: String,
    },
    /// The machine does not take a copy.
    CopyUnwritten {
        /// The file's name.
        name: String,
        /// What the machine says.
        why: String,
    },
    /// Where sheets are to be written there is another sort of file.
    SheetsOverOther {
        /// The file's name.
        name: String,
        /// What it would have to be: `HTML` or `PDF`.
        sort: &'static str,
    },
    /// The machine does not take the sheets.
    SheetsUnwritten {
        /// The file's name.
        name: String,
        /// What the machine says.
        why: String,
    },
    /// No browser is here that makes a PDF.
    NoBrowser {
        /// The programs looked for.
        tried: Vec<String>,
    },
    /// The browser makes no PDF.
    NoPdf {
        /// The program.
        browser: String,
        /// What it, or the machine, says.
        why: String,
    },
}

impl Topic for OfCommand {
    fn code(&self) -> &'static str {
        match self {
            Self::From { .. } => "usage::from",
            Self::FoundBreaks { .. } => "engine::breach",
            Self::NoChoice { .. } => "replan::choice",
            Self::NewExists { .. } => "new::exists",
            Self::NewUnwritten { .. } => "new::unwritten",
            Self::CopyExists { .. } => "export::exists",
            Self::CopyUnwritten { .. } => "export::unwritten",
            Self::SheetsOverOther { .. } => "sheets::other-file",
            Self::SheetsUnwritten { .. } => "sheets::unwritten",
            Self::NoBrowser { .. } => "sheets::no-browser",
            Self::NoPdf { .. } => "sheets::no-pdf",
        }
    }

    fn cause(&self) -> Cause {
        match self {
            Self::FoundBreaks { .. } => Cause::OurFailure,
            _ => Cause::BadInput,
        }
    }

    fn says(&self) -> String {
        match self {
            Self::From { why } => why.clone(),
            Self::FoundBreaks { breaches } => {
                format!("the plan found does not hold, so it is not given out: {}", breaches.join("; "))
            }
            Self::NoChoice { choice, found } => format!("there is no choice {choice}: {found} found"),
            Self::NewExists { name } => format!("`{name}` is there already; nothing was written"),
            Self::CopyExists { name } => format!("`{name}` is there already; it was left as it is"),
            Self::NewUnwritten { name, why }
            | Self::CopyUnwritten { name, why }
            | Self::SheetsUnwritten { name, why } => {
                format!("`{name}` could not be written: {why}")
            }
            Self::SheetsOverOther { name, sort } => {
                format!("`{name}` is there already and is no {sort} file; it was left as it is")
            }
            Self::NoBrowser { tried } => {
                format!("a PDF is made by a browser, and none was found (looked for {})", all(tried))
            }
            Self::NoPdf { browser, why } => format!("`{browser}` made no PDF: {why}"),
        }
    }

    fn help(&self) -> Help {
        Help::command(match self {
            Self::From { .. } => "give --from a Monday, as 2026-12-07",
            Self::FoundBreaks { .. } => DEFECT,
            Self::NoChoice { .. } => "give --choice one of the numbers listed without it",
            Self::NewExists { .. } => "give the name of a new file",
            Self::NewUnwritten { .. } | Self::SheetsUnwritten { .. } => {
                "give a folder that exists and may be written to"
            }
            Self::CopyExists { .. } => "name a folder without it",
            Self::CopyUnwritten { .. } => "name a folder that exists and may be written to",
            Self::SheetsOverOther { .. } => "name a new file",
            Self::NoBrowser { .. } => {
                "name one with --browser PROGRAM, or write --html FILE and print that from any browser"
            }
            Self::NoPdf { .. } => "write --html FILE and print that from any browser",
        })
    }
}
