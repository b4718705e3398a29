//! Weights posted on the roads that a haul goes by (H8): how near it is, what lets it pass, what is not known.

use std::ops::Range;

use chrono::NaiveDate;
use yardless_book::recurring::Season;
use yardless_book::{Posted, Road, visible};
use yardless_plan::shop::{CrewId, Id, PlaceId, Shop, TruckId};

use super::course::{Course, Trip};
use super::licence::{is_near, pounds};

const CHECK: &str = "as the shop has entered them; of each haul the truck and that unit are reckoned, not what else rides along, and \
    a frozen morning is what is reported of the air, not of the road. Check with whoever posts the road; the driver decides.";

/// What the driver of a haul should know of the weights posted on its way: a few words each.
pub(super) fn marks(shop: &Shop, trip: &Trip) -> Vec<String> {
    let ends = [trip.from, trip.to];
    let weigh = shop.weigh_together(trip.truck, trip.unit);
    let least = ends.into_iter().filter_map(|place| Some((shop.posted(place, trip.at)?, place))).min();
    let lifted = ends.into_iter().filter_map(|place| Some((thawed(shop, place, trip.at)?, place))).min();
    let near = least.filter(|(most, _)| is_near(weigh, *most)).map(|(most, place)| {
        let name = &shop.places[place].name;
        format!("WITHIN 10 % of what is posted at {name}: {} of {} lb", pounds(weigh), pounds(most))
    });
    let frozen = lifted.filter(|(most, _)| weigh > *most).map(|(most, place)| {
        let name = &shop.places[place].name;
        format!("ONLY WHILE FROZEN: {} lb, and {} lb are posted at {name}", pounds(weigh), pounds(most))
    });
    let unknown = least.or(lifted).filter(|_| !is_weighed(shop, trip.truck)).map(|(most, place)| {
        let (name, truck) = (&shop.places[place].name, &shop.trucks[trip.truck].name);
        format!("{} lb are posted at {name}, and the weight of {truck} is not entered", pounds(most))
    });
    near.into_iter().chain(frozen).chain(unknown).collect()
}

fn is_weighed(shop: &Shop, truck: TruckId) -> bool {
    shop.book.trucks[truck.index()].weight_lb.is_some()
}

fn road(shop: &Shop, place: PlaceId) -> Option<&Road> {
    let id = shop.book.places[place.index()].road.as_ref()?;
    shop.book.roads.iter().find(|road| road.id == *id)
}

/// The postings on the road of a place that hold on the date of a half-day, frozen or not.
fn on_date(shop: &Shop, place: PlaceId, h: usize) -> impl Iterator<Item = &Posted> {
    let date = shop.horizon.date(h);
    road(shop, place).into_iter().flat_map(|road| &road.posted).filter(move |posted| posted.on.holds(date))
}

/// The least weight posted there where nothing were frozen, if that is less than what holds.
fn thawed(shop: &Shop, place: PlaceId, h: usize) -> Option<u32> {
    let least = on_date(shop, place, h).map(|posted| posted.pounds).min()?;
    shop.posted(place, h).is_none_or(|holds| least < holds).then_some(least)
}

/// The roads with a posting that some haul goes by in some half-days, as one caution; none where there is none.
pub(super) fn caution(course: &Course, half_days: &Range<usize>, crew: Option<CrewId>) -> Option<[String; 2]> {
    let shop = course.shop;
    let mine = |trip: &&Trip| half_days.contains(&trip.at) && (crew.is_none() || shop.trucks[trip.truck].crew == crew);
    let mut lines: Vec<String> = Vec::new();
    for trip in course.trips.iter().filter(mine) {
        for place in [trip.from, trip.to] {
            for posted in on_date(shop, place, trip.at) {
                let name = shop.places[place].road_name.as_deref().unwrap_or_default();
                let from = posted.source.as_deref().map_or_else(|| "no source entered".to_owned(), visible);
                let frozen = if posted.frozen_mornings { ", more on frozen mornings" } else { "" };
                let line = format!("{name}, {} lb {}{frozen} ({from})", pounds(posted.pounds), season(posted.on));
                if !lines.contains(&line) {
                    lines.push(line);
                }
            }
        }
    }
    (!lines.is_empty()).then(|| ["Posted roads".to_owned(), format!("{}: {CHECK}", lines.join("; "))])
}

/// `1 Mar to 15 May`.
fn season(of: Season) -> String {
    // A leap year, which has every day.
    let day = |(month, day): (u32, u32)| {
        NaiveDate::from_ymd_opt(2028, month, day).map(|date| date.format("%-d %b").to_string()).unwrap_or_default()
    };
    format!("{} to {}", day(of.first), day(of.last))
}
