//! Units held together for something that is no job: whether what is planned leaves them free, and what brings them.

use super::Builder;
use crate::engine::together::Wanted;
use crate::engine::walk::{Stop, stands};
use crate::engine::yard::{Fit, Undo};
use crate::plan::Haul;
use crate::shop::{Id, PlaceId, UnitId, Want};

/// Units, each with the place where it stands.
pub(in crate::engine) type Standing = Vec<(UnitId, PlaceId)>;

impl Builder<'_> {
    /// The units, each with where it stands, and the hauls that bring them from `first` on; nothing is changed.
    pub(in crate::engine) fn idle_together(
        &mut self,
        wanted: &Wanted,
        first: usize,
        last: usize,
    ) -> Option<(Standing, Vec<Haul>)> {
        let mut undo = Undo::new();
        let units = self.hold_all(wanted, first, last, &mut undo);
        let after = if units.is_some() { self.draft() } else { None };
        self.yard.undo(undo);
        let (units, after, before) = (units?, after?.hauls, self.draft()?.hauls);
        // Trucks may change hands: what counts is where the unit goes when.
        let same =
            |a: &Haul, b: &Haul| (a.unit, a.from, a.to, a.at, a.evening) == (b.unit, b.from, b.to, b.at, b.evening);
        let new = |haul: &Haul| haul.at <= first && !before.iter().any(|other| same(haul, other));
        let hauls: Vec<Haul> = after.into_iter().filter(new).collect();
        // Hauls are made as late as can be: one before the time asked about could not be made after it.
        hauls.iter().all(|haul| haul.at >= wanted.from).then_some((units, hauls))
    }

    fn hold_all(&mut self, wanted: &Wanted, first: usize, last: usize, undo: &mut Undo) -> Option<Standing> {
        let able = self.tables.able(Want::Kind(wanted.kind));
        let mut units = Standing::new();
        for _ in 0..wanted.count {
            let mut best: Option<(UnitId, Stop, Fit)> = None;
            for unit in able.iter().filter(|unit| units.iter().all(|(other, _)| other != *unit)) {
                let Some(place) = wanted.place.or_else(|| self.stands_through(*unit, first, last)) else { continue };
                let stop = Stop { place, first, last, job: None };
                if let Some(fit) = self.yard.fit(*unit, stop)
                    && best.as_ref().is_none_or(|(.., least)| fit.cents < least.cents)
                {
                    best = Some((*unit, stop, fit));
                }
            }
            let (unit, stop, fit) = best?;
            self.yard.take(unit, stop, &fit, undo);
            units.push((unit, stop.place));
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
