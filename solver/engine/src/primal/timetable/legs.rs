//! Ways for a unit to a stop and on from it: a trip, or two by way of a third place.

use std::sync::Arc;

use yardless_book::Moves;
use yardless_plan::shop::{Id, PlaceId, UnitId};

use super::standing::Idle;
use super::{Fit, Timetable};
use crate::primal::half_days::latest;
use crate::primal::route::{RouteHaul, SetsOut, Stop, stands};

/// Third places looked at for a detour or a resting place, nearest first.
pub(super) const MOST_DETOURS: usize = 12;

/// No trip, one, or two.
#[derive(Clone, Copy)]
pub(super) struct Leg {
    trips: [RouteHaul; 2],
    len: usize,
}

impl std::ops::Deref for Leg {
    type Target = [RouteHaul];
    fn deref(&self) -> &[RouteHaul] {
        &self.trips[..self.len]
    }
}

/// What trips cost.
pub(super) fn cents(trips: &[RouteHaul]) -> i64 {
    trips.iter().map(|trip| trip.cents).sum()
}

impl Timetable<'_> {
    /// How a unit can take a stop in, with the trips to it and on from it. `None` where it cannot.
    pub(crate) fn fit(&mut self, unit: UnitId, stop: Stop) -> Option<Fit> {
        if !self.idle(unit, stop) {
            return None;
        }
        let route = Arc::clone(&self.routes[unit.index()]);
        let i = route.begun(stop.first);
        let out = route.sets_out(self.shop, unit, i);
        if out.place != stop.place && !self.ever_comes(unit, out, stop) {
            return None;
        }
        // Where another stop keeps a shared unit there already, it is there; where that keeps it to the end or longer, no
        // trip changes.
        let kept = out.bound_until.filter(|kept| self.shop.units[unit].shared && *kept >= stop.first);
        if kept.is_some_and(|kept| kept >= stop.last) {
            return Some(Fit { i, overlapped: 0, to: None, on: None, cents: 0 });
        }
        let next = route.begun(stop.last);
        // Of those that begin meanwhile the last one may keep it longer than this one.
        let stays = route.kept_until(next).filter(|_| next > i).is_some_and(|kept| kept >= stop.last);
        let (begin, end) = (route.begin(i), if stays { route.begin(next) } else { route.end(next) });
        let old = &route.trips[begin..end];
        // Trips are looked for with the unit's old ones, and its own stands, out of the way.
        let lifted = self.lift(unit);
        for trip in old {
            self.trucks.count(unit, trip, -1);
        }
        let on = route.stops.get(next).copied().filter(|_| !stays);
        let legs = if kept.is_none() {
            self.legs(unit, out, stop, on).map(|(to, on)| (Some(to), on))
        } else if let Some(on) = on {
            self.leg_on(unit, out.last_trip, stop, on).map(|on| (None, Some(on)))
        } else {
            Some((None, None))
        };
        let fit = legs.map(|(to, on)| {
            let (there, further) = (to.as_deref().unwrap_or_default(), on.as_deref().unwrap_or_default());
            let added = if self.tables.stands_at_a_cost(unit) && !self.shop.units[unit].shared {
                let idle = Idle { unit, out, next: route.stops.get(i).copied() };
                self.added_cents(idle, stop, (there, further, old))
            } else {
                let (before, behind) = (&route.trips[..begin], &route.trips[end..]);
                let trips = before.iter().chain(there).chain(further).chain(behind);
                let stands = self.standing_cents(unit, trips) - self.standing_cents(unit, &route.trips);
                cents(there) + cents(further) - cents(old) + stands
            };
            Fit { i, overlapped: next - i, to, on, cents: added }
        });
        let fit = fit.filter(|fit| {
            let (before, behind) = (&route.trips[..begin], &route.trips[end..]);
            let trips = fit.to.iter().chain(&fit.on).flat_map(|leg| leg.iter());
            self.has_spots(unit, before.iter().chain(trips).chain(behind))
        });
        for trip in old {
            self.trucks.count(unit, trip, 1);
        }
        self.full.restore(lifted);
        fit
    }

    /// Whether the road to a stop is open at all while the unit can come.
    fn ever_comes(&self, unit: UnitId, out: SetsOut, stop: Stop) -> bool {
        let road = self.tables.road(self.shop, self.shop.units[unit].moves, stop.place);
        latest([road, self.tables.hauled(unit)], out.soonest()..=stop.first, false).is_some()
    }

    /// Whether a unit that makes the trips finds a spot wherever it stands, its own stands not counted.
    fn has_spots<'t>(&self, unit: UnitId, trips: impl Iterator<Item = &'t RouteHaul>) -> bool {
        let facts = &self.shop.units[unit];
        facts.moves == Moves::Carried
            || stands(facts.place, self.shop.len(), trips)
                .all(|(place, from, before)| self.room(facts.moves, place, from, before))
    }

    /// The ways to a stop and on to the next one.
    fn legs(&mut self, unit: UnitId, out: SetsOut, stop: Stop, next: Option<Stop>) -> Option<(Leg, Option<Leg>)> {
        let to = self.find_leg(unit, out, stop.place, stop.first)?;
        let Some(next) = next else { return Some((to, None)) };
        for trip in to.iter() {
            self.trucks.count(unit, trip, 1);
        }
        let last_trip = to.last().map(|trip| trip.at).or(out.last_trip);
        let on = self.leg_on(unit, last_trip, stop, next);
        for trip in to.iter() {
            self.trucks.count(unit, trip, -1);
        }
        Some((to, Some(on?)))
    }

    /// The way on from a stop to the next one; `last_trip`: the half-day of the last trip before it.
    fn leg_on(&self, unit: UnitId, last_trip: Option<usize>, stop: Stop, next: Stop) -> Option<Leg> {
        let from = SetsOut { place: stop.place, bound_until: Some(stop.last), last_trip, now: self.shop.now };
        self.find_leg(unit, from, next.place, next.first)
    }

    /// Trips that bring a unit to a place where it must stand in half-day `by`: none, one, or two by way of a third
    /// place; as late as can be, so that it stays free until then.
    pub(super) fn find_leg(&self, unit: UnitId, out: SetsOut, to: PlaceId, by: usize) -> Option<Leg> {
        let moves = self.shop.units[unit].moves;
        if out.place == to {
            let stays = RouteHaul { from: to, to, at: 0, evening: false, long: false, cents: 0 };
            return self.room(moves, to, out.first_start(), by).then_some(Leg { trips: [stays, stays], len: 0 });
        }
        if let Some(trip) = self.trip(unit, out, to, by) {
            return Some(Leg { trips: [trip, trip], len: 1 });
        }
        // Whatever the third place: the first trip has to leave in time and the second one to arrive.
        let range = out.soonest()..=by;
        let ends = |place: PlaceId| {
            [self.tables.road(self.shop, moves, place), self.tables.hauled(unit), self.trucks.free(unit, place)]
        };
        let leaves = latest(ends(out.place), range.clone(), false);
        let comes = latest(ends(to), range, false)?;
        if self.last_full(moves, to, by).is_some_and(|full| full > comes) || leaves.is_none() {
            return None;
        }
        self.nearest_detours(moves, out.place, to)
            .into_iter()
            .flatten()
            .find_map(|(_, via)| self.two_trips(unit, out, via, to, by))
    }

    /// The third places by which the way is shortest.
    fn nearest_detours(&self, moves: Moves, from: PlaceId, to: PlaceId) -> [Option<(u32, PlaceId)>; MOST_DETOURS] {
        let mut nearest = [None; MOST_DETOURS];
        for via in self.shop.places.ids().filter(|via| *via != to && *via != from) {
            let (first, second) = (self.shop.haul_time(moves, from, via), self.shop.haul_time(moves, via, to));
            let (Some(first), Some(second)) = (first, second) else { continue };
            let way = (first.minutes + second.minutes, via);
            let mut i = MOST_DETOURS;
            while i > 0 && nearest[i - 1].is_none_or(|other| way < other) {
                if i < MOST_DETOURS {
                    nearest[i] = nearest[i - 1];
                }
                i -= 1;
            }
            if i < MOST_DETOURS {
                nearest[i] = Some(way);
            }
        }
        nearest
    }

    pub(super) fn two_trips(&self, unit: UnitId, out: SetsOut, via: PlaceId, to: PlaceId, by: usize) -> Option<Leg> {
        let moves = self.shop.units[unit].moves;
        // The second as late as can be; the first so that the unit has stood at the third place in between (H1).
        let mut last = by;
        while let Some(second) = self.trip(unit, SetsOut { place: via, ..out }, to, last) {
            let stand_by = if second.evening { Some(second.at) } else { second.at.checked_sub(1) };
            match stand_by.and_then(|h| self.trip(unit, out, via, h)) {
                Some(first) if first.at != second.at && self.room(moves, via, first.arrives(), second.at) => {
                    return Some(Leg { trips: [first, second], len: 2 });
                }
                // Without spots to wait for, what does not come by then does not come earlier.
                None if moves == Moves::Carried || !self.limited(via) => return None,
                _ => last = second.arrives().checked_sub(1)?,
            }
        }
        None
    }

    /// The latest single trip after which the unit stands at `to` in half-day `by`.
    pub(super) fn trip(&self, unit: UnitId, out: SetsOut, to: PlaceId, by: usize) -> Option<RouteHaul> {
        let moves = self.shop.units[unit].moves;
        let time = self.shop.haul_time(moves, out.place, to)?;
        let (from_road, to_road) =
            (self.tables.road(self.shop, moves, out.place), self.tables.road(self.shop, moves, to));
        let (leaves, comes) = (self.trucks.free(unit, out.place), self.trucks.free(unit, to));
        let sets = [from_road, to_road, self.tables.hauled(unit), leaves, comes];
        // It finds a spot at `to` from its arrival on, and keeps the one where it sets out until it leaves.
        let from = self.last_full(moves, to, by).map_or(0, |full| full + 1);
        let until = self.next_full(moves, out.place, out.first_start()).unwrap_or(by).min(by);
        let long = usize::from(time.long);
        let start = by
            .checked_sub(long)
            .and_then(|last| latest(sets, out.first_start().max(from.saturating_sub(long))..=last.min(until), false));
        let evening = until
            .checked_sub(1)
            .filter(|_| !time.long)
            .and_then(|last| latest(sets, out.first_evening().max(from.saturating_sub(1))..=last, true));
        let (at, evening) = match (start, evening) {
            (Some(start), Some(evening)) if evening >= start => (evening, true),
            (Some(start), _) => (start, false),
            (None, Some(evening)) => (evening, true),
            (None, None) => return None,
        };
        let cents = self.shop.haul_cost(moves, time.minutes).0;
        Some(RouteHaul { from: out.place, to, at, evening, long: time.long, cents })
    }
}
