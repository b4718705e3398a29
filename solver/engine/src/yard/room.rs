//! Spots for trailers (E6): where another one may stand, and hauling one away that stands idle.

use yardless_book::Moves;
use yardless_plan::shop::{Id, JobId, PlaceId, UnitId};

use super::{Undo, Yard};
use crate::tables::{latest, next};
use crate::walk::{Stop, stands};

/// Third places looked at for a way round or a resting place, nearest first.
pub(super) const MOST_WAYS_ROUND: usize = 12;

impl Yard<'_> {
    /// Whether hauling another trailer away may let the unit take in the stop that does not fit now.
    pub(crate) fn room_may_help(&self, unit: UnitId, stop: Stop) -> bool {
        let facts = &self.shop.units[unit];
        facts.moves == Moves::Towed && self.idle(unit, stop) && self.next_full(facts.moves, stop.place, 0).is_some()
    }

    /// Whether the unit is not out, and not kept elsewhere, in the half-days of a stop.
    pub(crate) fn idle(&self, unit: UnitId, stop: Stop) -> bool {
        next(self.kept.row(unit.index()), stop.first).is_none_or(|kept| kept > stop.last)
            && (self.waits(unit, stop.job, stop.first) || !self.shop.units[unit].out_within(stop.first, stop.last))
    }

    /// Whether a job that has begun holds the unit, and its work waits while it is out (N1).
    fn waits(&self, unit: UnitId, job: Option<JobId>, first: usize) -> bool {
        first == self.shop.now && job.is_some() && self.shop.units[unit].bound == job
    }

    /// From when on a unit is idle up to `last`, looked at from `first` on.
    pub(crate) fn idle_from(&self, unit: UnitId, job: JobId, first: usize, last: usize) -> usize {
        let kept = latest([self.kept.row(unit.index())], first..=last, false);
        let out = (first..=last).rev().find(|h| self.shop.units[unit].out[*h]);
        let out = out.filter(|_| !self.waits(unit, Some(job), first));
        kept.max(out).map_or(first, |h| h + 1)
    }

    /// Whether the place has a limit of trailers.
    pub(super) fn limited(&self, place: PlaceId) -> bool {
        self.limits[place.index()].is_some()
    }

    pub(super) fn mend(&mut self) {
        for place in self.shop.places.ids() {
            let now = self.shop.now;
            while self.over(place, now) && self.make_room(place, now, None, None, &mut Vec::new()) {}
        }
    }

    /// Whether no place has more trailers than spots, from now on.
    pub(crate) fn has_room(&self) -> bool {
        self.limits.iter().flatten().all(|row| next(self.over.row(*row), self.shop.now).is_none())
    }

    fn over(&self, place: PlaceId, h: usize) -> bool {
        self.limits[place.index()].is_some_and(|row| self.over.holds(row, h))
    }

    /// Whether the unit's stands bring some place over its spots.
    pub(super) fn crowded(&self, unit: UnitId) -> bool {
        let facts = &self.shop.units[unit];
        let over = |place: PlaceId, from| self.limits[place.index()].and_then(|row| next(self.over.row(row), from));
        facts.moves == Moves::Towed
            && stands(facts.place, self.shop.len(), &self.walks[unit.index()].trips)
                .any(|(place, from, before)| over(place, from).is_some_and(|h| h < before))
    }

    /// Takes a unit's own stands out of what is full, where the place is full by them alone; the words changed.
    pub(super) fn lift(&mut self, unit: UnitId) -> Vec<(usize, u64)> {
        let facts = &self.shop.units[unit];
        let mut lifted = Vec::new();
        if facts.moves == Moves::Towed {
            for (place, from, before) in stands(facts.place, self.shop.len(), &self.walks[unit.index()].trips) {
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
        if self.limits[place.index()].is_none_or(|row| self.standing[row * shop.len() + h] == 0) {
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
                    let stop = Stop { place: *to, first: at, last: at, job };
                    if self.add_stop(unit, stop, undo).is_none() {
                        continue;
                    }
                    if !self.stands_at(unit, place, h) {
                        return true;
                    }
                    if let Some((unit, walk)) = undo.pop() {
                        self.replace(unit, walk);
                    }
                }
            }
        }
        false
    }

    /// Adds a stop to the walk of a unit that is taken away again before its spot is wanted by others, the cheapest way;
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
                let rest = self.add_stop(unit, Stop { place: to, first: at, last: at, job: None }, &mut tried);
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
        to.into_iter().take(MOST_WAYS_ROUND).map(|(_, to)| to).collect()
    }

    fn stands_at(&self, unit: UnitId, place: PlaceId, h: usize) -> bool {
        stands(self.shop.units[unit].place, self.shop.len(), &self.walks[unit.index()].trips)
            .any(|(at, from, before)| at == place && (from..before).contains(&h))
    }
}
