//! What it costs that units stand where they stand: rules C12 and C13 as tables.

use yardless_book::money::Cents;

use super::{PlaceId, Shop, UnitId};

impl Shop {
    /// What a unit costs in a half-day that the shop works, where it stands at a place in it (C12, C13).
    pub fn stand_cost(&self, unit: UnitId, place: PlaceId) -> Cents {
        let facts = &self.units[unit];
        let hire = if facts.hire_place == Some(place) { Cents::ZERO } else { facts.hire_half_day };
        self.place_cost(unit, place) + hire
    }

    /// What a unit costs in a half-day that the shop works, where it is on the road in it, from a place that it left.
    pub fn road_cost(&self, unit: UnitId, left: PlaceId) -> Cents {
        self.place_cost(unit, left) + self.units[unit].hire_half_day
    }

    /// C12 alone.
    fn place_cost(&self, unit: UnitId, place: PlaceId) -> Cents {
        if self.units[unit].towed() { self.places[place].stand_half_day } else { Cents::ZERO }
    }

    /// Whether it costs anything anywhere that a unit stands there (C12, C13, C17, C18).
    pub fn stands_at_a_cost(&self, unit: UnitId) -> bool {
        let facts = &self.units[unit];
        facts.home.is_some()
            || (facts.towed() && !self.clearings.is_empty())
            || self.places.ids().any(|place| self.stand_cost(unit, place) > Cents::ZERO)
    }

    /// The half-days from now on that the shop works, up to an index that is not counted.
    pub fn worked_before(&self, h: usize) -> i64 {
        self.worked_before[h.min(self.len())]
    }
}

/// By index, the horizon's length too: the half-days from now on that the shop works before it.
pub(super) fn worked_before(works: &[bool], now: usize) -> Vec<i64> {
    let mut before = vec![0];
    for (h, works) in works.iter().enumerate() {
        before.push(before[h] + i64::from(*works && h >= now));
    }
    before
}
