//! What stands where at a price (C12), what is hired (C13), and in how many half-days nothing needs it there.

use std::collections::BTreeMap;

use yardless_book::money::Cents;
use yardless_plan::shop::{PlaceId, UnitId};

use super::course::{At, Course, UnitState};
use super::words::count;

/// How long something is paid for.
#[derive(Clone, Copy, Default)]
struct Paid {
    half_days: usize,
    /// Those of them in which nothing holds it.
    idle: usize,
}

/// A line a unit and place with a price: for how many half-days, how many of them without need, and what that costs.
pub(super) fn standing(course: &Course) -> Vec<String> {
    let shop = course.shop;
    let line = |unit: UnitId, place: PlaceId, paid: Paid| {
        let price = yardless_plan::cost::standing(shop, unit, place);
        let (name, place) = (&shop.units[unit].name, &shop.places[place].name);
        (price > Cents::ZERO).then(|| format!("{name} at {place}: {}", paid.says(price)))
    };
    let by_place = shop.units.ids().flat_map(|unit| {
        let mut by_place: BTreeMap<PlaceId, Paid> = BTreeMap::new();
        for (place, _, h) in places(course, unit) {
            by_place.entry(place).or_default().add(course, unit, h);
        }
        by_place.into_iter().map(move |(place, paid)| (unit, place, paid))
    });
    by_place.filter_map(|(unit, place, paid)| line(unit, place, paid)).collect()
}

/// A line a hired unit: for how many half-days, how many of them without need, and what that costs.
pub(super) fn hire(course: &Course) -> Vec<String> {
    let shop = course.shop;
    let line = |unit: UnitId| {
        let price = shop.units[unit].hire_half_day;
        let mut paid = Paid::default();
        for (place, stands, h) in places(course, unit) {
            if yardless_plan::cost::hire(shop, unit, Some(place).filter(|_| stands)) > Cents::ZERO {
                paid.add(course, unit, h);
            }
        }
        (paid.half_days > 0).then(|| format!("{}: hired for {}", shop.units[unit].name, paid.says(price)))
    };
    shop.units.ids().filter_map(line).collect()
}

/// Where a unit stands in each half-day from now on that the shop works; on the road the place that it left.
/// Whether it stands there, and the half-day.
fn places<'c>(course: &'c Course, unit: UnitId) -> impl Iterator<Item = (PlaceId, bool, usize)> + 'c {
    let shop = course.shop;
    let mut last = shop.units[unit].place;
    let places = course.standing[unit].iter().enumerate().map(move |(h, at)| {
        let stands = if let At::Place(place) = at {
            last = *place;
            true
        } else {
            false
        };
        (last, stands, h)
    });
    places.filter(|(.., h)| *h >= shop.now && shop.works[*h])
}

impl Paid {
    fn add(&mut self, course: &Course, unit: UnitId, h: usize) {
        self.half_days += 1;
        self.idle += usize::from(course.unit_state(unit, h) != UnitState::Held);
    }

    /// `6 half-days at $10.00, 2 of them without need ($60.00)`.
    fn says(self, price: Cents) -> String {
        let half_days = count(self.half_days, "half-day", "half-days");
        let idle = match self.idle {
            0 => String::new(),
            all if all == self.half_days => ", without need".to_owned(),
            some => format!(", {some} of them without need"),
        };
        format!("{half_days} at ${price}{idle} (${})", price * self.half_days as i64)
    }
}
