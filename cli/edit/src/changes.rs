//! What a command that writes into the book gathers: the edits, what they change, and what the reader should know
//! besides. These are facts; words are made of them where they are shown.

use chrono::NaiveDate;
use yardless_book::half_day::{HalfDay, Range};
use yardless_book::money::Cents;
use yardless_book::{Path, Seen, Weather, When};

use super::Edit;
use crate::trouble::Unsaid;
use crate::trouble::words::Called;

/// What is to be changed, and what there is to tell of it.
#[derive(Debug, Default)]
pub struct Changes {
    /// The edits, in their order.
    pub edits: Vec<Edit>,
    /// What they change; where that is nothing, nothing is written.
    pub changed: Vec<BookChange>,
    /// What the reader should know besides.
    pub remarks: Vec<Remark>,
}

/// One thing that is changed.
#[derive(Clone, Debug, PartialEq)]
pub enum BookChange {
    /// How far a step is.
    Step {
        /// The step, `job/step`.
        step: String,
        /// How far it was by the book.
        was: StepStatus,
        /// How far it is.
        is: StepStatus,
        /// What of that nobody said.
        filled_in: Option<FilledIn>,
    },
    /// Where a unit stands.
    Place {
        /// The unit.
        unit: String,
        /// The place where it stood.
        was: String,
        /// The place where it stands.
        is: String,
    },
    /// Where somebody has seen a thing.
    Seen {
        /// The thing.
        thing: String,
        /// Where it was seen before, if anywhere.
        was: Option<Seen>,
        /// Where it is seen.
        is: Seen,
    },
    /// Which units are parked at a job.
    Parked {
        /// The job.
        job: String,
        /// The kind that is wanted.
        kind: String,
        /// The units so far; none: they were not named.
        was: Vec<String>,
        /// The units now; none: they are not named.
        is: Vec<String>,
        /// The plan that they are from; `None`: they were given.
        by: Option<Called>,
    },
    /// A unit, a truck or a crew is gone for a while.
    Gone {
        /// Its id.
        of: String,
        /// Whether it is a crew, which is away; others are out.
        crew: bool,
        /// The times so far, each with how many people of a crew; `None`: all.
        was: Vec<(When, Option<u32>)>,
        /// The one that comes to them.
        is: (When, Option<u32>),
    },
    /// A unit, a truck or a crew is back.
    Back {
        /// Its id.
        of: String,
        /// Whether it is a crew.
        crew: bool,
        /// The time that ends, with how many people of a crew; `None`: all.
        was: (When, Option<u32>),
        /// What is left of it; `None`: it is off.
        is: Option<When>,
        /// From when on it is back.
        from: HalfDay,
    },
    /// A price is another one.
    Price {
        /// Where it stands.
        at: Path,
        /// What it was.
        was: Cents,
        /// What it is.
        is: Cents,
    },
    /// A storm is reported.
    Storm(Weather),
    /// A storm is taken back.
    StormBack {
        /// When it was.
        on: Range,
        /// Where; `None`: everywhere.
        at: Option<Vec<String>>,
        /// Whether its own report is removed; else a new one says again what other reports say.
        removed: bool,
    },
}

/// How far a step is.
#[derive(Clone, Debug, PartialEq)]
pub enum StepStatus {
    /// It has not started.
    NotStarted {
        /// The half-day at whose end somebody said so.
        as_of: Option<HalfDay>,
    },
    /// It is in progress.
    InProgress {
        /// The crew.
        crew: String,
        /// The crews that help it.
        with: Vec<String>,
        /// The way, where it has several.
        way: Option<String>,
        /// When it began.
        start: HalfDay,
        /// How much is left.
        left: f64,
        /// Whether that is counted in labor hours; else in half-days.
        hours: bool,
        /// The half-day at whose end somebody said so.
        as_of: Option<HalfDay>,
        /// The units that it holds; `None`: nothing until its crew comes back to it (W10).
        units: Option<Vec<String>>,
    },
    /// It is done.
    Done {
        /// The crew.
        crew: String,
        /// The crews that help it.
        with: Vec<String>,
        /// The way, where it has several.
        way: Option<String>,
        /// When it began.
        start: HalfDay,
        /// When it ended.
        end: HalfDay,
    },
}

/// What nobody said of a step, and the plan that it is from.
#[derive(Clone, Debug, PartialEq)]
pub struct FilledIn {
    /// What was left unsaid, one at least.
    pub what: Vec<Unsaid>,
    /// The plan.
    pub plan: Called,
}

/// What the reader should know besides.
#[derive(Clone, Debug, PartialEq)]
pub enum Remark {
    /// The half-day up to which all is noted is still to come.
    StillToCome {
        /// Before when all is noted.
        until: HalfDay,
        /// Now.
        now: HalfDay,
    },
    /// A step, `job/step`, would be done by the book as it is now; it is noted as almost done.
    AlmostDone(String),
    /// A step, `job/step`, is in the plan and no longer in the book.
    NotInBook(String),
    /// Roads are expected to be clear only after this date now, the last one reported (H2).
    ClearOnlyAfter(NaiveDate),
    /// Another report still has a storm where one was taken back.
    StormLeft,
}

impl Changes {
    /// The steps that are changed, `job/step`.
    pub fn steps(&self) -> impl Iterator<Item = &String> {
        self.changed.iter().filter_map(|change| match change {
            BookChange::Step { step, .. } => Some(step),
            _ => None,
        })
    }

    /// With changes of the book that these leave: what is changed twice is told once.
    #[must_use]
    pub fn then(mut self, later: Self) -> Self {
        self.edits.extend(later.edits);
        self.remarks.extend(later.remarks);
        for change in later.changed {
            match self.changed.iter_mut().find(|known| known.is_of_same(&change)) {
                Some(known) => known.ends_as(change),
                None => self.changed.push(change),
            }
        }
        self.changed.retain(BookChange::is_one);
        self
    }

    /// Tells of a change, if it is one.
    pub fn tell(&mut self, change: BookChange) {
        if change.is_one() {
            self.changed.push(change);
        }
    }
}

impl BookChange {
    /// Whether both are of one step, of where one unit stands, or of what is parked for one need.
    fn is_of_same(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Step { step: a, .. }, Self::Step { step: b, .. })
            | (Self::Place { unit: a, .. }, Self::Place { unit: b, .. }) => a == b,
            (Self::Parked { job: a, kind: of_a, .. }, Self::Parked { job: b, kind: of_b, .. }) => {
                a == b && of_a == of_b
            }
            _ => false,
        }
    }

    /// What comes of it where another of the same follows.
    fn ends_as(&mut self, later: Self) {
        match (self, later) {
            (Self::Step { is, filled_in, .. }, Self::Step { is: now, filled_in: from, .. }) => {
                *is = now;
                *filled_in = from.or(filled_in.take());
            }
            (Self::Place { is, .. }, Self::Place { is: now, .. }) => *is = now,
            (Self::Parked { is, by, .. }, Self::Parked { is: now, by: from, .. }) => {
                *is = now;
                *by = from.or(by.take());
            }
            _ => {}
        }
    }

    /// Whether anything is other than it was, or known from elsewhere than it was.
    fn is_one(&self) -> bool {
        match self {
            Self::Step { was, is, filled_in, .. } => was != is || filled_in.is_some(),
            Self::Place { was, is, .. } => was != is,
            Self::Price { was, is, .. } => was != is,
            Self::Parked { was, is, by, .. } => was != is || by.is_some(),
            Self::Seen { was, is, .. } => was.as_ref() != Some(is),
            Self::Gone { .. } | Self::Back { .. } | Self::Storm(_) | Self::StormBack { .. } => true,
        }
    }
}
