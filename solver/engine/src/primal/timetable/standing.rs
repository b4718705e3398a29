//! What it costs where units stand (C12, C13, C17, C18), as part of what a plan under construction costs.

use std::ops::Range;

use yardless_plan::shop::{PlaceId, UnitId};

use super::Timetable;
use crate::primal::route::{RouteHaul, SetsOut, Stop, stands};

/// A time in which nothing needs a unit: from where it sets out, and its next stop, if there is one.
#[derive(Clone, Copy)]
pub(super) struct Idle {
    pub(super) unit: UnitId,
    pub(super) out: SetsOut,
    pub(super) next: Option<Stop>,
}

impl Timetable<'_> {
    /// What it costs where a unit that makes the trips stands, and its half-days on the road (C12, C13, C17, C18).
    pub(super) fn standing_cents<'t>(
        &self,
        unit: UnitId,
        trips: impl IntoIterator<Item = &'t RouteHaul> + Clone,
    ) -> i64 {
        if !self.tables.stands_at_a_cost(unit) {
            return 0;
        }
        self.stands_cents(unit, self.shop.units[unit].place, 0..self.shop.len(), trips)
    }

    fn stands_cents<'t>(
        &self,
        unit: UnitId,
        home: PlaceId,
        half_days: Range<usize>,
        trips: impl IntoIterator<Item = &'t RouteHaul> + Clone,
    ) -> i64 {
        let shop = self.shop;
        let worked = |from: usize, before: usize| {
            let from = from.max(half_days.start);
            if from < before { shop.worked_before(before) - shop.worked_before(from) } else { 0 }
        };
        let stood = stands(home, half_days.end, trips.clone());
        let stood: i64 = stood.map(|(place, from, before)| shop.stand_cost(unit, place).0 * worked(from, before)).sum();
        let stood = stood + self.late_cents(unit, home, &half_days, trips.clone());
        let long = trips.into_iter().filter(|trip| trip.long);
        stood + long.map(|trip| shop.road_cost(unit, trip.from).0 * worked(trip.at, trip.at + 1)).sum::<i64>()
    }

    /// What trips in an idle time cost, with where the unit then stands.
    pub(super) fn leg_cents(&self, idle: Idle, trips: &[RouteHaul]) -> i64 {
        let until = idle.next.map_or(self.shop.len(), |stop| stop.first);
        let hauls: i64 = trips.iter().map(|trip| trip.cents).sum();
        hauls + self.stands_cents(idle.unit, idle.out.place, idle.out.first_start()..until, trips)
    }

    /// What an idle time costs at best: with the trips, or with others.
    pub(super) fn idle_cents(&self, idle: Idle, trips: &[RouteHaul]) -> i64 {
        let cents = self.leg_cents(idle, trips);
        self.cheaper_leg(idle, cents).map_or(cents, |(less, _)| less)
    }

    /// What a stop costs by where the unit then stands.
    pub(super) fn stop_cents(&self, unit: UnitId, stop: Stop) -> i64 {
        let worked = self.shop.worked_before(stop.last + 1) - self.shop.worked_before(stop.first);
        self.shop.stand_cost(unit, stop.place).0 * worked
            + self.late_at(unit, stop.place, (stop.first + 1, stop.last + 1))
    }

    /// What a stop adds within an idle time: by the trips to it, on from it, and before, or by better ones.
    pub(super) fn added_cents(
        &self,
        idle: Idle,
        stop: Stop,
        (to, on, old): (&[RouteHaul], &[RouteHaul], &[RouteHaul]),
    ) -> i64 {
        let last_trip = to.last().map(|trip| trip.at).or(idle.out.last_trip);
        let out = SetsOut { place: stop.place, bound_until: Some(stop.last), last_trip, now: self.shop.now };
        self.idle_cents(Idle { next: Some(stop), ..idle }, to)
            + self.stop_cents(idle.unit, stop)
            + self.idle_cents(Idle { out, ..idle }, on)
            - self.idle_cents(idle, old)
    }
}
