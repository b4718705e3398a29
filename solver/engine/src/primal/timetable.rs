//! The state of a plan under construction: who is busy, where each unit goes, what trucks and spots are left.

mod clearing;
mod late;
mod legs;
mod resting;
mod spots;
mod standing;
mod work;

use std::sync::Arc;

use yardless_book::Moves;
use yardless_plan::shop::{CrewId, Id, JobId, Shop, StepId, TeamId, UnitId};

use super::half_days::{HalfDaySets, HalfDays};
use super::route::{Route, RouteHaul, Stand, Stop, same, stands};
use super::tables::Tables;
use super::trucks::Trucks;
use legs::{Leg, cents};
use work::{RunAt, Work};

/// Everything that steps and hauls compete for, with what is taken so far.
#[derive(Clone)]
pub(crate) struct Timetable<'s> {
    pub(crate) shop: &'s Shop,
    tables: &'s Tables,
    /// What crews work on.
    work: Work,
    /// The route of each unit, shared between plans until one changes it.
    pub(crate) routes: Vec<Arc<Route>>,
    /// What all hauls cost, where all units stand (C12, C13, C17, C18), and what crews' weeks and dates cost (C14, C15), less overtime
    /// that is counted more than once.
    pub(crate) cents: i64,
    /// Hauls taken and possible in each half-day.
    trucks: Trucks,
    /// Rows of `standing` and `full`, for places with spots.
    limits: Arc<[Option<usize>]>,
    /// Towed units that stand at a place with spots, by row and half-day; shared between plans until one changes it.
    standing: Vec<Arc<[u16]>>,
    /// When no other trailer may stand at a place with spots.
    full: HalfDaySets,
    /// When more stand there than may.
    over: HalfDaySets,
    /// When a stop keeps each unit.
    kept: HalfDaySets,
    /// What takes back the hauls by which idle units stand cheaper ([`resting`]).
    settled: Undo,
    /// From which half-day on each site is charged for where the work is over (C18), once all jobs are in; empty before.
    charged: Arc<[usize]>,
}

/// What was there before a change, to take it back.
pub(crate) type Undo = Vec<(UnitId, Arc<Route>)>;

/// How a unit can take a stop in: its place in the route, the leg to it, the leg on from it where that changes, and the
/// change in cost. Of a shared unit some of the stops after it may begin while it lasts (E8): no leg leads to them any more.
pub(crate) struct Fit {
    i: usize,
    overlapped: usize,
    to: Option<Leg>,
    on: Option<Leg>,
    pub(crate) cents: i64,
}

impl<'s> Timetable<'s> {
    /// Nothing done yet. Trailers over the spots of a place at the beginning are hauled away at once (E6).
    pub(crate) fn new(shop: &'s Shop, tables: &'s Tables) -> Self {
        let mut rows = 0;
        let limits = shop.places.iter().map(|place| {
            rows += usize::from(place.spots.is_some());
            place.spots.map(|_| rows - 1)
        });
        let limits: Arc<[Option<usize>]> = limits.collect();
        let mut full = HalfDaySets::new(rows, shop.len());
        for (row, place) in limits.iter().zip(&shop.places) {
            if let Some(row) = row {
                (0..shop.len()).for_each(|h| full.put(*row, h, place.spots == Some(0)));
            }
        }
        let mut timetable = Self {
            shop,
            tables,
            work: Work::new(shop),
            routes: vec![Arc::default(); shop.units.len()],
            cents: 0,
            trucks: Trucks::new(shop),
            limits,
            standing: vec![Arc::from(vec![0; shop.len()]); rows],
            over: HalfDaySets::new(rows, shop.len()),
            full,
            kept: HalfDaySets::new(shop.units.len(), shop.len()),
            settled: Undo::new(),
            charged: Arc::default(),
        };
        timetable.cents = shop.units.ids().map(|unit| timetable.standing_cents(unit, &[])).sum();
        for (unit, facts) in shop.units.pairs() {
            timetable.stand(unit, (facts.place, 0, shop.len()), true);
        }
        timetable.mend();
        timetable
    }

    /// What a job in progress holds to the end of the horizon that is not ended (N1), or of which all that is left is later
    /// (E7): where a unit is one of it.
    pub(crate) fn kept_stop(&self, job: JobId, unit: UnitId) -> Option<Stop> {
        let (place, first, last) = (self.shop.jobs[job].place, self.shop.now, self.shop.len() - 1);
        self.shop.units[unit].bound.contains(&job).then_some(Stop::new(place, first, last, Some(job)))
    }

    /// Keeps the units of such a job where they stand, those that nothing else has taken.
    pub(crate) fn keep(&mut self, job: JobId) {
        for unit in self.shop.units.ids() {
            let Some(stop) = self.kept_stop(job, unit) else { continue };
            if self.routes[unit.index()].stops.is_empty() {
                let mut route = Route::default();
                route.push(stop, []);
                self.replace(unit, Arc::new(route));
            } else if self.shop.units[unit].shared {
                // What others need of it is at the same place.
                self.add_stop(unit, stop, &mut Undo::new());
            }
        }
    }

    /// Gives a unit stops and trips in order of time; the trips after the last stop. `None`, and nothing changed, where
    /// the trips do not lead from stop to stop.
    pub(crate) fn set_route(
        &mut self,
        unit: UnitId,
        stops: Vec<Stop>,
        trips: Vec<RouteHaul>,
    ) -> Option<Vec<RouteHaul>> {
        let mut route = Route::default();
        let mut at = self.shop.units[unit].place;
        let mut trips = trips.into_iter().peekable();
        for stop in stops {
            let mut leg = Vec::new();
            while let Some(trip) = trips.next_if(|trip| trip.arrives() <= stop.first) {
                at = trip.to;
                leg.push(trip);
            }
            if at != stop.place {
                return None;
            }
            route.push(stop, leg);
        }
        self.replace(unit, Arc::new(route));
        Some(trips.filter(|trip| trip.arrives() < self.shop.len()).collect())
    }

    /// Trips after a unit's last stop, made `always`, or only where its spot is wanted by others; where it costs that it
    /// stands, made until the next job comes or goes.
    pub(crate) fn extend_route(&mut self, unit: UnitId, trips: Vec<RouteHaul>, always: bool) {
        let Some(last) = trips.last() else { return };
        if always || self.crowded(unit) {
            let (place, first) = (last.to, last.arrives());
            let mut route = Route::clone(&self.routes[unit.index()]);
            route.push(Stop::new(place, first, first, None), trips);
            self.replace(unit, Arc::new(route));
        } else if self.tables.stands_at_a_cost(unit) {
            self.settle_after(unit, &trips);
        }
    }

    /// Takes what a unit is hauled before a half-day as made: it cannot be otherwise any more.
    pub(crate) fn made_before(&mut self, unit: UnitId, h: usize) {
        let Some(last) = h.checked_sub(1).filter(|_| h > self.shop.now) else { return };
        let old = Arc::clone(&self.routes[unit.index()]);
        let made = old.trips.partition_point(|trip| trip.at < h);
        let (place, since) = made
            .checked_sub(1)
            .map_or((self.shop.units[unit].place, self.shop.now), |n| (old.trips[n].to, old.trips[n].arrives()));
        let bound = old.stops.iter().filter(|stop| stop.first < h).map(|stop| stop.last + 1).max();
        let first = since.max(bound.unwrap_or(0));
        // Held, or still to arrive: then that binds it.
        if first <= last {
            let mut route = Route::clone(&old);
            route.part(old.begun(first), made, Stop::new(place, first, last, None));
            self.replace(unit, Arc::new(route));
        }
    }

    /// Whether nothing needs a unit in some half-days, or it is shared, and it is not out.
    pub(crate) fn unwanted(&self, unit: UnitId, first: usize, last: usize) -> bool {
        let shared = self.shop.units[unit].shared;
        let needs = |stop: &Stop| stop.job.is_some() && stop.first <= last && stop.last >= first && !shared;
        !self.shop.units[unit].out_within(first, last) && !self.routes[unit.index()].stops.iter().any(needs)
    }

    /// Counts a stand of a unit in, or out, from now on: what was over before is history.
    fn stand(&mut self, unit: UnitId, (place, from, before): Stand, counts: bool) {
        let row = self.limits[place.index()].filter(|_| self.shop.units[unit].moves == Moves::Towed);
        let (Some(row), Some(spots)) = (row, self.shop.places[place].spots) else { return };
        let standing = Arc::make_mut(&mut self.standing[row]).iter_mut().enumerate();
        for (h, count) in standing.take(before).skip(from.max(self.shop.now)) {
            *count = if counts { *count + 1 } else { *count - 1 };
            let count = usize::from(*count);
            self.full.put(row, h, count >= spots);
            self.over.put(row, h, count > spots);
        }
    }

    /// Puts a route in place of the unit's old one and gives the old one back.
    fn replace(&mut self, unit: UnitId, route: Arc<Route>) -> Arc<Route> {
        let (home, len) = (self.shop.units[unit].place, self.shop.len());
        let old = std::mem::replace(&mut self.routes[unit.index()], route);
        let new = Arc::clone(&self.routes[unit.index()]);
        for (route, counts) in [(&old, false), (&new, true)] {
            for stop in &route.stops {
                self.kept.fill(unit.index(), stop.first, stop.last + 1, counts);
            }
        }
        let (before, behind) = same(&old.trips, &new.trips);
        for trip in &old.trips[before..old.trips.len() - behind] {
            self.cents -= trip.cents;
            self.trucks.count(unit, trip, -1);
        }
        for trip in &new.trips[before..new.trips.len() - behind] {
            self.cents += trip.cents;
            self.trucks.count(unit, trip, 1);
        }
        self.cents += self.standing_cents(unit, &new.trips) - self.standing_cents(unit, &old.trips);
        if self.shop.units[unit].moves == Moves::Towed {
            let out: Vec<Stand> = stands(home, len, &old.trips).collect();
            let into: Vec<Stand> = stands(home, len, &new.trips).collect();
            let (before, behind) = same(&out, &into);
            for stand in &out[before..out.len() - behind] {
                self.stand(unit, *stand, false);
            }
            for stand in &into[before..into.len() - behind] {
                self.stand(unit, *stand, true);
            }
        }
        old
    }

    /// Takes changes back, the last one first; what does them again, in that order.
    pub(crate) fn undo(&mut self, undo: Undo) -> Undo {
        undo.into_iter().rev().map(|(unit, route)| (unit, self.replace(unit, route))).collect()
    }

    /// Adds a stop to a unit's route as it fits.
    pub(crate) fn take(&mut self, unit: UnitId, stop: Stop, fit: &Fit, undo: &mut Undo) {
        let mut route = Route::clone(&self.routes[unit.index()]);
        let next = fit.i + fit.overlapped;
        match &fit.on {
            Some(on) => route.set_leg(next, on),
            None if next == route.stops.len() => route.set_leg(next, &[]),
            None => {}
        }
        for overlapped in fit.i..next {
            route.set_leg(overlapped, &[]);
        }
        route.insert(fit.i, stop);
        if let Some(to) = &fit.to {
            route.set_leg(fit.i, to);
        }
        let old = self.replace(unit, Arc::new(route));
        undo.push((unit, old));
    }

    /// The same, where it fits at all; the change in cost, in cents.
    pub(crate) fn add_stop(&mut self, unit: UnitId, stop: Stop, undo: &mut Undo) -> Option<i64> {
        let fit = self.fit(unit, stop)?;
        self.take(unit, stop, &fit, undo);
        Some(fit.cents)
    }

    /// Whether a unit has not been moved and another one just like it, named before it, has not either.
    pub(crate) fn doubles(&self, unit: UnitId) -> bool {
        let first = self.tables.same[unit];
        first != unit && self.routes[unit.index()].stops.is_empty() && self.routes[first.index()].stops.is_empty()
    }

    /// Takes a job's stops out of every route, and what followed the last stop. Where no direct way leads past them any
    /// more, the old trips stay. A trailer whose last stop that was stands again where it came from, even if its spot is
    /// taken: `has_room` tells.
    pub(crate) fn remove_stops(&mut self, job: JobId) {
        for unit in self.shop.units.ids() {
            let old = &self.routes[unit.index()];
            if old.stops.iter().all(|stop| stop.job != Some(job)) {
                continue;
            }
            let mut route = Route::default();
            let mut waiting: Vec<RouteHaul> = Vec::new();
            let mut skipped = Vec::new();
            for (i, stop) in old.stops.iter().enumerate() {
                waiting.extend(old.leg(i));
                if stop.job == Some(job) {
                    skipped.push(route.stops.len());
                } else {
                    route.push(*stop, waiting.drain(..));
                }
            }
            self.replace(unit, Arc::new(route));
            for i in skipped {
                self.shorten(unit, i);
            }
        }
    }

    /// A shorter leg to stop i, where there is one.
    fn shorten(&mut self, unit: UnitId, i: usize) {
        let Some(stop) = self.routes[unit.index()].stops.get(i).copied() else { return };
        let mut route = Route::clone(&self.routes[unit.index()]);
        let old = cents(route.leg(i));
        route.set_leg(i, &[]);
        let before = self.replace(unit, Arc::new(route.clone()));
        let lifted = self.lift(unit);
        let leg = self.find_leg(unit, route.sets_out(self.shop, unit, i), stop.place, stop.first);
        self.full.restore(lifted);
        match leg {
            Some(leg) if cents(&leg) <= old => {
                route.set_leg(i, &leg);
                self.replace(unit, Arc::new(route));
                if self.crowded(unit) {
                    self.replace(unit, before);
                }
            }
            _ => {
                self.replace(unit, before);
            }
        }
    }

    /// Whether a crew has nothing to do in any half-day.
    pub(crate) fn without_work(&self, crew: CrewId) -> bool {
        self.work.without_work(crew)
    }

    /// Whether some crew of a team has not the time in some half-day of a run of a step in a way.
    pub(crate) fn busy(&self, step: StepId, way: usize, team: TeamId, mut worked: impl Iterator<Item = usize>) -> bool {
        worked.any(|h| self.work.full(self.shop, (step, way, team), h))
    }

    /// See [`Work::blocked`].
    pub(crate) fn blocked(&self, run: RunAt, set: HalfDays<'_>, blocked: &mut Vec<u64>) -> bool {
        self.work.blocked(self.shop, run, set, blocked)
    }

    /// See [`Work::far`].
    pub(crate) fn far(&self, run: RunAt, worked: &(impl Iterator<Item = usize> + Clone)) -> bool {
        self.work.far(self.shop, run, worked)
    }

    /// What a run would add to what crews' time costs by dates and weeks (C8, C14, C15).
    pub(crate) fn time_cents(&self, run: RunAt, worked: &(impl Iterator<Item = usize> + Clone)) -> i64 {
        self.work.added(self.shop, run, worked)
    }

    /// Marks the crews of a team busy with a step in a way, or free again, in the half-days of a run. In overtime their
    /// trucks come with them (W9).
    pub(crate) fn mark(&mut self, run: RunAt, worked: &(impl Iterator<Item = usize> + Clone), busy: bool) {
        let shop = self.shop;
        if busy {
            self.cents += self.time_cents(run, worked);
        }
        for h in worked.clone() {
            for crew in shop.working(&shop.teams[run.2], h) {
                let others = self.work.put(shop, crew, h, run, busy);
                if shop.overtime[h] && !others {
                    self.trucks.come(shop, crew, h, busy);
                }
            }
        }
        if !busy {
            self.cents -= self.time_cents(run, worked);
        }
    }

    /// Whether crews' time costs by more than the runs that take it (C14, C15).
    pub(crate) fn time_costs(&self) -> bool {
        self.work.costs()
    }

    /// Whether every haul has its truck: one in overtime has none any more once its crew works elsewhere.
    pub(crate) fn hitched(&self) -> bool {
        self.trucks.short().is_none()
    }

    /// A job for which something is hauled in a half-day with too few trucks.
    pub(crate) fn stranded(&self) -> Option<JobId> {
        let short = self.trucks.short()?;
        let hauls = |trip: &RouteHaul| trip.at == short;
        self.routes.iter().find_map(|route| {
            let i = (0..route.stops.len()).find(|i| route.leg(*i).iter().any(hauls))?;
            route.stops[i].job
        })
    }
}
