//! When units of a kind are free together under a plan, and can be at a place by then: all work and every other unit stay
//! as they are.

use yardless_plan::shop::{KindId, PlaceId, Shop, UnitId};
use yardless_plan::{Draft, Haul};

use super::builder::{Builder, Held};
use super::tables::Tables;

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
    /// The hauls besides those of the plan that take them on afterwards: to where they are wanted next, or away from a spot
    /// that others want.
    pub then: Vec<Haul>,
    /// The hauls of the plan that are not made so.
    pub instead: Vec<Haul>,
}

/// The first time at which the units are free together and what comes after for them can still be kept; `None`: not
/// within the horizon, or the plan does not hold.
pub fn together(shop: &Shop, plan: &Draft, wanted: &Wanted) -> Option<Found> {
    let tables = Tables::new(shop);
    let mut builder = Builder::new(shop, &tables);
    if !builder.take_over_whole(plan) {
        return None;
    }
    builder.made_before(wanted);
    let worked: Vec<usize> = (wanted.from.max(shop.now)..shop.len()).filter(|h| shop.works[*h]).collect();
    worked.windows(wanted.half_days.max(1)).find_map(|window| {
        let (first, last) = (*window.first()?, *window.last()?);
        let Held { units, hauls, then, instead } = builder.idle_together(wanted, first, last)?;
        Some(Found { first, last, units, hauls, then, instead })
    })
}
