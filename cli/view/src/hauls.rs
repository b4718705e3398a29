//! A week's hauls, between the half-days in which they happen.

use super::course::{Course, Trip};
use super::licence::marks;
use super::posted_roads;
use super::table::table;
use super::trip::TripMark;
use super::words::{BROKEN, day, short_crew};

/// The hauls of the given half-days as text, each date and time of day said once; `None` where there is none.
pub fn hauls(course: &Course, half_days: std::ops::Range<usize>) -> Option<String> {
    let mut rows = rows(course, half_days);
    for n in (1..rows.len()).rev() {
        if rows[n][0] == rows[n - 1][0] {
            rows[n][0].clear();
            if rows[n][1] == rows[n - 1][1] {
                rows[n][1].clear();
            }
        }
    }
    (!rows.is_empty()).then(|| table(0, &rows, [10, 9, 20, 40, 20, 0]))
}

/// The hauls of the given half-days, in the order of time, with a sign where they are new or dropped: date, time of day,
/// unit, from where to where, truck, remarks.
pub fn rows(course: &Course, half_days: std::ops::Range<usize>) -> Vec<[String; 6]> {
    let shop = course.shop;
    let sign = |trip: &Trip| match trip.mark {
        Some(TripMark::Broken) => "! ",
        Some(TripMark::New) => "+ ",
        None => "",
    };
    let trips = course.trips.iter().map(|trip| (trip, sign(trip)));
    let dropped = course.dropped.trips.iter().map(|trip| (trip, "- "));
    let mut all: Vec<_> = trips.chain(dropped).filter(|(trip, _)| half_days.contains(&trip.at)).collect();
    all.sort_by_key(|(trip, _)| (trip.at, trip.evening));
    let row = |(trip, sign): (&Trip, &str)| {
        [
            day(shop.horizon.half_day(trip.at)),
            trip.moment(shop).to_owned(),
            format!("{sign}{}", shop.units[trip.unit].name),
            format!("{} → {}", shop.places[trip.from].name, shop.places[trip.to].name),
            truck(course, trip),
            if sign == "- " { "dropped".to_owned() } else { remarks(course, trip) },
        ]
    };
    all.into_iter().map(row).collect()
}

/// The truck, and whose it is.
pub fn truck(course: &Course, trip: &Trip) -> String {
    let facts = &course.shop.trucks[trip.truck];
    match facts.crew {
        Some(crew) => format!("{} ({})", facts.name, short_crew(&course.shop.crews[crew])),
        None => facts.name.clone(),
    }
}

/// Minutes, and all that the driver should know of them.
pub fn remarks(course: &Course, trip: &Trip) -> String {
    let mut words = vec![match trip.time {
        Some(time) => format!("{} min{}", time.minutes, if time.estimate { " (estimate)" } else { "" }),
        None => "drive not known".to_owned(),
    }];
    if trip.time.is_some_and(|time| time.long) && !trip.evening {
        let half = if course.shop.horizon.half_day(trip.at).is_pm() { "pm" } else { "am" };
        words.push(format!("on the road all {half}"));
    }
    words.extend(trip.broken().then(|| BROKEN.to_uppercase()));
    words.extend(cautions(course, trip));
    words.join(", ")
}

/// What a haul asks care for, or comes of something that is not entered.
pub fn cautions(course: &Course, trip: &Trip) -> Vec<String> {
    let mut words = Vec::new();
    if trip.needs_clear {
        words.push("NEEDS A CLEAR DAY".to_owned());
    }
    words.extend(marks(course.shop, trip.truck, trip.unit));
    words.extend(posted_roads::marks(course.shop, trip));
    words.extend(way_round(course, trip));
    words
}

/// That a haul is one of two by way of a third place, as the drive between the ends is not known.
fn way_round(course: &Course, trip: &Trip) -> Option<String> {
    let shop = course.shop;
    let own = || course.trips.iter().filter(|of| of.unit == trip.unit);
    let when = |of: &Trip| (of.at, of.evening);
    let only_passes = |first: &Trip, second: &Trip| {
        let wanted = |job| shop.jobs[job].place == first.to;
        let holds = &course.holds[trip.unit];
        !holds.iter().any(|hold| wanted(hold.job) && hold.first <= second.at && hold.last >= first.at)
    };
    let says = |first: &Trip, second: &Trip| {
        let unknown =
            first.from != second.to && shop.haul_time(shop.units[trip.unit].moves, first.from, second.to).is_none();
        let name = |place| &shop.places[place].name;
        (unknown && first.to == second.from && only_passes(first, second)).then(|| {
            let (from, by, to) = (name(first.from), name(first.to), name(second.to));
            format!("by way of {by}, as the drive from {from} to {to} is not known")
        })
    };
    let before = own().rfind(|of| when(of) < when(trip)).and_then(|before| says(before, trip));
    before.or_else(|| own().find(|of| when(of) > when(trip)).and_then(|next| says(trip, next)))
}
