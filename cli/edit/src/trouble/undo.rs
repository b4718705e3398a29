//! Of taking a change of the book back.

use super::topic::{Cause, Help, Topic};

/// Why a change cannot be taken back, or its way back not be kept.
#[derive(Clone, Debug, PartialEq)]
pub enum OfUndo {
    /// No change is known.
    Nothing {
        /// The book's name.
        name: String,
    },
    /// The book was changed by others since.
    NotAsLeft {
        /// The book's name.
        name: String,
        /// The words of the last command.
        command: String,
    },
    /// The journal does not fit the book.
    NoWayBack {
        /// The words of the last command.
        command: String,
    },
    /// The journal cannot be read.
    Unreadable {
        /// The journal's path.
        path: String,
        /// What the machine or the reader says.
        why: String,
    },
    /// The journal was written by another version.
    Format {
        /// The journal's path.
        path: String,
        /// Its format.
        format: u32,
    },
    /// The machine does not take the journal.
    Unwritten {
        /// The journal's path.
        to: String,
        /// What the machine says.
        why: String,
    },
}

impl Topic for OfUndo {
    fn code(&self) -> &'static str {
        match self {
            Self::Nothing { .. } => "undo::nothing",
            Self::NotAsLeft { .. } | Self::NoWayBack { .. } => "undo::changed",
            Self::Unreadable { .. } | Self::Format { .. } => "undo::unreadable",
            Self::Unwritten { .. } => "undo::unwritten",
        }
    }

    fn cause(&self) -> Cause {
        match self {
            Self::Unwritten { .. } => Cause::OurFailure,
            _ => Cause::BadInput,
        }
    }

    fn says(&self) -> String {
        let unreadable = |path: &str, why: &str| {
            format!("the journal of changes `{path}` cannot be read: {why}; nothing was written")
        };
        match self {
            Self::Nothing { name } => format!("no change of `{name}` is known that could be taken back"),
            Self::NotAsLeft { name, command } => {
                format!("the book `{name}` is not as `{command}` left it; nothing was written")
            }
            Self::NoWayBack { command } => {
                format!("the journal of changes does not lead back from `{command}`; nothing was written")
            }
            Self::Unreadable { path, why } => unreadable(path, why),
            Self::Format { path, format } => {
                unreadable(path, &format!("it has format {format}, and this version reads format 1"))
            }
            Self::Unwritten { to, why } => {
                format!("the journal of changes could not be stored in `{to}`: {why}; the book is as it was")
            }
        }
    }

    fn help(&self) -> Help {
        match self {
            Self::Nothing { .. } => Help::command("only what `yardless` itself has changed can be"),
            Self::NotAsLeft { .. } | Self::NoWayBack { .. } => {
                Help::command("correct the book by hand; `yardless undo --list` shows what was changed")
            }
            Self::Unreadable { .. } | Self::Format { .. } => {
                Help::command("move that file away: changes from before then can no longer be taken back")
            }
            Self::Unwritten { .. } => Help::plain("the book's folder must exist and be one that may be written to"),
        }
    }
}
