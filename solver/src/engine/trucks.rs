//! What the trucks can still haul in each half-day (H4).

use crate::book::Moves;
use crate::shop::{Shop, TruckFacts, UnitId};

/// Truck capacity by half-day (H4): towed hauls at every weight and above, and carried ones.
#[derive(Clone)]
pub(super) struct Trucks {
    weights: Vec<u32>,
    towed: Vec<Vec<(u32, u32)>>,
    carried: Vec<(u32, u32)>,
}

impl Trucks {
    pub(super) fn new(shop: &Shop) -> Self {
        let mut weights: Vec<u32> =
            shop.units.iter().filter(|unit| unit.moves == Moves::Towed).map(|unit| unit.weight_lb).collect();
        weights.sort_unstable();
        weights.dedup();
        let most = |h: usize, moves: Moves, weight: u32| -> u32 {
            let able = |truck: &&TruckFacts| truck.available[h] && (moves == Moves::Carried || truck.tow_lb >= weight);
            shop.trucks.iter().filter(able).map(|truck| truck.capacity(moves)).sum()
        };
        Self {
            towed: (0..shop.len()).map(|h| weights.iter().map(|w| (0, most(h, Moves::Towed, *w))).collect()).collect(),
            carried: (0..shop.len()).map(|h| (0, most(h, Moves::Carried, 0))).collect(),
            weights,
        }
    }

    fn lighter_or_same(&self, weight: u32) -> usize {
        self.weights.partition_point(|w| *w <= weight)
    }

    pub(super) fn has_room(&self, shop: &Shop, unit: UnitId, h: usize) -> bool {
        let facts = &shop.units[unit];
        match facts.moves {
            Moves::Carried => self.carried[h].0 < self.carried[h].1,
            Moves::Towed => {
                self.towed[h][..self.lighter_or_same(facts.weight_lb)].iter().all(|(taken, most)| taken < most)
            }
        }
    }

    pub(super) fn count(&mut self, shop: &Shop, unit: UnitId, h: usize, by: i32) {
        let facts = &shop.units[unit];
        match facts.moves {
            Moves::Carried => self.carried[h].0 = self.carried[h].0.wrapping_add_signed(by),
            Moves::Towed => {
                let n = self.lighter_or_same(facts.weight_lb);
                for (taken, _) in &mut self.towed[h][..n] {
                    *taken = taken.wrapping_add_signed(by);
                }
            }
        }
    }
}
