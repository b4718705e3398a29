//! Trailers that must have left a place, or be there, before its road closes to them.

use std::ops::Range;

use yardless_plan::shop::{Closure, PlaceId, RoadState};

use super::course::{Course, Trip};
use super::words::half;

/// Half-days for which it is looked ahead when a road closes: a week.
const AHEAD: usize = 14;

/// A trailer that must be hauled before a road closes to it.
pub struct Deadline<'c> {
    trip: &'c Trip,
    /// The place whose road closes: the one that it leaves, or goes to.
    place: PlaceId,
    /// The last half-day in which that road is open.
    last: usize,
}

impl Deadline<'_> {
    /// `Staging trailer from Hill Farm to Cedar Court by Thu 10 Dec pm`.
    pub fn short(&self, course: &Course) -> String {
        let (shop, trip) = (course.shop, self.trip);
        let name = |place: PlaceId| &shop.places[place].name;
        let (unit, by) = (&shop.units[trip.unit].name, half(shop.horizon.half_day(self.last)));
        format!("{unit} from {} to {} by {by}", name(trip.from), name(trip.to))
    }

    /// The haul that does it.
    pub fn trip(&self) -> &Trip {
        self.trip
    }

    /// `Hill Farm is closed from Fri 11 Dec am on (a storm)`.
    pub fn closes(&self, course: &Course) -> String {
        let shop = course.shop;
        let place = &shop.places[self.place];
        let why = match place.road[self.last + 1] {
            RoadState::Closed(Closure::Storm) => "a storm",
            RoadState::Closed(Closure::NoTravel) => "nobody travels",
            RoadState::Closed(Closure::Covered) => "roads covered",
            _ => "no trailers in this season",
        };
        let then = half(shop.horizon.half_day(self.last + 1));
        format!("{} is closed from {then} on ({why})", place.name)
    }

    /// What, by when, why, and the haul that does it.
    pub fn says(&self, course: &Course) -> String {
        let (shop, trip) = (course.shop, self.trip);
        let when = format!("{}, {}", half(shop.horizon.half_day(trip.at)), trip.moment(shop));
        let truck = &shop.trucks[trip.truck].name;
        format!("{}: {}; {truck} hauls it {when}", self.short(course), self.closes(course))
    }
}

/// Those that are hauled in some half-days, in the order of time.
pub fn deadlines<'c>(course: &'c Course, half_days: &'c Range<usize>) -> impl Iterator<Item = Deadline<'c>> {
    let trips = course.trips.iter().filter(|trip| half_days.contains(&trip.at) && course.shop.units[trip.unit].towed());
    trips.filter_map(|trip| {
        let ends = [trip.from, trip.to].into_iter();
        let closing = ends.filter_map(|place| Some((last_open(course, place, trip.at)?, place)));
        closing.min_by_key(|(last, _)| *last).map(|(last, place)| Deadline { trip, place, last })
    })
}

/// The last half-day from one on in which a place's road is open, where it closes within a week after.
fn last_open(course: &Course, place: PlaceId, at: usize) -> Option<usize> {
    let closed = |h: &usize| matches!(course.shop.places[place].road[*h], RoadState::Closed(_));
    let mut ahead = at + 1..(at + 1 + AHEAD).min(course.shop.len());
    ahead.find(closed).map(|first| first - 1)
}

#[cfg(test)]
mod tests {
    use super::super::desk::desk;
    use super::*;

    #[test]
    fn trailer_that_a_road_closes_to_is_told_with_the_last_half_day_in_which_it_is_open() {
        let (shop, plan) = desk();
        let course = Course::new(&shop, &plan);
        let whole = 0..shop.len();
        let found: Vec<Deadline> = deadlines(&course, &whole).collect();
        assert!(!found.is_empty(), "the desk has a road that closes");
        let closed = |place: PlaceId, h: usize| matches!(shop.places[place].road[h], RoadState::Closed(_));
        for of in &found {
            let says = of.short(&course);
            assert!(of.last >= of.trip.at && of.last <= of.trip.at + AHEAD, "{says}");
            assert!(closed(of.place, of.last + 1), "{says}");
            for h in of.trip.at + 1..=of.last {
                assert!(!closed(of.trip.from, h) && !closed(of.trip.to, h), "{says}");
            }
        }
    }
}
