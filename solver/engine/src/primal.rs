//! The primal side: finds plans that hold.
//!
//! [`timetable`] keeps what is taken so far: crews, trucks ([`trucks`]), spots, and the [`route`] of each unit. The
//! [`insertion`] heuristic puts jobs into it, [`insertion_order`] one after the other; [`neighbourhoods`] is the large
//! neighbourhood search over it, and a [`portfolio`] runs two of them; of a project it changes the [`activity_list`].
//! [`tables`] and [`half_days`] make that quick.

mod activity_list;
mod half_days;
mod insertion;
mod insertion_order;
mod neighbourhoods;
mod portfolio;
mod route;
mod tables;
mod timetable;
mod trucks;

pub use insertion::{FreeQuery, FreeUnits, free_together};
pub(crate) use insertion::{PartialPlan, Trial};
pub(crate) use neighbourhoods::NeighbourhoodSearch;
pub(crate) use portfolio::Portfolio;
pub(crate) use tables::Tables;
