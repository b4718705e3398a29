//! Of the service's database.

use super::topic::{Cause, Help, Topic};

/// Why the database cannot be opened, used or copied.
#[derive(Clone, Debug, PartialEq)]
pub enum OfStore {
    /// It is not there.
    Missing {
        /// Its path.
        path: String,
    },
    /// It cannot be opened.
    Unreadable {
        /// Its path.
        path: String,
        /// What the machine or the database says.
        why: String,
    },
    /// It is no database, or only the beginning of one.
    NoDatabase {
        /// Its path.
        path: String,
    },
    /// It has no bytes.
    Empty {
        /// Its path.
        path: String,
    },
    /// It is gone, and its log is there.
    Lost {
        /// Its path.
        path: String,
        /// The log's path.
        log: String,
    },
    /// It is another program's.
    Other {
        /// Its path.
        path: String,
    },
    /// It was written by a newer version.
    Newer {
        /// Its path.
        path: String,
        /// Its schema.
        schema: usize,
        /// The newest that is known.
        known: usize,
    },
    /// Another program holds it.
    Busy {
        /// Its path.
        path: String,
    },
    /// It fails.
    Failed {
        /// Its path.
        path: String,
        /// What the database says.
        why: String,
    },
    /// The system gives no random bytes.
    NoChance {
        /// What the system says.
        why: String,
    },
    /// A sign-in is closed, and was to be given a link.
    Closed,
    /// Where it is to be copied to there is something.
    BackupExists {
        /// The copy's path.
        to: String,
    },
    /// The machine does not take the copy.
    BackupUnwritten {
        /// The copy's path.
        to: String,
        /// What the machine says.
        why: String,
    },
    /// It holds no book yet.
    NoBook {
        /// Its path.
        path: String,
    },
    /// It got another book or plan while one was put in.
    Changed {
        /// `book` or `plan`.
        kind: &'static str,
    },
    /// The plan that is to be put in does not hold.
    PlanBreaks {
        /// The plan's path.
        plan: String,
        /// What breaks first, as the judge says it.
        first: String,
    },
    /// The service cannot listen.
    NotBound {
        /// The address.
        at: String,
        /// What the machine says.
        why: String,
    },
}

impl Topic for OfStore {
    fn code(&self) -> &'static str {
        match self {
            Self::Missing { .. } => "store::missing",
            Self::Unreadable { .. } | Self::NoDatabase { .. } => "store::unreadable",
            Self::Empty { .. } => "store::empty",
            Self::Lost { .. } => "store::lost",
            Self::Other { .. } => "store::other",
            Self::Newer { .. } => "store::newer",
            Self::Busy { .. } => "store::busy",
            Self::Failed { .. } => "store::failed",
            Self::NoChance { .. } => "store::chance",
            Self::Closed => "store::closed",
            Self::BackupExists { .. } => "backup::exists",
            Self::BackupUnwritten { .. } => "backup::unwritten",
            Self::NoBook { .. } => "export::nothing",
            Self::Changed { .. } => "import::changed",
            Self::PlanBreaks { .. } => "plan::breach",
            Self::NotBound { .. } => "serve::bind",
        }
    }

    fn cause(&self) -> Cause {
        match self {
            Self::Busy { .. }
            | Self::Failed { .. }
            | Self::NoChance { .. }
            | Self::BackupUnwritten { .. }
            | Self::NotBound { .. } => Cause::OurFailure,
            Self::PlanBreaks { .. } => Cause::DoesNotHold,
            _ => Cause::BadInput,
        }
    }

    fn says(&self) -> String {
        let unopened = |path: &str, why: &str| format!("the database `{path}` cannot be opened: {why}");
        match self {
            Self::Missing { path } => format!("there is no database `{path}`"),
            Self::Unreadable { path, why } => unopened(path, why),
            Self::NoDatabase { path } => unopened(path, "it is no database, or only the beginning of one"),
            Self::Empty { path } => format!("`{path}` is empty: no database has 0 bytes, and none was begun in it"),
            Self::Lost { path, log } => {
                format!("`{path}` is not there, and what was written to it last is, in `{log}`")
            }
            Self::Other { path } => format!("`{path}` is not a database of `yardless serve`; it is left as it is"),
            Self::Newer { path, schema, known } => {
                format!("`{path}` has schema {schema}, and this version knows {known}")
            }
            Self::Busy { path } => format!("the database `{path}` is held by another program; nothing was written"),
            Self::Failed { path, why } => format!("the database `{path}` could not be used: {why}"),
            Self::NoChance { why } => format!("the system gives no random bytes: {why}"),
            Self::Closed => "that sign-in is closed, so no link was made".to_owned(),
            Self::BackupExists { to } => format!("`{to}` is there already; nothing was written"),
            Self::BackupUnwritten { to, why } => format!("`{to}` could not be written: {why}"),
            Self::NoBook { path } => format!("`{path}` holds no book yet"),
            Self::Changed { kind } => format!("the {kind} was changed meanwhile; it was not put in"),
            Self::PlanBreaks { plan, first } => format!("the plan `{plan}` does not hold for this book: {first}"),
            Self::NotBound { at, why } => format!("{at} cannot be listened at: {why}"),
        }
    }

    fn help(&self) -> Help {
        match self {
            Self::Busy { .. } => Help::plain("try again when that has ended"),
            Self::NoChance { .. } => Help::plain("start the machine anew"),
            Self::Closed => Help::plain("open it first"),
            Self::PlanBreaks { plan, .. } => {
                Help::command(format!("`yardless check {plan}` lists every rule that it breaks; nothing was put in"))
            }
            of => Help::command(of.for_command()),
        }
    }
}

impl OfStore {
    /// What to do about it where only the command line can.
    fn for_command(&self) -> &'static str {
        match self {
            Self::Missing { .. } => "name it with --db FILE; `yardless serve` makes one",
            Self::Empty { .. } => {
                "did it hold data, put a backup in its place; did it never, take it away, and a new one is made"
            }
            Self::Lost { .. } => {
                "put the database back beside it, or a backup without it; for a new one move that file away"
            }
            Self::Other { .. } => "name another file with --db",
            Self::Newer { .. } => "use the newer program, or a backup made before it",
            Self::Failed { .. } => "is its disk full, or was it moved? `yardless backup` copies what is there",
            Self::BackupExists { .. } => "give the name of a new file",
            Self::BackupUnwritten { .. } => "give the name of a new file in a folder that may be written to",
            Self::NoBook { .. } => "`yardless import` puts one in",
            Self::Changed { .. } => "run the command again",
            Self::NotBound { .. } => "give --bind another address or port",
            _ => "name a database of `yardless serve`, or a new file in a folder that may be written to",
        }
    }
}
