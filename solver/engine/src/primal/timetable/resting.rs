//! Where standing costs (C12, C13): a unit that nothing needs for a while is hauled to where it stands cheaper, or hauled sooner.
//!
//! While a plan grows, units are brought as late as can be and stay where they are let go; what that would cost with the
//! best of these legs is only reckoned with ([`Timetable::idle_cents`]), as the trucks are for the work first. Once all jobs
//! are in, [`Timetable::settle`] makes such hauls, and they are taken back before the next job comes or goes.

use std::sync::Arc;

use yardless_plan::shop::{Id, PlaceId, UnitId};

use super::standing::Idle;
use super::{Timetable, Undo};
use crate::primal::route::{Route, RouteHaul, SetsOut, stands};

/// Trips from one stop to the next, or after the last one, with what they and standing in between cost.
type PricedLeg = (i64, Vec<RouteHaul>);

impl Timetable<'_> {
    /// Trips by which an idle time costs less than so much: hauled at once in place of as late as can be, or by way of a
    /// place where the unit rests from as soon until as late as can be.
    fn cheaper_leg(&self, idle: Idle, most: i64) -> Option<PricedLeg> {
        let Idle { unit, out, next } = idle;
        let shop = self.shop;
        let moves = shop.units[unit].moves;
        let (from, until) = (out.first_start(), next.map_or(shop.len(), |stop| stop.first));
        if from >= until {
            return None;
        }
        let by = next.map_or(shop.len() - 1, |stop| stop.first);
        let mut best: Option<PricedLeg> = None;
        let mut most = most;
        let mut offer = |trips: Vec<RouteHaul>| {
            let cents = self.leg_cents(idle, &trips);
            let fits = |(place, since, before): (PlaceId, usize, usize)| self.room(moves, place, since.max(from), before);
            if cents < most && stands(out.place, until, &trips).all(fits) {
                most = cents;
                best = Some((cents, trips));
            }
            most
        };
        let mut least = most;
        if let Some(stop) = next.filter(|stop| stop.place != out.place)
            && let Some(trip) = self.soonest_trip(unit, out, stop.place, by)
        {
            least = offer(vec![trip]);
        }
        let worked = shop.worked_before(until) - shop.worked_before(from);
        let rate = |place: PlaceId| shop.stand_cost(unit, place).0;
        let ends = rate(out.place).max(next.map_or(0, |stop| rate(stop.place)));
        let least_rate = rate(out.place).min(next.map_or(i64::MAX, |stop| rate(stop.place)));
        for via in shop.places.ids().filter(|via| *via != out.place && next.is_none_or(|stop| stop.place != *via)) {
            let Some(there) = shop.haul_time(moves, out.place, via).filter(|_| rate(via) < ends) else { continue };
            let on = next.map(|stop| shop.haul_time(moves, via, stop.place));
            if on == Some(None) {
                continue;
            }
            let minutes = there.minutes + on.flatten().map_or(0, |time| time.minutes);
            if shop.haul_cost(moves, minutes).0 + worked * rate(via).min(least_rate) >= least {
                continue;
            }
            let Some(first) = self.soonest_trip(unit, out, via, by) else { continue };
            let Some(stop) = next else {
                least = offer(vec![first]);
                continue;
            };
            let rests = SetsOut { place: via, bound_until: Some(first.arrives()), last_trip: Some(first.at), ..out };
            if let Some(second) = self.trip(unit, rests, stop.place, by) {
                least = offer(vec![first, second]);
            }
        }
        best
    }

    /// The first single trip to a place, there in half-day `by` at the latest.
    fn soonest_trip(&self, unit: UnitId, out: SetsOut, to: PlaceId, by: usize) -> Option<RouteHaul> {
        let shop = self.shop;
        let moves = shop.units[unit].moves;
        let time = shop.haul_time(moves, out.place, to)?;
        let roads = [out.place, to].map(|place| self.tables.road(shop, moves, place));
        let sets = [roads[0], roads[1], self.tables.hauled(unit), self.trucks.free(unit)];
        let may = |h: usize| sets.iter().all(|set| set[h / 64] >> (h % 64) & 1 == 1);
        let cents = shop.haul_cost(moves, time.minutes).0;
        let trip = |at: usize, evening: bool| RouteHaul { from: out.place, to, at, evening, long: time.long, cents };
        let comes = |trip: &RouteHaul| {
            let arrives = trip.arrives();
            arrives <= by && self.room(moves, to, arrives, arrives + 1)
        };
        (out.soonest()..=by).filter(|h| may(*h)).find_map(|h| {
            let start = (h >= out.first_start()).then(|| trip(h, false)).filter(comes);
            let evening = (h % 2 == 1 && !time.long && h >= out.first_evening()).then(|| trip(h, true));
            start.or_else(|| evening.filter(comes))
        })
    }

    /// Makes the hauls by which units stand cheaper while nothing needs them, those first that save most.
    pub(crate) fn settle(&mut self) {
        let tables = self.tables;
        let mut saving: Vec<(i64, UnitId, usize)> = Vec::new();
        for unit in &tables.standing_costs {
            for i in 0..=self.routes[unit.index()].stops.len() {
                saving.extend(self.settled_leg(*unit, i).map(|(saved, _)| (-saved, *unit, i)));
            }
        }
        saving.sort_unstable();
        for (_, unit, i) in saving {
            if let Some((_, leg)) = self.settled_leg(unit, i) {
                let mut route = Route::clone(&self.routes[unit.index()]);
                route.set_leg(i, &leg);
                self.settle_with(unit, route);
            }
        }
    }

    /// What a cheaper leg to a stop, or after the last one, saves, and its trips.
    fn settled_leg(&mut self, unit: UnitId, i: usize) -> Option<PricedLeg> {
        let route = Arc::clone(&self.routes[unit.index()]);
        let old = route.leg(i);
        let lifted = self.lift(unit);
        for trip in old {
            self.trucks.count(unit, trip.at, -1);
        }
        let idle = Idle { unit, out: route.sets_out(self.shop, unit, i), next: route.stops.get(i).copied() };
        let most = self.leg_cents(idle, old);
        let found = self.cheaper_leg(idle, most);
        for trip in old {
            self.trucks.count(unit, trip.at, 1);
        }
        self.full.restore(lifted);
        found.map(|(cents, leg)| (most - cents, leg))
    }

    /// A route with hauls that are taken back before the next job comes or goes.
    fn settle_with(&mut self, unit: UnitId, route: Route) {
        let old = self.replace(unit, Arc::new(route));
        if self.crowded(unit) {
            self.replace(unit, old);
        } else {
            self.settled.push((unit, old));
        }
    }

    /// Trips after a unit's last stop, of the same sort.
    pub(crate) fn settle_after(&mut self, unit: UnitId, trips: &[RouteHaul]) {
        let mut route = Route::clone(&self.routes[unit.index()]);
        let last = route.stops.len();
        route.set_leg(last, trips);
        self.settle_with(unit, route);
    }

    /// Takes those hauls back; what makes them again.
    pub(crate) fn unsettle(&mut self) -> Undo {
        let settled = std::mem::take(&mut self.settled);
        self.undo(settled)
    }

    /// Makes them again, where all else is as it was.
    pub(crate) fn settle_again(&mut self, redo: Undo) {
        self.settled = self.undo(redo);
    }
}
