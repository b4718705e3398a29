//! What is said of something.

use yardless_book::half_day::{HalfDay, Range};

use crate::List;

/// What is said.
#[derive(Clone, Debug, PartialEq)]
pub enum Said {
    /// A step is done.
    Done,
    /// Of a step so much is left.
    Left(f64),
    /// A step is to be planned again.
    Again,
    /// A unit stands, or a thing lies, at a place.
    At(String),
    /// A thing is in a truck or a unit.
    In(String),
    /// A unit or a truck is out.
    Out(Range),
    /// A crew, or some of it, is away.
    Away(Range),
    /// It is back from a half-day on; from now on where none is given.
    Back(Option<HalfDay>),
}

impl Said {
    /// Whether it is said of steps.
    pub fn is_of_step(&self) -> bool {
        matches!(self, Self::Done | Self::Left(_) | Self::Again)
    }

    /// The lists of what it can be said of, steps apart.
    pub fn lists(&self) -> &'static [List] {
        match self {
            Self::At(_) => &[List::Unit, List::Thing],
            Self::In(_) => &[List::Thing],
            Self::Out(_) => &[List::Unit, List::Truck],
            Self::Away(_) => &[List::Crew],
            Self::Back(_) => &[List::Unit, List::Crew, List::Truck],
            Self::Done | Self::Left(_) | Self::Again => &[],
        }
    }
}
