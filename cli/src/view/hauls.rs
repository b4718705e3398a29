//! A week's hauls, between the half-days in which they happen.

use super::course::{Course, Trip};
use super::table::table;
use super::words::{day, moment, short_crew};

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
    let trips = course.trips.iter().map(|trip| (trip, if trip.new { "+ " } else { "" }));
    let dropped = course.dropped.trips.iter().map(|trip| (trip, "- "));
    let mut all: Vec<_> = trips.chain(dropped).filter(|(trip, _)| half_days.contains(&trip.at)).collect();
    all.sort_by_key(|(trip, _)| (trip.at, trip.evening));
    let row = |(trip, sign): (&Trip, &str)| {
        [
            day(shop.horizon.half_day(trip.at)),
            moment(shop, trip).to_owned(),
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
    if trip.needs_clear {
        words.push("NEEDS A CLEAR DAY".to_owned());
    }
    words.join(", ")
}
