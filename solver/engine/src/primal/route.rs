//! Where each unit goes: its stops in order of time, and the trips that bring it from one to the next.

use yardless_plan::shop::{JobId, PlaceId, Shop, UnitId};

/// A stay of a unit at a place that something needs: held by a step or parked, or out of another trailer's way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Stop {
    pub(crate) place: PlaceId,
    /// First half-day in which it must stand there.
    pub(crate) first: usize,
    /// Last half-day in which it must.
    pub(crate) last: usize,
    /// Last half-day in which it may not be out; after that it only stands there (E7).
    pub(crate) in_use: usize,
    /// The job that needs it; none for trailers that had to make room at the beginning.
    pub(crate) job: Option<JobId>,
}

impl Stop {
    /// A stay that is in use all the time.
    pub(crate) fn new(place: PlaceId, first: usize, last: usize, job: Option<JobId>) -> Self {
        Self { place, first, last, in_use: last, job }
    }
}

/// One haul of the unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct RouteHaul {
    pub(crate) from: PlaceId,
    pub(crate) to: PlaceId,
    pub(crate) at: usize,
    pub(crate) evening: bool,
    /// All its half-day on the road.
    pub(crate) long: bool,
    pub(crate) cents: i64,
}

impl RouteHaul {
    /// The half-day from which on the unit stands where it was going.
    pub(crate) fn arrives(&self) -> usize {
        self.at + usize::from(self.evening || self.long)
    }
}

/// The stops and trips of one unit, in the order in which stops begin: a leg leads to each, and one may follow the last.
/// Stops of a shared unit may overlap at one place (E8); no trip leads from one to another of these.
#[derive(Clone, Debug, Default)]
pub(crate) struct Route {
    pub(crate) stops: Vec<Stop>,
    /// The trips of all legs.
    pub(crate) trips: Vec<RouteHaul>,
    /// How many trips there are up to the end of each leg that leads to a stop.
    ends: Vec<usize>,
}

impl Route {
    /// The trips that lead to stop i; past the last stop, those that follow it.
    pub(crate) fn leg(&self, i: usize) -> &[RouteHaul] {
        &self.trips[self.begin(i)..self.end(i)]
    }

    /// How many trips there are up to the end of the leg to stop i.
    pub(crate) fn end(&self, i: usize) -> usize {
        self.ends.get(i).copied().unwrap_or(self.trips.len())
    }

    /// How many trips there are before the leg to stop i.
    pub(crate) fn begin(&self, i: usize) -> usize {
        i.checked_sub(1).map_or(0, |before| self.ends[before])
    }

    /// One more stop at the end, with the leg to it in place of what followed the last one.
    pub(crate) fn push(&mut self, stop: Stop, leg: impl IntoIterator<Item = RouteHaul>) {
        self.trips.truncate(self.begin(self.stops.len()));
        self.stops.push(stop);
        self.trips.extend(leg);
        self.ends.push(self.trips.len());
    }

    /// Another leg to stop i, or after the last one.
    pub(crate) fn set_leg(&mut self, i: usize, leg: &[RouteHaul]) {
        let (begin, old) = (self.begin(i), self.end(i));
        self.trips.splice(begin..old, leg.iter().copied());
        for end in &mut self.ends[i..] {
            *end = *end + begin + leg.len() - old;
        }
    }

    /// A stop in place i, with a leg that has no trips yet.
    pub(crate) fn insert(&mut self, i: usize, stop: Stop) {
        self.ends.insert(i, self.begin(i));
        self.stops.insert(i, stop);
    }

    /// A stop in place i that parts its leg: the first so many of all trips lead to it.
    pub(crate) fn part(&mut self, i: usize, trips: usize, stop: Stop) {
        self.ends.insert(i, trips);
        self.stops.insert(i, stop);
    }

    /// The last half-day up to which a stop before stop i keeps the unit; none before the first.
    pub(crate) fn kept_until(&self, i: usize) -> Option<usize> {
        self.stops[..i].iter().map(|stop| stop.last).max()
    }

    /// How many stops begin up to a half-day.
    pub(crate) fn begun(&self, until: usize) -> usize {
        self.stops.partition_point(|stop| stop.first <= until)
    }

    /// From where, after which half-day (none: from the beginning) and after which trip a leg to stop i sets out.
    pub(crate) fn sets_out(&self, shop: &Shop, unit: UnitId, i: usize) -> SetsOut {
        match i.checked_sub(1).map(|before| self.stops[before]) {
            None => SetsOut { place: shop.units[unit].place, bound_until: None, last_trip: None, now: shop.now },
            Some(stop) => SetsOut {
                place: stop.place,
                bound_until: if shop.units[unit].shared { self.kept_until(i) } else { Some(stop.last) },
                last_trip: self.trips[..self.begin(i)].last().map(|trip| trip.at),
                now: shop.now,
            },
        }
    }
}

/// A place, the first half-day in which a unit stands there, and the one before which it leaves.
pub(crate) type Stand = (PlaceId, usize, usize);

/// The places where a unit that makes the trips stands, in order: before `len` where it stays.
pub(crate) fn stands<'t>(
    home: PlaceId,
    len: usize,
    trips: impl IntoIterator<Item = &'t RouteHaul>,
) -> impl Iterator<Item = Stand> {
    let (mut place, mut since) = (home, 0);
    let ends = trips.into_iter().map(Some).chain([None]);
    let stands = ends.map(move |trip| {
        // It still stands there in the half-day of an evening trip.
        let stand = (place, since, trip.map_or(len, |trip| trip.at + usize::from(trip.evening)));
        (place, since) = trip.map_or((place, since), |trip| (trip.to, trip.arrives()));
        stand
    });
    stands.filter(|(_, from, before)| from < before)
}

/// The beginning of a leg.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SetsOut {
    pub(crate) place: PlaceId,
    /// The last half-day in which the unit must still stand there.
    pub(crate) bound_until: Option<usize>,
    /// The half-day of its last trip before: no second one starts in it (H1).
    pub(crate) last_trip: Option<usize>,
    /// The first half-day that is planned.
    pub(crate) now: usize,
}

impl SetsOut {
    /// The first half-day at whose start the unit may leave.
    pub(crate) fn first_start(&self) -> usize {
        self.bound_until.map_or(self.now, |h| h + 1)
    }
    /// The first half-day in which it may leave at all.
    pub(crate) fn soonest(&self) -> usize {
        self.first_start().min(self.first_evening())
    }
    /// The first half-day in whose evening it may leave.
    pub(crate) fn first_evening(&self) -> usize {
        let bound = self.bound_until.unwrap_or(self.now);
        if self.last_trip == Some(bound) { bound + 1 } else { bound }
    }
}

/// How many entries two lists have in common at the beginning, and how many more at the end.
pub(crate) fn same<T: PartialEq>(a: &[T], b: &[T]) -> (usize, usize) {
    let first = a.iter().zip(b).take_while(|(a, b)| a == b).count();
    let last = a[first..].iter().rev().zip(b[first..].iter().rev()).take_while(|(a, b)| a == b).count();
    (first, last)
}
