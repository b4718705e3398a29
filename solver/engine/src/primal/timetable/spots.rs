//! Spots for trailers (E6): where another one may stand, and when a unit is idle.

use yardless_book::Moves;
use yardless_plan::shop::{Id, JobId, PlaceId, UnitId};

use super::Timetable;
use crate::primal::half_days::{latest, next};
use crate::primal::route::{Stop, stands};

impl Timetable<'_> {
    /// Whether hauling another trailer away may let the unit take in the stop that does not fit now.
    pub(crate) fn room_may_help(&self, unit: UnitId, stop: Stop) -> bool {
        let facts = &self.shop.units[unit];
        facts.moves == Moves::Towed && self.idle(unit, stop) && self.next_full(facts.moves, stop.place, 0).is_some()
    }

    /// Whether the unit is not out while a stop is in use, and not kept elsewhere in its half-days.
    pub(crate) fn idle(&self, unit: UnitId, stop: Stop) -> bool {
        self.free(unit, stop)
            && (self.waits(unit, stop.job, stop.first) || !self.shop.units[unit].out_within(stop.first, stop.in_use))
    }

    /// Whether no other stop keeps the unit in the half-days of a stop; a shared one may have others at the same place (E8).
    fn free(&self, unit: UnitId, stop: Stop) -> bool {
        if self.shop.units[unit].shared {
            return self.elsewhere(unit, stop).next().is_none();
        }
        next(self.kept.row(unit.index()), stop.first).is_none_or(|kept| kept > stop.last)
    }

    /// The stops that keep a unit at other places in some half-day of a stop.
    fn elsewhere(&self, unit: UnitId, stop: Stop) -> impl Iterator<Item = &Stop> {
        let stops = self.routes[unit.index()].stops.iter();
        stops.filter(move |other| other.place != stop.place && other.first <= stop.last && stop.first <= other.last)
    }

    /// Whether a job in progress holds the unit, and its work waits while it is out (N1).
    fn waits(&self, unit: UnitId, job: Option<JobId>, first: usize) -> bool {
        first == self.shop.now && job.is_some_and(|job| self.shop.units[unit].bound.contains(&job))
    }

    /// From when on a unit is idle up to the end of a stop, looked at from its beginning on.
    pub(crate) fn idle_from(&self, unit: UnitId, stop: Stop) -> usize {
        let Stop { first, last, in_use, job, .. } = stop;
        let kept = if self.shop.units[unit].shared {
            self.elsewhere(unit, stop).map(|other| other.last.min(last)).max()
        } else {
            latest([self.kept.row(unit.index())], first..=last, false)
        };
        let out = (first..=in_use).rev().find(|h| self.shop.units[unit].out[*h]);
        let out = out.filter(|_| !self.waits(unit, job, first));
        kept.max(out).map_or(first, |h| h + 1)
    }

    /// Whether the place has a limit of trailers.
    pub(super) fn limited(&self, place: PlaceId) -> bool {
        self.limits[place.index()].is_some()
    }

    /// Whether no place has more trailers than spots, from now on.
    pub(crate) fn has_room(&self) -> bool {
        self.limits.iter().flatten().all(|row| next(self.over.row(*row), self.shop.now).is_none())
    }

    pub(super) fn over(&self, place: PlaceId, h: usize) -> bool {
        self.limits[place.index()].is_some_and(|row| self.over.holds(row, h))
    }

    /// Whether the unit's stands bring some place over its spots.
    pub(super) fn crowded(&self, unit: UnitId) -> bool {
        let facts = &self.shop.units[unit];
        let over = |place: PlaceId, from| self.limits[place.index()].and_then(|row| next(self.over.row(row), from));
        facts.moves == Moves::Towed
            && stands(facts.place, self.shop.len(), &self.routes[unit.index()].trips)
                .any(|(place, from, before)| over(place, from).is_some_and(|h| h < before))
    }

    /// Takes a unit's own stands out of what is full, where the place is full by them alone; the words changed.
    pub(super) fn lift(&mut self, unit: UnitId) -> Vec<(usize, u64)> {
        let facts = &self.shop.units[unit];
        let mut lifted = Vec::new();
        if facts.moves == Moves::Towed {
            for (place, from, before) in stands(facts.place, self.shop.len(), &self.routes[unit.index()].trips) {
                if let Some(row) = self.limits[place.index()] {
                    self.full.copy(&self.over, row, from, before, &mut lifted);
                }
            }
        }
        lifted
    }

    /// The last half-day up to `by` in which no more trailers may stand at the place.
    pub(super) fn last_full(&self, moves: Moves, place: PlaceId, by: usize) -> Option<usize> {
        let row = self.limits[place.index()].filter(|_| moves == Moves::Towed)?;
        latest([self.full.row(row)], 0..=by, false)
    }

    /// The first half-day from `from` on in which no more trailers may stand at the place.
    pub(super) fn next_full(&self, moves: Moves, place: PlaceId, from: usize) -> Option<usize> {
        let row = self.limits[place.index()].filter(|_| moves == Moves::Towed)?;
        next(self.full.row(row), from)
    }

    /// Whether one more trailer may stand at the place in every half-day of a range.
    pub(super) fn room(&self, moves: Moves, place: PlaceId, from: usize, before: usize) -> bool {
        from >= before || self.next_full(moves, place, from).is_none_or(|full| full >= before)
    }

    /// Whether a unit stands at a place in a half-day.
    pub(super) fn stands_at(&self, unit: UnitId, place: PlaceId, h: usize) -> bool {
        stands(self.shop.units[unit].place, self.shop.len(), &self.routes[unit.index()].trips)
            .any(|(at, from, before)| at == place && (from..before).contains(&h))
    }
}
