//! What is moved: one thing, from one spot to another, by whom and when (L4).

use yardless_plan::shop::{CrewId, TruckId};

use crate::spot::Spot;

/// When in a half-day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Moment {
    /// Before work begins: by the rounds of its start, or an extra drive.
    Start,
    /// While it serves at a place: put down there, or into a unit or truck that is there.
    Work,
    /// In the evening, on the way home.
    Evening,
}

/// Who moves it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// A crew on its round, with the truck that it goes with, where it goes with one.
    Crew(CrewId, Option<TruckId>),
    /// A truck without a crew.
    Truck(TruckId),
    /// An extra drive, by its number.
    Drive(usize),
}

/// One thing moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Move {
    /// By index: the half-day.
    pub h: usize,
    /// When in it.
    pub moment: Moment,
    /// What, by its number among the items.
    pub item: usize,
    /// Where it was.
    pub from: Spot,
    /// Where it is then.
    pub to: Spot,
    /// By whom.
    pub by: By,
}
