//! When units of a kind are free together under a plan, and can be at a place by then: everything else stays as it is.

use super::builder::Builder;
use super::tables::Tables;
use crate::plan::{Draft, Haul};
use crate::shop::{KindId, PlaceId, Shop, UnitId};

/// What is asked for.
#[derive(Clone, Copy, Debug)]
pub struct Wanted {
    /// Units of this kind.
    pub kind: KindId,
    /// So many together, one at least.
    pub count: usize,
    /// For so many half-days that the shop works, one at least.
    pub half_days: usize,
    /// Where; `None`: wherever each of them stands.
    pub place: Option<PlaceId>,
    /// From this index on.
    pub from: usize,
}

/// When and which.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// Index of the first half-day.
    pub first: usize,
    /// Index of the last one.
    pub last: usize,
    /// The units, with where they stand then.
    pub units: Vec<(UnitId, PlaceId)>,
    /// The hauls besides those of the plan that bring them.
    pub hauls: Vec<Haul>,
}

/// The first time at which the units are free together and what comes after for them can still be kept; `None`: not
/// within the horizon, or the plan does not hold.
pub fn together(shop: &Shop, plan: &Draft, wanted: &Wanted) -> Option<Found> {
    let tables = Tables::new(shop);
    let mut builder = Builder::new(shop, &tables);
    if !builder.take_over(plan) {
        return None;
    }
    let worked: Vec<usize> = (wanted.from.max(shop.now)..shop.len()).filter(|h| shop.works[*h]).collect();
    worked.windows(wanted.half_days.max(1)).find_map(|window| {
        let (first, last) = (*window.first()?, *window.last()?);
        let (units, hauls) = builder.idle_together(wanted, first, last)?;
        Some(Found { first, last, units, hauls })
    })
}
