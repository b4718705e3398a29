//! Facts of the book that hold a job back, in words.

use yardless_answer::why::Lift;
use yardless_book::{Report, RoadReport, Weather, When};

use super::names::Names;

/// A fact that a what-if did without.
pub(super) fn says(names: &Names, lift: &Lift) -> String {
    let shop = names.shop;
    let book = &shop.book;
    let ranges = |ranges: &[When], k: usize| ranges.get(k).map_or(String::new(), |when| names.when(*when));
    match lift {
        Lift::Weather(n) => book.weather.get(*n).map_or(String::new(), |entry| weather(names, entry)),
        Lift::Season(id) => format!("the time of the year in which no trailer goes on {}", shop.road_name(id)),
        Lift::Posted(id) => format!("the weights posted on {}", shop.road_name(id)),
        Lift::UnitOut(id, k) => {
            let out = book.equipment.iter().find(|unit| unit.id == *id).map_or(&[][..], |unit| &unit.out);
            format!("{} is out {}", shop.unit_name(id), ranges(out, *k))
        }
        Lift::TruckOut(id, k) => {
            let out = book.trucks.iter().find(|truck| truck.id == *id).map_or(&[][..], |truck| &truck.out);
            format!("{} is out {}", shop.truck_name(id), ranges(out, *k))
        }
        Lift::Away(id, k) => {
            let away = book.crews.iter().find(|crew| crew.id == *id).and_then(|crew| crew.away.get(*k));
            let on = away.map_or(String::new(), |away| names.when(away.when()));
            match away.and_then(|away| away.people) {
                Some(people) => format!("{people} of {} away {on}", shop.crew_name(id)),
                None => format!("{} is away {on}", shop.crew_name(id)),
            }
        }
        Lift::Only(id) => format!("{} works only at its own times", shop.crew_name(id)),
        Lift::Closed(k) => format!("the shop is closed {}", ranges(&book.shop.closed, *k)),
        Lift::Access(id) => format!("the dates of {} (earliest, no access)", shop.job_name(id)),
        Lift::Fixed(id) => format!("what is fixed of {}", shop.job_name(id)),
        Lift::Job(id) => format!("the work on {}", shop.job_name(id)),
        Lift::Units(kind) => {
            let owned = book.equipment.iter().filter(|unit| unit.kinds.contains(kind)).count();
            let name = shop.kind_name(kind);
            format!("there {} {owned} {name}", if owned == 1 { "is only" } else { "are only" })
        }
        Lift::Crews(skill) => {
            let names: Vec<String> =
                shop.crews.iter().filter(|crew| crew.skills.contains(skill)).map(|crew| crew.name.clone()).collect();
            format!("only {} can do {skill}", names.join(", "))
        }
        Lift::Spots(id) => {
            let spots = book.places.iter().find(|of| of.id == *id).and_then(|of| of.trailer_spots).unwrap_or(0);
            format!("{} has spots for {spots} trailers", shop.place_name(id))
        }
        Lift::Trucks => "the trucks can haul no more".to_owned(),
    }
}

fn weather(names: &Names, entry: &Weather) -> String {
    let said = |report: Report<bool>| report == Report::Said(true);
    let mut what: Vec<String> = Vec::new();
    if said(entry.no_travel) {
        what.push("no travel".to_owned());
    }
    if said(entry.storm) {
        what.push("a storm".to_owned());
    }
    if entry.roads == Report::Said(RoadReport::Covered) {
        what.push("covered roads".to_owned());
    }
    if let Report::Said(gust) = entry.gust_mph {
        what.push(format!("gusts of {gust} mph"));
    }
    if let Report::Said(low) = entry.low_f {
        what.push(format!("a low of {low} °F"));
    }
    if let Report::Said(high) = entry.high_f {
        what.push(format!("a high of {high} °F"));
    }
    if said(entry.rain) {
        what.push("rain".to_owned());
    }
    let at = entry.at.as_ref().map_or(String::new(), |at| {
        format!(" at {}", at.iter().map(|id| names.shop.place_name(id)).collect::<Vec<_>>().join(", "))
    });
    format!("{} {}{at}", what.join(" and "), names.when(entry.when()))
}
