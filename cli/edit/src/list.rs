//! The lists of the book whose members something can be noted of.

/// A list of the book whose members can be noted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum List {
    /// A unit of equipment.
    Unit,
    /// A crew.
    Crew,
    /// A truck.
    Truck,
    /// A thing.
    Thing,
}

impl List {
    /// What one of its members is.
    pub fn word(self) -> &'static str {
        match self {
            Self::Unit => "unit",
            Self::Crew => "crew",
            Self::Truck => "truck",
            Self::Thing => "thing",
        }
    }
    /// What can be said of one.
    pub fn says(self) -> &'static str {
        match self {
            Self::Unit => "at PLACE, out RANGE or back",
            Self::Crew => "away RANGE or back",
            Self::Truck => "out RANGE or back",
            Self::Thing => "at PLACE, or in TRUCK or UNIT",
        }
    }
}
