//! Spots cleared (E6): an idle trailer is hauled away from a place that others want.

use yardless_book::Moves;
use yardless_plan::shop::{Id, JobId, PlaceId, UnitId};

use super::legs::MOST_DETOURS;
use super::{Timetable, Undo};
use crate::primal::route::Stop;

impl Timetable<'_> {
    /// Hauls trailers away that are over the spots of a place at the beginning: each to the nearest place that takes it, or
    /// where that does not do, those that depth-first search has found.
    pub(super) fn mend(&mut self) {
        let (shop, now) = (self.shop, self.shop.now);
        let mut undo = Undo::new();
        for place in shop.places.ids() {
            while self.over(place, now) && self.make_room(place, now, None, None, &mut undo) {}
        }
        if shop.places.ids().any(|place| self.over(place, now)) {
            self.undo(undo);
            for haul in shop.mending().unwrap_or_default() {
                let stop = Stop::new(haul.to, haul.comes, haul.comes, None);
                self.add_stop(haul.unit, stop, &mut Undo::new());
            }
        }
    }

    /// Hauls some trailer away that stands idle at a full place in a half-day, for `job`, never `but`.
    pub(crate) fn make_room(
        &mut self,
        place: PlaceId,
        h: usize,
        job: Option<JobId>,
        but: Option<UnitId>,
        undo: &mut Undo,
    ) -> bool {
        let shop = self.shop;
        if self.limits[place.index()].is_none_or(|row| self.standing[row][h] == 0) {
            return false;
        }
        let idle: Vec<UnitId> = shop
            .units
            .ids()
            .filter(|unit| Some(*unit) != but && shop.units[*unit].moves == Moves::Towed)
            .filter(|unit| !self.kept.holds(unit.index(), h) && self.stands_at(*unit, place, h))
            .collect();
        if idle.is_empty() {
            return false;
        }
        let nearest = self.nearest(place);
        for unit in idle {
            for to in &nearest {
                for at in [h, h + 1].into_iter().filter(|at| *at < shop.len()) {
                    let stop = Stop::new(*to, at, at, job);
                    if self.add_stop(unit, stop, undo).is_none() {
                        continue;
                    }
                    if !self.stands_at(unit, place, h) {
                        return true;
                    }
                    if let Some((unit, route)) = undo.pop() {
                        self.replace(unit, route);
                    }
                }
            }
        }
        false
    }

    /// Adds a stop to the route of a unit that is taken away again before its spot is wanted by others, the cheapest way;
    /// the change in cost, in cents.
    pub(crate) fn stop_and_leave(&mut self, unit: UnitId, stop: Stop, undo: &mut Undo) -> Option<i64> {
        if !self.room_may_help(unit, stop) {
            return None;
        }
        let lifted = self.lift(unit);
        let full = self.next_full(Moves::Towed, stop.place, stop.last + 1);
        self.full.restore(lifted);
        let full = full?;
        let mut best: Option<(i64, Undo)> = None;
        for to in self.nearest(stop.place) {
            for at in [full, full + 1].into_iter().filter(|at| *at < self.shop.len()) {
                let mut tried = Undo::new();
                let rest = self.add_stop(unit, Stop::new(to, at, at, None), &mut tried);
                let cents = rest.and_then(|cents| Some(cents + self.add_stop(unit, stop, &mut tried)?));
                let again = self.undo(tried);
                if let Some(cents) = cents
                    && best.as_ref().is_none_or(|(least, _)| cents < *least)
                {
                    best = Some((cents, again));
                }
            }
        }
        let (cents, again) = best?;
        undo.extend(self.undo(again));
        Some(cents)
    }

    /// The places nearest to one by trailer, a few of them.
    fn nearest(&self, place: PlaceId) -> Vec<PlaceId> {
        let shop = self.shop;
        let mut to: Vec<(u32, PlaceId)> = shop
            .places
            .ids()
            .filter(|to| *to != place)
            .filter_map(|to| Some((shop.haul_time(Moves::Towed, place, to)?.minutes, to)))
            .collect();
        to.sort_unstable();
        to.into_iter().take(MOST_DETOURS).map(|(_, to)| to).collect()
    }
}
