//! When units of a kind are free together under a plan, and can be at a place by then: all work and every other unit stay
//! as they are.

use yardless_plan::shop::{Id, KindId, PlaceId, Shop, UnitId, Want};
use yardless_plan::{Draft, Haul};

use super::PartialPlan;
use crate::primal::route::{Stop, stands};
use crate::primal::tables::Tables;
use crate::primal::timetable::Undo;

/// What is asked for.
#[derive(Clone, Copy, Debug)]
pub struct FreeQuery {
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
pub struct FreeUnits {
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
pub fn free_together(shop: &Shop, plan: &Draft, query: &FreeQuery) -> Option<FreeUnits> {
    let tables = Tables::new(shop);
    let mut partial = PartialPlan::new(shop, &tables);
    if !partial.take_over_whole(plan) {
        return None;
    }
    partial.made_before(query);
    let worked: Vec<usize> = (query.from.max(shop.now)..shop.len()).filter(|h| shop.works[*h]).collect();
    worked.windows(query.half_days.max(1)).find_map(|window| {
        let (first, last) = (*window.first()?, *window.last()?);
        partial.idle_together(query, first, last)
    })
}

/// Units, each with the place where it stands.
type UnitPlaces = Vec<(UnitId, PlaceId)>;

impl PartialPlan<'_> {
    /// Takes all hauls of units of a kind before a half-day as made.
    fn made_before(&mut self, query: &FreeQuery) {
        for unit in self.tables.able(Want::Kind(query.kind)) {
            self.timetable.made_before(*unit, query.from);
        }
    }

    /// The units, each with where it stands, and the hauls that this takes besides; nothing is changed.
    fn idle_together(&mut self, query: &FreeQuery, first: usize, last: usize) -> Option<FreeUnits> {
        let mut undo = Undo::new();
        let units = self.hold_all(query, first, last, &mut undo);
        let after = if units.is_some() { self.draft() } else { None };
        self.timetable.undo(undo);
        let (units, after, before) = (units?, after?.hauls, self.draft()?.hauls);
        let (hauls, then) =
            but(&after, &before).into_iter().partition(|haul: &Haul| haul.at + usize::from(haul.evening) <= first);
        let found = FreeUnits { first, last, units, hauls, then, instead: but(&before, &after) };
        // What was hauled before the time asked about has been.
        found.hauls.iter().chain(&found.instead).all(|haul| haul.at >= query.from).then_some(found)
    }

    fn hold_all(&mut self, query: &FreeQuery, first: usize, last: usize, undo: &mut Undo) -> Option<UnitPlaces> {
        let able = self.tables.able(Want::Kind(query.kind));
        let mut units = UnitPlaces::new();
        for _ in 0..query.count {
            let mut best: Option<(i64, (UnitId, PlaceId), Undo)> = None;
            for unit in able.iter().filter(|unit| units.iter().all(|(other, _)| other != *unit)) {
                let stands = self.stands_through(*unit, first, last);
                let Some(place) = query.place.or(stands) else { continue };
                let stop = Stop::new(place, first, last, None);
                if stands == Some(place) && self.timetable.unwanted(*unit, first, last) {
                    best = Some((i64::MIN, (*unit, place), Undo::new()));
                    break;
                }
                let mut tried = Undo::new();
                let cents = self
                    .timetable
                    .add_stop(*unit, stop, &mut tried)
                    .or_else(|| self.timetable.stop_and_leave(*unit, stop, &mut tried));
                let again = self.timetable.undo(tried);
                if let Some(cents) = cents
                    && best.as_ref().is_none_or(|(least, ..)| cents < *least)
                {
                    best = Some((cents, (*unit, place), again));
                }
            }
            let (_, unit, again) = best?;
            undo.extend(self.timetable.undo(again));
            units.push(unit);
        }
        Some(units)
    }

    /// Where a unit stands in all of some half-days.
    fn stands_through(&self, unit: UnitId, first: usize, last: usize) -> Option<PlaceId> {
        let shop = self.shop();
        stands(shop.units[unit].place, shop.len(), &self.timetable.routes[unit.index()].trips)
            .find(|(_, from, before)| *from <= first && last < *before)
            .map(|(place, ..)| place)
    }
}

/// The hauls of one plan that the other has not. Trucks may change hands: what counts is where the unit goes when.
fn but(hauls: &[Haul], others: &[Haul]) -> Vec<Haul> {
    let same = |a: &Haul, b: &Haul| (a.unit, a.from, a.to, a.at, a.evening) == (b.unit, b.from, b.to, b.at, b.evening);
    hauls.iter().filter(|haul| !others.iter().any(|other| same(haul, other))).copied().collect()
}
