//! Facts of a plan as a whole: which one it is, and that the book has what it names.

use chrono::NaiveDate;
use yardless_book::half_day::HalfDay;
use yardless_plan::shop::JobId;

use super::Field;

/// What a plan names by an id.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum Noun {
    Job,
    Crew,
    Truck,
    Unit,
    Place,
}

impl Noun {
    /// The word for it.
    pub fn text(self) -> &'static str {
        match self {
            Self::Job => "job",
            Self::Crew => "crew",
            Self::Truck => "truck",
            Self::Unit => "unit",
            Self::Place => "place",
        }
    }
}

impl From<&Noun> for Field {
    fn from(noun: &Noun) -> Self {
        Self::Word(noun.text())
    }
}

facts! {
    /// What is wrong with a plan as a whole, or with what it names.
    OfPlan {
        /// It is of a format that this program does not know.
        "other-format" Format {
            /// Its format.
            format: u32,
        }
        /// It is of other weeks than those by which it is judged.
        "other-weeks" Weeks {
            /// How many weeks it has.
            weeks: u32,
            /// The Monday on which they begin.
            from: NaiveDate,
        }
        /// It is from another half-day on than the one from which it is judged.
        "other-now" Now {
            /// From when on; `None`: from its beginning.
            now: Option<HalfDay>,
        }
        /// It names what the book does not have.
        "unknown-id" Unknown {
            /// What that would be.
            noun: Noun,
            /// The id, as it is written.
            id: String,
        }
        /// It names a step that the job does not have.
        "unknown-step" NoStep {
            /// The job.
            job: JobId,
            /// The step's id, as it is written.
            id: String,
        }
    }
}
