//! What is wrong with a book: every fault at once, each with its place and its remedy.

use std::fmt;

use super::near::shown;

/// A step on the way to a value: a field's name or an index in a list.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum PathPart {
    /// A field of an object.
    Field(String),
    /// An element of a list, from 0.
    Index(usize),
}

/// The way to a value from the top of the book; printed `jobs[2].steps[0].skill`.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Path(pub Vec<PathPart>);

impl Path {
    /// The path one field further.
    #[must_use]
    pub fn field(&self, name: &str) -> Self {
        let mut parts = self.0.clone();
        parts.push(PathPart::Field(name.to_owned()));
        Self(parts)
    }
    /// The path one element further.
    #[must_use]
    pub fn index(&self, index: usize) -> Self {
        let mut parts = self.0.clone();
        parts.push(PathPart::Index(index));
        Self(parts)
    }
}

impl fmt::Display for Path {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.is_empty() {
            return f.write_str("the book");
        }
        for (i, part) in self.0.iter().enumerate() {
            match part {
                PathPart::Field(name) if i == 0 => f.write_str(&shown(name))?,
                PathPart::Field(name) => write!(f, ".{}", shown(name))?,
                PathPart::Index(n) => write!(f, "[{n}]")?,
            }
        }
        Ok(())
    }
}

/// The stable code of a kind of fault, printed as `book::unknown-id` and so on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Code {
    /// The bytes are not UTF-8 text.
    NotText,
    /// More bytes than a book may have.
    TooLarge,
    /// The text is not JSON.
    NotJson,
    /// Lists and objects inside one another beyond any book.
    TooDeep,
    /// One object gives a field twice.
    DuplicateKey,
    /// A required field is not there.
    MissingField,
    /// No such field; nothing is ignored.
    UnknownField,
    /// A text where a number is meant, and so on.
    WrongType,
    /// A number outside its range, an empty list where one is needed.
    OutOfRange,
    /// More decimals than dollars have, or not a whole number.
    WrongNumber,
    /// A word that is none of those allowed.
    UnknownWord,
    /// Not a date, half-day, range, season or hours, or one that does not exist.
    WrongTime,
    /// Not a place on the globe.
    WrongCoordinates,
    /// Not a time zone.
    UnknownTimeZone,
    /// An id that is empty, too long or holds a slash.
    BadId,
    /// Two things of one list with the same id.
    DuplicateId,
    /// An id that nothing has.
    UnknownId,
    /// A kind that no unit has.
    UnknownKind,
    /// A skill that no crew has.
    UnknownSkill,
    /// A unit of a shared kind that has other kinds besides (E8).
    SharedKind,
    /// A kit that no thing counts as.
    UnknownKit,
    /// A thing that rides in itself or in what nothing rides in, or whose `home` is neither place, truck nor unit.
    RidesIn,
    /// A thing, or material, that is in two places at once.
    TwoPlaces,
    /// None or several of `half_days`, `labor_hours` and `hours`; a stop longer than a half-day; ways beside a duration.
    Duration,
    /// The three points of a `spread` out of order.
    Spread,
    /// `max_people` below `min_people`.
    People,
    /// `within_half_days` below `wait_half_days`.
    Waits,
    /// `due` before `earliest`.
    DueBeforeEarliest,
    /// Two drives between the same places that differ.
    DriveTwice,
    /// Steps that wait for one another in a ring.
    Cycle,
    /// What is parked from one step to another that does not come after it (E7).
    Parked,
    /// A fixed start that no crew and no way can keep (W8).
    FixedStart,
    /// What is done or in progress does not fit together, or not with where units stand (N1).
    History,
    /// More trailers at a place at the beginning than it has spots for, and no haul can mend it at once (E6).
    TooManyTrailers,
}

impl Code {
    /// The code as printed; never changes once published.
    pub fn text(self) -> &'static str {
        match self {
            Self::NotText => "book::not-text",
            Self::TooLarge => "book::too-large",
            Self::NotJson => "book::not-json",
            Self::TooDeep => "book::too-deep",
            Self::DuplicateKey => "book::duplicate-key",
            Self::MissingField => "book::missing-field",
            Self::UnknownField => "book::unknown-field",
            Self::WrongType => "book::wrong-type",
            Self::OutOfRange => "book::out-of-range",
            Self::WrongNumber => "book::wrong-number",
            Self::UnknownWord => "book::unknown-word",
            Self::WrongTime => "book::wrong-time",
            Self::WrongCoordinates => "book::wrong-coordinates",
            Self::UnknownTimeZone => "book::unknown-time-zone",
            Self::BadId => "book::bad-id",
            Self::DuplicateId => "book::duplicate-id",
            Self::UnknownId => "book::unknown-id",
            Self::UnknownKind => "book::unknown-kind",
            Self::UnknownSkill => "book::unknown-skill",
            Self::SharedKind => "book::shared-kind",
            Self::UnknownKit => "book::unknown-kit",
            Self::RidesIn => "book::rides-in",
            Self::TwoPlaces => "book::two-places",
            Self::Spread => "book::spread",
            Self::Duration => "book::duration",
            Self::People => "book::people",
            Self::Waits => "book::waits",
            Self::DueBeforeEarliest => "book::due-before-earliest",
            Self::DriveTwice => "book::drive-twice",
            Self::Cycle => "book::cycle",
            Self::Parked => "book::parked",
            Self::FixedStart => "book::fixed-start",
            Self::History => "book::history",
            Self::TooManyTrailers => "book::too-many-trailers",
        }
    }
}

/// One fault.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{path}: {says}")]
pub struct Fault {
    /// Its kind.
    pub code: Code,
    /// Where in the book.
    pub path: Path,
    /// What is wrong, in the owner's words.
    pub says: String,
    /// What to do about it.
    pub help: Option<String>,
}

impl Fault {
    /// A fault without a remedy yet.
    pub fn new(code: Code, path: Path, says: impl Into<String>) -> Self {
        Self { code, path, says: says.into(), help: None }
    }
    /// With a remedy.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}
