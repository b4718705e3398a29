//! Facts of hauls and of the trucks that make them: E1, E4 and H1 to H7.

use yardless_book::Moves;
use yardless_book::half_day::HalfDay;
use yardless_plan::shop::{Closure, CrewId, PlaceId, TruckId, UnitId};

use super::Field;

/// What a truck with a unit is over, or has not (H7).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Over {
    /// The unit's own rating.
    OwnRating,
    /// The truck's combined rating.
    Combined,
    /// The truck's payload.
    Payload,
    /// The unit's hitch.
    Hitch,
    /// What works the unit's brakes.
    Brakes,
}

impl From<&Over> for Field {
    fn from(over: &Over) -> Self {
        Self::Word(match over {
            Over::OwnRating => "own-rating",
            Over::Combined => "combined",
            Over::Payload => "payload",
            Over::Hitch => "hitch",
            Over::Brakes => "brakes",
        })
    }
}

impl From<&Moves> for Field {
    fn from(moves: &Moves) -> Self {
        Self::Word(match moves {
            Moves::Towed => "towed",
            Moves::Carried => "carried",
        })
    }
}

facts! {
    /// What is wrong with a haul of a unit: when it is made, or that it leads nowhere.
    OfHaul {
        /// It is not within the horizon.
        "haul-outside-horizon" Outside {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
        }
        /// It ends where it begins.
        "haul-to-same-place" SamePlace {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
            /// Where.
            place: PlaceId,
        }
        /// It lies before now (N1).
        "haul-before-now" Past {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
        }
        /// The shop does not work then.
        "haul-when-closed" Closed {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
        }
        /// Only a crew that works in overtime hauls then, with its own truck (W9).
        "haul-in-overtime" Overtime {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
        }
        /// The unit is out (E4).
        "haul-while-out" Out {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
        }
    }
}

facts! {
    /// What is wrong with the drive of a haul: its roads, its time, or the truck's strength.
    OfDrive {
        /// There is no travel (H3).
        "haul-without-travel" NoTravel {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
            /// Where there is none.
            place: PlaceId,
        }
        /// A road is closed to trailers (H2).
        "road-closed" RoadClosed {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
            /// The place to which the road leads.
            place: PlaceId,
            /// What closes it.
            why: Closure,
        }
        /// It leans on a road expected clear, and is not marked so (H2).
        "clear-day-not-marked" NotMarkedClear {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
        }
        /// It is marked as needing a clear day, and leans on no road expected clear (H2).
        "clear-day-marked" MarkedClear {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
        }
        /// The drive is not known (H6).
        "drive-unknown" NoDrive {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
            /// Where it begins.
            from: PlaceId,
            /// Where it ends.
            to: PlaceId,
        }
        /// It takes another time than the plan says (H5).
        "other-minutes" Minutes {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
            /// How many minutes it takes.
            is: u32,
            /// How many it takes as the plan says.
            said: u32,
        }
        /// The drive is estimated, and not marked so (H6).
        "estimate-not-marked" NotMarkedEstimate {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
        }
        /// The drive is marked as estimated, and is a known one (H6).
        "estimate-marked" MarkedEstimate {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
        }
        /// The unit is too heavy for the truck (H4).
        "too-heavy" TooHeavy {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
            /// The truck.
            truck: TruckId,
        }
        /// A rating is exceeded, or truck and unit do not go together (H7).
        "over-rating" OverRating {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
            /// The truck.
            truck: TruckId,
            /// What.
            over: Over,
        }
        /// Truck and unit weigh more together than is posted at one end of the way (H8).
        "over-posted" OverPosted {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
            /// The truck.
            truck: TruckId,
            /// The end.
            place: PlaceId,
            /// Pounds posted there.
            posted: u32,
            /// Pounds together.
            weigh: u32,
        }
    }
}

facts! {
    /// What is wrong with a haul beside the unit's others: it sets out from where the unit is, once and in time.
    OfRoute {
        /// The unit is hauled more than once in a half-day.
        "hauled-twice" Twice {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
        }
        /// The unit is not where the haul begins (E1).
        "not-there" NotThere {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
            /// Where the haul begins.
            from: PlaceId,
            /// Where the unit is; `None`: on the road.
            stands: Option<PlaceId>,
        }
        /// The unit only arrives in the half-day at whose start it is hauled on.
        "only-arrives" OnlyArrives {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
            /// Where the haul begins.
            from: PlaceId,
        }
        /// It is made in the evening of a morning.
        "evening-of-morning" EveningOfMorning {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
        }
        /// It takes too long for an evening.
        "too-long-for-evening" TooLongForEvening {
            /// The unit.
            unit: UnitId,
            /// When.
            at: HalfDay,
        }
    }
}

facts! {
    /// What is wrong with all that a truck hauls in a half-day (H4).
    OfTruck {
        /// It is out, or its crew is away.
        "truck-away" Away {
            /// The truck.
            truck: TruckId,
            /// When.
            at: HalfDay,
            /// The crew that is away; `None`: the truck itself is out.
            crew: Option<CrewId>,
        }
        /// It makes more hauls than it may.
        "too-many-hauls" TooMany {
            /// The truck.
            truck: TruckId,
            /// When.
            at: HalfDay,
            /// Which hauls.
            moves: Moves,
            /// How many it makes.
            count: u32,
            /// How many it may.
            most: u32,
        }
    }
}
