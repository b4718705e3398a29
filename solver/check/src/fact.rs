//! What a breach is a breach of, as a fact: ids of the shop, half-days, numbers; words are made of it where it is shown.
//! What a plan names and the shop does not know is told as it is written.

macro_rules! facts {
    ($(#[$doc:meta])* $name:ident {
        $($(#[$of:meta])* $kind:literal $variant:ident { $($(#[$about:meta])* $field:ident: $type:ty,)* })*
    }) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum $name {
            $($(#[$of])* $variant { $($(#[$about])* $field: $type,)* },)*
        }

        impl $name {
            pub(super) fn kind(&self) -> &'static str {
                match self {
                    $(Self::$variant { .. } => $kind,)*
                }
            }

            pub(super) fn fields(&self) -> Vec<(&'static str, Field)> {
                match self {
                    $(Self::$variant { $($field,)* } => vec![$((stringify!($field), Field::from($field)),)*],)*
                }
            }
        }
    };
}

mod cost;
mod equipment;
mod hauls;
mod history;
mod of_plan;
mod spans;
mod touched;
mod work;

pub use cost::OfCost;
pub use equipment::{Holder, OfUnit};
pub use hauls::{OfDrive, OfHaul, OfRoute, OfTruck, Over};
pub use history::OfHistory;
pub use of_plan::{Noun, OfPlan};
pub use spans::OfSpan;
pub use touched::{Touched, half_days};
pub use work::{OfJob, OfLater, OfWork};

use chrono::NaiveDate;
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_plan::shop::{Closure, CrewId, JobId, KindId, Obstacle, PlaceId, Shop, StepId, TruckId, UnitId};

/// What is so in a plan, and breaks a rule.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fact {
    /// Of the plan as a whole, or of what it names.
    Plan(OfPlan),
    /// Of whether a job is done.
    Job(OfJob),
    /// Of whether a step is later.
    Later(OfLater),
    /// Of a step: by whom, in which way and order.
    Work(OfWork),
    /// Of when a step is worked on.
    Span(OfSpan),
    /// Of the units that are held.
    Unit(OfUnit),
    /// Of a unit's haul.
    Haul(OfHaul),
    /// Of the drive of a haul.
    Drive(OfDrive),
    /// Of a haul beside the unit's others.
    Route(OfRoute),
    /// Of all that a truck hauls in a half-day.
    Truck(OfTruck),
    /// Of what has happened.
    History(OfHistory),
    /// Of what the plan says that it costs.
    Cost(OfCost),
}

macro_rules! from {
    ($($topic:ident $type:ty,)*) => {
        $(impl From<$type> for Fact {
            fn from(fact: $type) -> Self {
                Self::$topic(fact)
            }
        })*

        impl Fact {
            /// What kind of fact it is: a name that stays, for programs.
            pub fn kind(&self) -> &'static str {
                match self {
                    $(Self::$topic(fact) => fact.kind(),)*
                }
            }

            /// All that it says, by name.
            pub fn fields(&self) -> Vec<(&'static str, Field)> {
                match self {
                    $(Self::$topic(fact) => fact.fields(),)*
                }
            }
        }
    };
}

from! {
    Plan OfPlan,
    Job OfJob,
    Later OfLater,
    Work OfWork,
    Span OfSpan,
    Unit OfUnit,
    Haul OfHaul,
    Drive OfDrive,
    Route OfRoute,
    Truck OfTruck,
    History OfHistory,
    Cost OfCost,
}

impl Fact {
    /// The jobs that it is about, or those whose steps: two where they stand in each other's way.
    pub fn jobs(&self, shop: &Shop) -> Vec<JobId> {
        let job = |(_, field)| match field {
            Field::Job(job) => Some(job),
            Field::Step(step) => Some(shop.steps[step].job),
            _ => None,
        };
        self.fields().into_iter().filter_map(job).collect()
    }

    /// The unit that it is about.
    pub fn unit(&self) -> Option<UnitId> {
        self.fields().into_iter().find_map(|(_, field)| if let Field::Unit(unit) = field { Some(unit) } else { None })
    }
}

/// One thing that a fact says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Field {
    /// There is none.
    Nothing,
    /// A job.
    Job(JobId),
    /// A step.
    Step(StepId),
    /// A crew.
    Crew(CrewId),
    /// A unit of equipment.
    Unit(UnitId),
    /// A kind of equipment.
    Kind(KindId),
    /// A truck.
    Truck(TruckId),
    /// A place.
    Place(PlaceId),
    /// A half-day.
    HalfDay(HalfDay),
    /// A date.
    Date(NaiveDate),
    /// A number: half-days, minutes, pounds or a count, as the fact says.
    Number(u64),
    /// Money.
    Cents(Cents),
    /// A word that stays, for programs.
    Word(&'static str),
    /// A text as the plan or the book has it.
    Text(String),
}

macro_rules! fields {
    ($($variant:ident $type:ty,)*) => {
        $(impl From<&$type> for Field {
            fn from(field: &$type) -> Self {
                Self::$variant(field.clone().into())
            }
        }

        impl From<&Option<$type>> for Field {
            fn from(field: &Option<$type>) -> Self {
                field.as_ref().map_or(Self::Nothing, Self::from)
            }
        })*
    };
}

fields! {
    Job JobId,
    Step StepId,
    Crew CrewId,
    Unit UnitId,
    Kind KindId,
    Truck TruckId,
    Place PlaceId,
    HalfDay HalfDay,
    Date NaiveDate,
    Number u32,
    Number u64,
    Cents Cents,
    Text String,
}

impl From<&Closure> for Field {
    fn from(why: &Closure) -> Self {
        Self::Word(match why {
            Closure::Storm => "storm",
            Closure::NoTravel => "no-travel",
            Closure::Covered => "covered",
            Closure::Season => "season",
        })
    }
}

impl From<&Obstacle> for Field {
    fn from(by: &Obstacle) -> Self {
        Self::Word(match by {
            Obstacle::Past => "past",
            Obstacle::Closed => "closed",
            Obstacle::FewPeople(_) => "few-people",
            Obstacle::Early => "early",
            Obstacle::NoAccess => "no-access",
            Obstacle::UnitOut => "unit-out",
            Obstacle::NoTravel => "no-travel",
            Obstacle::Storm => "storm",
            Obstacle::Gust => "gust",
            Obstacle::Cold => "cold",
            Obstacle::Hot => "hot",
            Obstacle::Rain => "rain",
        })
    }
}
