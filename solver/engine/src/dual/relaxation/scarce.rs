//! What is scarce on the way: trucks in a half-day (H4), and spots for trailers at a place (E6).
//!
//! ```text
//! truck   hauls in k of towed units of w lb and more     <= what the trucks make that tow w      each weight w that a pool has
//! truck   hauls in k of carried units                    <= what the trucks carry
//! spot    towed units that stand at P in k               <= trailer spots of P
//! ```
//!
//! The paths of units pay for them: a haul in k what its weight and all below it cost then, a unit what standing at P in k
//! costs. The dynamic programs of the paths stay what they are. Nested as they are, the rows `truck` are Hall's condition,
//! so that no plan breaks one; in overtime all trucks count that may come. Rows that no units can break are left out.

use yardless_book::Moves;
use yardless_plan::shop::{Shop, TruckFacts};

use super::path::UnitSubproblem;
use crate::model::{Spot, UnitPool};

/// The rows `truck` and `spot`, family by family.
#[derive(Clone, Debug, Default)]
pub(super) struct ScarceRows {
    /// By family and tick.
    limits: Vec<Vec<f64>>,
    /// By pool: the families that its hauls count in.
    hauls: Vec<Vec<usize>>,
    /// By pool and spot: the family that standing there counts in.
    stands: Vec<Vec<Option<usize>>>,
}

impl ScarceRows {
    pub(super) fn new(shop: &Shop, ticks: &[usize], pools: &[UnitSubproblem]) -> Self {
        let mut rows = Self {
            limits: Vec::new(),
            hauls: vec![Vec::new(); pools.len()],
            stands: pools.iter().map(|pool| vec![None; pool.spots()]).collect(),
        };
        rows.trucks(shop, ticks, pools);
        rows.spots(shop, ticks.len(), pools);
        rows
    }

    fn trucks(&mut self, shop: &Shop, ticks: &[usize], pools: &[UnitSubproblem]) {
        let kind = |of: &UnitPool| (of.moves, if of.moves == Moves::Towed { of.weight_lb } else { 0 });
        let mut kinds: Vec<(Moves, u32)> = pools.iter().map(|pool| kind(&pool.of)).collect();
        kinds.sort_unstable_by_key(|(moves, weight)| (*moves == Moves::Towed, *weight));
        kinds.dedup();
        for (moves, weight) in kinds {
            let counts = |pool: &UnitSubproblem| pool.of.moves == moves && kind(&pool.of).1 >= weight;
            let able = |truck: &&TruckFacts| moves == Moves::Carried || truck.tow_lb >= weight;
            let most = |h: &usize| {
                let trucks = shop.trucks.iter().filter(able).filter(|truck| truck.may_come(*h));
                f64::from(trucks.map(|truck| truck.capacity(moves)).sum::<u32>())
            };
            let most: Vec<f64> = ticks.iter().map(most).collect();
            let units: usize = pools.iter().filter(|pool| counts(pool)).map(|pool| pool.of.units.len()).sum();
            if most.iter().all(|most| *most >= units as f64) {
                continue;
            }
            for (hauls, _) in self.hauls.iter_mut().zip(pools).filter(|(_, pool)| counts(pool)) {
                hauls.push(self.limits.len());
            }
            self.limits.push(most);
        }
    }

    fn spots(&mut self, shop: &Shop, ticks: usize, pools: &[UnitSubproblem]) {
        let towed = |pool: &&UnitSubproblem| pool.of.moves == Moves::Towed;
        for place in shop.places.ids() {
            let Some(spots) = shop.places[place].spots else { continue };
            let here = |pool: &UnitSubproblem| pool.of.spots.iter().position(|spot| *spot == Spot::At(place));
            let units = pools.iter().filter(towed).filter(|pool| here(pool).is_some()).map(|pool| pool.of.units.len());
            if units.sum::<usize>() <= spots {
                continue;
            }
            for (stands, pool) in self.stands.iter_mut().zip(pools).filter(|(_, pool)| towed(pool)) {
                if let Some(spot) = here(pool) {
                    stands[spot] = Some(self.limits.len());
                }
            }
            self.limits.push(vec![spots as f64; ticks]);
        }
    }

    /// How many families there are.
    pub(super) fn families(&self) -> usize {
        self.limits.len()
    }

    /// What all of it together costs at some prices, and what it leaves.
    pub(super) fn all(&self, prices: &[f64], broken: &mut [f64]) -> f64 {
        let most = self.limits.iter().flatten();
        let mut cents = 0.0;
        for ((most, price), broken) in most.zip(prices).zip(broken) {
            cents += price * most;
            *broken -= most;
        }
        cents
    }

    /// What a haul by a unit of a pool costs besides, by tick; nothing where no row counts it.
    pub(super) fn haul_prices(&self, pool: usize, ticks: usize, prices: &[f64]) -> Vec<f64> {
        let mut sum = vec![0.0; if self.hauls[pool].is_empty() { 0 } else { ticks }];
        for family in &self.hauls[pool] {
            sum.iter_mut().zip(&prices[family * ticks..]).for_each(|(sum, price)| *sum += price);
        }
        sum
    }

    /// The families that hauls of a pool count in.
    pub(super) fn of_hauls(&self, pool: usize) -> &[usize] {
        &self.hauls[pool]
    }

    /// By spot of a pool, the family that standing there counts in.
    pub(super) fn of_stands(&self, pool: usize) -> &[Option<usize>] {
        &self.stands[pool]
    }
}
