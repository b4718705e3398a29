//! Where standing costs (C12, C13, C17, C18): a unit that nothing needs for a while is hauled to where it stands cheaper, or hauled
//! sooner.
//!
//! While a plan grows, units are brought as late as can be and stay where they are let go; what that would cost with the
//! best of these legs is only reckoned with ([`Timetable::idle_cents`]), as the trucks are for the work first. Once all jobs
//! are in, [`Timetable::settle`] makes such hauls, and they are taken back before the next job comes or goes.

use std::sync::Arc;

use yardless_plan::shop::{Id, PlaceId, UnitId};

use super::standing::Idle;
use super::{Timetable, Undo};
use crate::primal::half_days::holds;
use crate::primal::route::{Route, RouteHaul, SetsOut, Stand, stands};

/// Trips from one stop to the next, or after the last one, with what they and standing in between cost.
type PricedLeg = (i64, Vec<RouteHaul>);

impl Timetable<'_> {
    /// Trips by which an idle time costs less than so much: hauled at once in place of as late as can be, or by way of
    /// another place, where the unit rests from as soon until as late as can be.
    pub(super) fn cheaper_leg(&self, idle: Idle, most: i64) -> Option<PricedLeg> {
        let (out, next) = (idle.out, idle.next);
        if out.first_start() >= next.map_or(self.shop.len(), |stop| stop.first) {
            return None;
        }
        let mut best: Option<PricedLeg> = None;
        let most = |best: &Option<PricedLeg>| best.as_ref().map_or(most, |(cents, _)| *cents);
        if let Some(stop) = next.filter(|stop| stop.place != out.place)
            && let Some(trip) = self.soonest_trip(idle.unit, out, stop.place, stop.first)
        {
            best = self.leg_below(idle, vec![trip], most(&best));
        }
        for via in self.shop.places.ids().filter(|via| *via != out.place && next.is_none_or(|stop| stop.place != *via))
        {
            if !self.may_pay_by_way_of(idle, via, most(&best)) {
                continue;
            }
            for trips in self.trips_by_way_of(idle, via).into_iter().flatten() {
                best = self.leg_below(idle, trips, most(&best)).or(best);
            }
        }
        best
    }

    /// The trips with what they cost, where that is less than so much and they find spots.
    fn leg_below(&self, idle: Idle, trips: Vec<RouteHaul>, most: i64) -> Option<PricedLeg> {
        let (out, until) = (idle.out, idle.next.map_or(self.shop.len(), |stop| stop.first));
        let moves = self.shop.units[idle.unit].moves;
        let fits = |(place, since, before): Stand| self.room(moves, place, since.max(out.first_start()), before);
        let cents = self.leg_cents(idle, &trips);
        (cents < most && stands(out.place, until, &trips).all(fits)).then_some((cents, trips))
    }

    /// Whether going by way of a place may cost less than so much: no drive is missing, and hauls and standing, where it is
    /// cheapest, cost less.
    fn may_pay_by_way_of(&self, idle: Idle, via: PlaceId, most: i64) -> bool {
        let Idle { unit, out, next } = idle;
        let shop = self.shop;
        let moves = shop.units[unit].moves;
        let there = self.tables.haul_cents(shop, moves, out.place, via);
        let hauls = there.saturating_add(next.map_or(0, |stop| self.tables.haul_cents(shop, moves, via, stop.place)));
        if hauls >= most {
            return false;
        }
        let rate = |place: PlaceId| shop.stand_cost(unit, place).0;
        let (first, last) = (rate(out.place), next.map_or(rate(out.place), |stop| rate(stop.place)));
        let until = next.map_or(shop.len(), |stop| stop.first);
        let worked = shop.worked_before(until) - shop.worked_before(out.first_start().min(until));
        hauls + worked * rate(via).min(first).min(last) < most
    }

    /// The first trip to a place and the last one on from it that comes in time: there the unit rests. Or both as late as can
    /// be, which may be the shorter way.
    fn trips_by_way_of(&self, idle: Idle, via: PlaceId) -> [Option<Vec<RouteHaul>>; 2] {
        let Idle { unit, out, next } = idle;
        let by = next.map_or(self.shop.len() - 1, |stop| stop.first);
        let first = self.soonest_trip(unit, out, via, by);
        let Some(stop) = next else { return [first.map(|first| vec![first]), None] };
        let rests = first.and_then(|first| {
            let from = SetsOut { place: via, bound_until: Some(first.arrives()), last_trip: Some(first.at), ..out };
            Some(vec![first, self.trip(unit, from, stop.place, by)?])
        });
        [rests, self.two_trips(unit, out, via, stop.place, by).map(|leg| leg.to_vec())]
    }

    /// The first single trip to a place, there in half-day `by` at the latest.
    fn soonest_trip(&self, unit: UnitId, out: SetsOut, to: PlaceId, by: usize) -> Option<RouteHaul> {
        let shop = self.shop;
        let moves = shop.units[unit].moves;
        let time = shop.haul_time(moves, out.place, to)?;
        let roads = [out.place, to].map(|place| self.tables.road(shop, moves, place));
        let [leaves, comes] = [out.place, to].map(|place| self.trucks.free(unit, place));
        let sets = [roads[0], roads[1], self.tables.hauled(unit), leaves, comes];
        let may = |h: usize| sets.iter().all(|set| holds(set, h));
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
            self.trucks.count(unit, trip, -1);
        }
        let idle = Idle { unit, out: route.sets_out(self.shop, unit, i), next: route.stops.get(i).copied() };
        let most = self.leg_cents(idle, old);
        let found = self.cheaper_leg(idle, most);
        for trip in old {
            self.trucks.count(unit, trip, 1);
        }
        self.full.restore(lifted);
        found.map(|(cents, leg)| (most - cents, leg))
    }

    /// A route with hauls that are taken back before the next job comes or goes.
    fn settle_with(&mut self, unit: UnitId, route: Route) {
        // No second haul in the half-day in which another leg has one (H1).
        if route.trips.windows(2).any(|pair| pair[0].at >= pair[1].at) {
            return;
        }
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
    pub(super) fn unsettle_hauls(&mut self) -> Undo {
        let settled = std::mem::take(&mut self.settled);
        self.undo(settled)
    }

    /// Makes them again, where all else is as it was.
    pub(super) fn settle_hauls_again(&mut self, redo: Undo) {
        self.settled = self.undo(redo);
    }
}
