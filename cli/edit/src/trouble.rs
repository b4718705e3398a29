//! What stops whatever was asked for: facts by topic, each with its stable code and whose fault it is.

mod book;
mod command;
mod named;
mod note;
mod plain;
mod plan;
mod question;
mod source;
mod store;
mod storm;
mod topic;
mod undo;
pub mod words;

use std::ops::Range;

use serde_json::Value;
use yardless_book::Fault;

pub use book::OfBook;
pub use command::OfCommand;
pub use named::OfName;
pub use note::{NotHelper, OfNote, Unsaid};
pub use plain::{MOST_TOLD, in_file, printable, tally};
pub use plan::OfPlan;
pub use question::{Noun, OfQuestion};
pub use source::OfSource;
pub use store::OfStore;
pub use storm::{OfStorm, places};
pub use topic::{Cause, Help, Topic};
pub use undo::OfUndo;

/// What stopped what was asked for.
#[derive(Clone, Debug)]
pub enum Trouble {
    /// Faults of a book.
    Faults(Faulty),
    /// Of the book's file.
    Book(OfBook),
    /// Of a plan's file.
    Plan(OfPlan),
    /// Of what is named.
    Name(OfName),
    /// Of a note.
    Note(Box<OfNote>),
    /// Of a question.
    Question(Box<OfQuestion>),
    /// Of a storm.
    Storm(OfStorm),
    /// Of taking a change back.
    Undo(OfUndo),
    /// Of the service's database.
    Store(OfStore),
    /// Of what is read from elsewhere.
    Source(Box<OfSource>),
    /// Of a command.
    Command(OfCommand),
}

/// A book with faults.
#[derive(Clone, Debug)]
pub struct Faulty {
    /// The file's name as the user gave it.
    pub file: String,
    /// What it holds.
    pub bytes: Vec<u8>,
    /// At least one fault, each with its bytes in the text.
    pub faults: Vec<(Fault, Range<usize>)>,
}

impl Faulty {
    /// What it holds, as far as it reads: what the places of its faults are named by.
    pub fn book(&self) -> Value {
        serde_json::from_slice(&self.bytes).unwrap_or_default()
    }
}

impl Trouble {
    /// The facts of its topic; else the book's faults.
    pub fn told(&self) -> Result<&dyn Topic, &Faulty> {
        Ok(match self {
            Self::Faults(faulty) => return Err(faulty),
            Self::Book(of) => of,
            Self::Plan(of) => of,
            Self::Name(of) => of,
            Self::Note(of) => &**of,
            Self::Question(of) => &**of,
            Self::Storm(of) => of,
            Self::Undo(of) => of,
            Self::Store(of) => of,
            Self::Source(of) => &**of,
            Self::Command(of) => of,
        })
    }
    /// Whose fault it is.
    pub fn cause(&self) -> Cause {
        self.told().map_or(Cause::BadInput, Topic::cause)
    }
}

/// A refusal of a topic is one of all.
macro_rules! of_topic {
    ($($topic:ident($of:ty)),*) => {
        $(impl From<$of> for Trouble {
            fn from(of: $of) -> Self {
                Self::$topic(of.into())
            }
        })*
    };
}
of_topic!(
    Faults(Faulty),
    Book(OfBook),
    Plan(OfPlan),
    Name(OfName),
    Note(OfNote),
    Question(OfQuestion),
    Storm(OfStorm),
    Undo(OfUndo)
);
of_topic!(Store(OfStore), Source(OfSource), Command(OfCommand));
