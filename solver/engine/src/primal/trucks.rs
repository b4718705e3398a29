//! What the trucks can still haul in each half-day (H4).

use yardless_book::Moves;
use yardless_plan::shop::{CrewId, Id, Shop, TruckFacts, UnitId};

use super::half_days::{HalfDaySets, HalfDays};

/// Truck capacity by half-day (H4): towed hauls at every weight and above, and carried ones. The trucks of a crew that
/// works in overtime are there as long as it does ([`Trucks::come`], W9).
#[derive(Clone)]
pub(crate) struct Trucks {
    /// Half-days.
    len: usize,
    /// What is hauled: towed units of each weight, lightest first, and carried ones.
    kinds: Vec<(Moves, u32)>,
    /// What each unit loads: so many of the weights, lightest first; none for carried ones.
    loads: Vec<usize>,
    /// Hauls that can still be made, by weight and half-day; carried ones come last.
    left: Vec<i32>,
    /// The half-days in which a unit of each weight still finds a truck; carried ones come last.
    free: HalfDaySets,
}

impl Trucks {
    pub(crate) fn new(shop: &Shop) -> Self {
        let towed = |unit: &&yardless_plan::shop::UnitFacts| unit.moves == Moves::Towed;
        let mut weights: Vec<u32> = shop.units.iter().filter(towed).map(|unit| unit.weight_lb).collect();
        weights.sort_unstable();
        weights.dedup();
        let kinds: Vec<(Moves, u32)> =
            weights.iter().map(|weight| (Moves::Towed, *weight)).chain([(Moves::Carried, 0)]).collect();
        let most = |h: usize, kind: (Moves, u32)| capacity(shop, kind, |truck| truck.available[h]);
        let mut trucks = Self {
            len: shop.len(),
            loads: shop
                .units
                .iter()
                .map(|unit| match unit.moves {
                    Moves::Carried => 0,
                    Moves::Towed => weights.partition_point(|weight| *weight <= unit.weight_lb),
                })
                .collect(),
            left: kinds.iter().flat_map(|kind| (0..shop.len()).map(move |h| most(h, *kind))).collect(),
            free: HalfDaySets::new(weights.len() + 1, shop.len()),
            kinds,
        };
        for h in 0..shop.len() {
            trucks.find_free(h);
        }
        trucks
    }

    fn carried(&self) -> usize {
        self.left.len() / self.len - 1
    }

    /// A unit needs a truck left at its own weight and at every lighter one.
    fn find_free(&mut self, h: usize) {
        let carried = self.carried();
        let mut free = true;
        for weight in 0..carried {
            free &= self.left[weight * self.len + h] > 0;
            self.free.put(weight, h, free);
        }
        self.free.put(carried, h, self.left[carried * self.len + h] > 0);
    }

    /// The half-days in which a haul of the unit still finds a truck.
    pub(crate) fn free(&self, unit: UnitId) -> HalfDays<'_> {
        self.free.row(self.loads[unit.index()].checked_sub(1).unwrap_or_else(|| self.carried()))
    }

    /// Takes so many hauls of the unit in a half-day, or gives them back.
    pub(crate) fn count(&mut self, unit: UnitId, h: usize, by: i32) {
        match self.loads[unit.index()] {
            0 => {
                let carried = self.carried();
                self.left[carried * self.len + h] -= by;
            }
            weights => {
                for weight in 0..weights {
                    self.left[weight * self.len + h] -= by;
                }
            }
        }
        self.find_free(h);
    }

    /// The trucks of a crew come in a half-day of overtime in which it works, or go again.
    pub(crate) fn come(&mut self, shop: &Shop, crew: CrewId, h: usize, come: bool) {
        for (kind, more) in self.kinds.iter().enumerate() {
            let more = capacity(shop, *more, |truck| truck.crew == Some(crew) && truck.in_overtime[h]);
            self.left[kind * self.len + h] += if come { more } else { -more };
        }
        self.find_free(h);
    }

    /// A half-day in which more is hauled than the trucks there can.
    pub(crate) fn short(&self) -> Option<usize> {
        self.left.iter().position(|left| *left < 0).map(|i| i % self.len)
    }
}

/// What some trucks haul in a half-day of units that move so, or of that weight and above.
fn capacity(shop: &Shop, (moves, weight): (Moves, u32), of: impl Fn(&TruckFacts) -> bool) -> i32 {
    let able = |truck: &&TruckFacts| of(truck) && (moves == Moves::Carried || truck.tow_lb >= weight);
    shop.trucks.iter().filter(able).map(|truck| truck.capacity(moves) as i32).sum()
}
