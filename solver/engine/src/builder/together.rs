//! Units held together for something that is no job: whether what is planned leaves them free, and what brings them.

use yardless_plan::Haul;
use yardless_plan::shop::{Id, PlaceId, UnitId, Want};

use super::Builder;
use crate::together::Wanted;
use crate::walk::{Stop, stands};
use crate::yard::Undo;

/// Units, each with the place where it stands.
pub(crate) type Standing = Vec<(UnitId, PlaceId)>;

/// Units held together, and what of the hauls is otherwise for it.
pub(crate) struct Held {
    pub(crate) units: Standing,
    /// The hauls that bring them.
    pub(crate) hauls: Vec<Haul>,
    /// Those that take them on afterwards.
    pub(crate) then: Vec<Haul>,
    /// Those of the plan that are not made so.
    pub(crate) instead: Vec<Haul>,
}

impl Builder<'_> {
    /// Takes all hauls of units of a kind before a half-day as made.
    pub(crate) fn made_before(&mut self, wanted: &Wanted) {
        for unit in self.tables.able(Want::Kind(wanted.kind)) {
            self.yard.made_before(*unit, wanted.from);
        }
    }

    /// The units, each with where it stands, and the hauls that this takes besides; nothing is changed.
    pub(crate) fn idle_together(&mut self, wanted: &Wanted, first: usize, last: usize) -> Option<Held> {
        let mut undo = Undo::new();
        let units = self.hold_all(wanted, first, last, &mut undo);
        let after = if units.is_some() { self.draft() } else { None };
        self.yard.undo(undo);
        let (units, after, before) = (units?, after?.hauls, self.draft()?.hauls);
        let (hauls, then) =
            but(&after, &before).into_iter().partition(|haul: &Haul| haul.at + usize::from(haul.evening) <= first);
        let held = Held { units, hauls, then, instead: but(&before, &after) };
        // What was hauled before the time asked about has been.
        held.hauls.iter().chain(&held.instead).all(|haul| haul.at >= wanted.from).then_some(held)
    }

    fn hold_all(&mut self, wanted: &Wanted, first: usize, last: usize, undo: &mut Undo) -> Option<Standing> {
        let able = self.tables.able(Want::Kind(wanted.kind));
        let mut units = Standing::new();
        for _ in 0..wanted.count {
            let mut best: Option<(i64, (UnitId, PlaceId), Undo)> = None;
            for unit in able.iter().filter(|unit| units.iter().all(|(other, _)| other != *unit)) {
                let stands = self.stands_through(*unit, first, last);
                let Some(place) = wanted.place.or(stands) else { continue };
                let stop = Stop { place, first, last, job: None };
                if stands == Some(place) && self.yard.unwanted(*unit, first, last) {
                    best = Some((i64::MIN, (*unit, place), Undo::new()));
                    break;
                }
                let mut tried = Undo::new();
                let cents = self
                    .yard
                    .add_stop(*unit, stop, &mut tried)
                    .or_else(|| self.yard.stop_and_leave(*unit, stop, &mut tried));
                let again = self.yard.undo(tried);
                if let Some(cents) = cents
                    && best.as_ref().is_none_or(|(least, ..)| cents < *least)
                {
                    best = Some((cents, (*unit, place), again));
                }
            }
            let (_, unit, again) = best?;
            undo.extend(self.yard.undo(again));
            units.push(unit);
        }
        Some(units)
    }

    /// Where a unit stands in all of some half-days.
    fn stands_through(&self, unit: UnitId, first: usize, last: usize) -> Option<PlaceId> {
        let shop = self.shop();
        stands(shop.units[unit].place, shop.len(), &self.yard.walks[unit.index()].trips)
            .find(|(_, from, before)| *from <= first && last < *before)
            .map(|(place, ..)| place)
    }
}

/// The hauls of one plan that the other has not. Trucks may change hands: what counts is where the unit goes when.
fn but(hauls: &[Haul], others: &[Haul]) -> Vec<Haul> {
    let same = |a: &Haul, b: &Haul| (a.unit, a.from, a.to, a.at, a.evening) == (b.unit, b.from, b.to, b.at, b.evening);
    hauls.iter().filter(|haul| !others.iter().any(|other| same(haul, other))).copied().collect()
}
