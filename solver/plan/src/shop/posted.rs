//! Weights posted on roads: rule H8 as a table by place and half-day.

use yardless_book::half_day::Horizon;
use yardless_book::{Posted, Road};

use super::{PlaceId, Shop, TruckId, UnitId};

/// Freezing, in degrees Fahrenheit.
const FREEZING_F: f64 = 32.0;

/// The least of the weights posted on a road, by half-day index, where the lows of the half-days are these: `None` where none
/// holds. Empty where none ever does.
pub(super) fn limits(
    road: Option<&Road>,
    horizon: Horizon,
    lows_f: impl Iterator<Item = Option<f64>>,
) -> Vec<Option<u32>> {
    let posted = road.map_or(&[][..], |road| &road.posted);
    let least = |(h, low_f): (usize, Option<f64>)| {
        // Hauls of an am are made at its start.
        let frozen = h % 2 == 0 && low_f.is_some_and(|low| low < FREEZING_F);
        let holds = |of: &&Posted| of.on.holds(horizon.date(h)) && !(of.frozen_mornings && frozen);
        posted.iter().filter(holds).map(|of| of.pounds).min()
    };
    let limits: Vec<Option<u32>> = lows_f.enumerate().map(least).collect();
    if limits.iter().all(Option::is_none) { Vec::new() } else { limits }
}

impl Shop {
    /// The weight posted at a place in a half-day, if one is.
    pub fn posted(&self, place: PlaceId, h: usize) -> Option<u32> {
        self.places[place].posted.get(h).copied().flatten()
    }

    /// The least weight posted at either end of a haul, if one is.
    pub fn posted_between(&self, from: PlaceId, to: PlaceId, h: usize) -> Option<u32> {
        let ends = [from, to].map(|place| self.posted(place, h));
        ends.into_iter().flatten().min()
    }

    /// What a truck and a unit weigh together, pounds: as far as that is entered (H7).
    pub fn weigh_together(&self, truck: TruckId, unit: UnitId) -> u32 {
        self.trucks[truck].weight_lb.saturating_add(self.units[unit].weight_lb)
    }

    /// Whether a truck may take a unit where so much is posted (H4, H7, H8).
    pub fn can_take_under(&self, truck: TruckId, unit: UnitId, posted: Option<u32>) -> bool {
        self.can_take(truck, unit) && posted.is_none_or(|most| self.weigh_together(truck, unit) <= most)
    }

    /// Whether a truck may make a haul in a half-day, as far as weights go (H4, H7, H8).
    pub fn can_haul(&self, truck: TruckId, unit: UnitId, (from, to): (PlaceId, PlaceId), h: usize) -> bool {
        self.can_take_under(truck, unit, self.posted_between(from, to, h))
    }

    /// The trucks that may take a unit where so much is posted.
    pub fn takers_under(&self, unit: UnitId, posted: Option<u32>) -> Vec<bool> {
        self.trucks.ids().map(|truck| self.can_take_under(truck, unit, posted)).collect()
    }

    /// The weights that are posted anywhere from now on that keep some truck from a unit which it may take elsewhere; the
    /// least first.
    pub fn posted_weights(&self) -> Vec<u32> {
        let from_now = |place: PlaceId| self.places[place].posted.iter().skip(self.now).flatten().copied();
        let mut weights: Vec<u32> = self.places.ids().flat_map(from_now).collect();
        weights.sort_unstable();
        weights.dedup();
        let binds = |most: &u32| {
            let mut pairs = self.trucks.ids().flat_map(|truck| self.units.ids().map(move |unit| (truck, unit)));
            pairs.any(|(truck, unit)| self.can_take(truck, unit) && self.weigh_together(truck, unit) > *most)
        };
        weights.retain(binds);
        weights
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A posting lies on its dates, and a frozen morning lifts only what says so.
    #[test]
    fn frozen_morning_lifts_a_posting_that_says_so() {
        let posted = |pounds: u32, frozen: bool| {
            serde_json::from_value::<Posted>(
                serde_json::json!({ "on": "12-08/12-09", "pounds": pounds, "frozen_mornings": frozen }),
            )
            .expect("a posting")
        };
        let mut road: Road = serde_json::from_value(serde_json::json!({ "id": "hill" })).expect("a road");
        road.posted = vec![posted(9000, false), posted(8000, true)];
        let monday = chrono::NaiveDate::from_ymd_opt(2026, 12, 7).expect("a date");
        let horizon = Horizon::new(monday, 1).expect("a horizon");
        // Tuesday: 31.9 in the morning and the afternoon; Wednesday: 32 in the morning.
        let lows = [None, None, Some(31.9), Some(31.9), Some(32.0)].into_iter().chain([None; 9]);
        let limits = limits(Some(&road), horizon, lows);
        assert_eq!(limits[..7], [None, None, Some(9000), Some(8000), Some(8000), Some(8000), None]);
    }
}
