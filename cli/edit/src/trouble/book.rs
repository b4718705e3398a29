//! Of the book's file.

use yardless_book::Path;

use super::topic::{Cause, Help, Topic};
use super::words::DEFECT;

/// Why the book's file cannot be read or written.
#[derive(Clone, Debug, PartialEq)]
pub enum OfBook {
    /// It is not there.
    Missing {
        /// The file's name.
        name: String,
    },
    /// The machine does not give it.
    Unreadable {
        /// The file's name.
        name: String,
        /// What the machine says.
        why: String,
    },
    /// It is not any more as it was read.
    Changed {
        /// The file's name.
        name: String,
    },
    /// Its owner has protected it.
    WriteProtected {
        /// The file's name.
        name: String,
    },
    /// The machine does not take it.
    Unwritten {
        /// The file's path.
        to: String,
        /// What the machine says.
        why: String,
    },
    /// An edit leads nowhere in it.
    Nowhere {
        /// The file's name.
        name: String,
        /// Where the edit leads.
        path: Path,
    },
    /// It cannot be written as it was before a half-day.
    NoHistory {
        /// What the writer says.
        why: String,
    },
}

impl OfBook {
    /// Of a book that is not there, or cannot be read.
    pub fn unread(name: &str, e: &std::io::Error) -> Self {
        let name = name.to_owned();
        if e.kind() == std::io::ErrorKind::NotFound {
            Self::Missing { name }
        } else {
            Self::Unreadable { name, why: e.to_string() }
        }
    }
}

impl Topic for OfBook {
    fn code(&self) -> &'static str {
        match self {
            Self::Missing { .. } => "book::missing",
            Self::Unreadable { .. } => "book::unreadable",
            Self::Changed { .. } => "book::changed",
            Self::WriteProtected { .. } => "book::write-protected",
            Self::Unwritten { .. } => "book::unwritten",
            Self::Nowhere { .. } => "edit::nowhere",
            Self::NoHistory { .. } => "check::history",
        }
    }

    fn cause(&self) -> Cause {
        match self {
            Self::Unwritten { .. } | Self::Nowhere { .. } | Self::NoHistory { .. } => Cause::OurFailure,
            _ => Cause::BadInput,
        }
    }

    fn says(&self) -> String {
        match self {
            Self::Missing { name } => format!("there is no book `{name}`"),
            Self::Unreadable { name, why } => format!("the book `{name}` cannot be read: {why}"),
            Self::Changed { name } => format!("the book `{name}` was changed meanwhile; nothing was written"),
            Self::WriteProtected { name } => format!("the book `{name}` is write-protected; nothing was written"),
            Self::Unwritten { to, why } => format!("the book could not be stored in `{to}`: {why}; it is as it was"),
            Self::Nowhere { name, path } => format!("there is no {path} in `{name}`; nothing was written"),
            Self::NoHistory { why } => why.clone(),
        }
    }

    fn help(&self) -> Help {
        match self {
            Self::Missing { .. } | Self::Unreadable { .. } => Help::command(
                "name the book with --book FILE or in YARDLESS_BOOK; `yardless new book.json` writes one to start from",
            ),
            Self::Changed { .. } => Help::command("run the command again: it reads the book anew"),
            Self::WriteProtected { .. } => {
                Help::command("take the protection off the file; --dry-run prints what would be changed")
            }
            Self::Unwritten { .. } => Help::plain("the book's folder must exist and be one that may be written to"),
            Self::Nowhere { .. } | Self::NoHistory { .. } => Help::plain(DEFECT),
        }
    }
}
