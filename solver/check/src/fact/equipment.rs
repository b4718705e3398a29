//! Facts of the units that are held: E2 to E6.

use yardless_book::half_day::HalfDay;
use yardless_plan::shop::{JobId, KindId, PlaceId, StepId, UnitId};

use super::Field;

/// What holds a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Holder {
    /// A step (E2).
    Step(StepId),
    /// A job, at which units are parked (E3).
    Job(JobId),
    /// A job, at which the unit is parked from its start to its end.
    Parked(JobId),
    /// A job that has begun, and that the plan does not end (N1).
    Begun(JobId),
}

impl From<&Holder> for Field {
    fn from(by: &Holder) -> Self {
        match *by {
            Holder::Step(step) => Self::Step(step),
            Holder::Job(job) | Holder::Parked(job) | Holder::Begun(job) => Self::Job(job),
        }
    }
}

facts! {
    /// What is wrong with the units that are held.
    OfUnit {
        /// One is named twice for one holder.
        "named-twice" Twice {
            /// The holder.
            by: Holder,
            /// The unit.
            unit: UnitId,
        }
        /// A step has no power yet, and holds no unit that gives it (E5).
        "no-power" NoPower {
            /// The holder.
            by: Holder,
        }
        /// One is not held that has been so far (N1).
        "not-held" NotHeld {
            /// The holder.
            by: Holder,
            /// The unit.
            unit: UnitId,
        }
        /// Some of a kind are missing.
        "lacks" Lacks {
            /// The holder.
            by: Holder,
            /// How many are missing.
            count: u64,
            /// Of which kind.
            of: KindId,
        }
        /// One is held that is not needed.
        "not-needed" Idle {
            /// The holder.
            by: Holder,
            /// The unit.
            unit: UnitId,
        }
        /// Units are parked at a job that is not done.
        "parked-not-done" ParkedNotDone {
            /// The job.
            job: JobId,
        }
        /// One is held twice at a time.
        "held-twice" HeldTwice {
            /// The unit.
            unit: UnitId,
            /// The one holder.
            by: Holder,
            /// The other.
            other: Holder,
            /// The half-day, the first of which that is so.
            at: HalfDay,
        }
        /// One is held while it is out (E4).
        "held-out" Out {
            /// The unit.
            unit: UnitId,
            /// The holder.
            by: Holder,
            /// The half-day, the first of which that is so.
            at: HalfDay,
        }
        /// One that is held stands elsewhere.
        "stands-elsewhere" Elsewhere {
            /// The unit.
            unit: UnitId,
            /// The holder.
            by: Holder,
            /// The half-day, the first of which that is so.
            at: HalfDay,
            /// Where it stands.
            stands: PlaceId,
            /// Where it is held.
            place: PlaceId,
        }
        /// One that is held is on the road in all of a half-day (H5).
        "held-on-road" OnRoad {
            /// The unit.
            unit: UnitId,
            /// The holder.
            by: Holder,
            /// The half-day, the first of which that is so.
            at: HalfDay,
        }
        /// More towed units stand at a place than it has spots (E6).
        "too-few-spots" TooFewSpots {
            /// The place.
            place: PlaceId,
            /// How many stand there.
            count: u64,
            /// How many spots it has.
            spots: u64,
            /// The half-day, the first of which that is so.
            at: HalfDay,
        }
    }
}
