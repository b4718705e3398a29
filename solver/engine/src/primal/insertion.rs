//! The insertion heuristic: puts jobs into a plan one after the other, hauls, trucks, roads and spots included, and takes
//! them out again.
//!
//! A plan under construction ([`state`]) takes a job step by step. For each step the [`candidates`] are looked at, whole
//! runs and [`splits`], with the units that each would hold ([`holding`]) and what their hauls cost, kept in a [`memo`];
//! the best is committed to ([`commitment`]). Jobs [`in_progress`] come first (N1). [`warm_start`] takes over another
//! plan; [`free`] asks a plan when units are free.

mod candidates;
mod commitment;
mod free;
mod holding;
mod in_progress;
mod memo;
mod splits;
mod state;
mod warm_start;

pub use free::{FreeQuery, FreeUnits, free_together};
pub(crate) use state::PartialPlan;

use yardless_plan::shop::CrewId;

/// How a job is tried: what the search varies.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Trial {
    /// No step starts before it.
    pub(crate) not_before: usize,
    /// Seed of small changes to what choices seem to cost; 0: none.
    pub(crate) noise: u64,
    /// The only own crew that may do its steps, where it may do them at all: another one costs (C4).
    pub(crate) crew: Option<CrewId>,
    /// A step, by its place in the job's order, that starts at least so many half-days later than it could: it leaves
    /// room for another job in between.
    pub(crate) delay: Option<(usize, usize)>,
    /// Its steps just as the hints say.
    pub(crate) as_hinted: bool,
}
