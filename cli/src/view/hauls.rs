//! A week's hauls, between the half-days in which they happen.

use super::course::{Course, Trip};
use super::table::table;
use super::words::{day, moment, short_crew};

/// The hauls of the given half-days, in the order of time, with a sign where they are new or dropped; `None` where there
/// is none.
pub fn hauls(course: &Course, half_days: std::ops::Range<usize>) -> Option<String> {
    let shop = course.shop;
    let mut rows: Vec<[String; 6]> = Vec::new();
    let (mut day_before, mut when_before) = (String::new(), String::new());
    let trips = course.trips.iter().map(|trip| (trip, if trip.new { "+ " } else { "" }));
    let dropped = course.dropped.trips.iter().map(|trip| (trip, "- "));
    let mut all: Vec<_> = trips.chain(dropped).filter(|(trip, _)| half_days.contains(&trip.at)).collect();
    all.sort_by_key(|(trip, _)| (trip.at, trip.evening));
    for (trip, sign) in all {
        let mut date = day(shop.horizon.half_day(trip.at));
        let mut when = moment(shop, trip).to_owned();
        if date == day_before {
            date.clear();
            if when == when_before {
                when.clear();
            } else {
                when_before.clone_from(&when);
            }
        } else {
            day_before.clone_from(&date);
            when_before.clone_from(&when);
        }
        rows.push([
            date,
            when,
            format!("{sign}{}", shop.units[trip.unit].name),
            format!("{} → {}", shop.places[trip.from].name, shop.places[trip.to].name),
            truck(course, trip),
            if sign == "- " { "dropped".to_owned() } else { remarks(course, trip) },
        ]);
    }
    (!rows.is_empty()).then(|| table(0, &rows, [10, 9, 20, 40, 20, 0]))
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
