//! Where the rows of the relaxation are among the prices, family after family.

use super::Relaxation;
use super::rounds::{CrewRounds, RoundRows};

impl Relaxation {
    pub(super) fn serve_rows(&mut self) {
        for (p, pool) in self.pools.iter_mut().enumerate() {
            for (row, wanted) in self.wanted.iter().enumerate() {
                for (_, spot) in wanted.able.iter().filter(|(of, _)| *of == p) {
                    pool.serves[*spot].push(row);
                }
            }
        }
    }

    pub(super) fn place_rows(&mut self) {
        let k = self.ticks.len();
        self.come = self.hold + self.holds * k;
        self.stay = self.come + self.wanted.len() * k;
        self.order = self.stay + self.wanted.len() * k;
        self.time = self.order + self.priced.len() * k;
        self.reserve = self.time + self.short.len();
        self.visit = self.reserve + self.reserves.len();
        self.touch = self.visit + self.visits * k;
        self.scarce_rows = self.touch + self.touches * self.dates();
        self.rows = self.scarce_rows + self.scarce.families() * k;
    }

    /// The dates that rounds are driven on.
    pub(super) fn dates(&self) -> usize {
        self.rounds.first().map_or(0, CrewRounds::dates)
    }

    pub(super) fn round_rows(&self) -> RoundRows {
        RoundRows { visit: self.visit, ticks: self.ticks.len(), touch: self.touch, dates: self.dates() }
    }

    /// Takes prices down to what they may be at most: a reserve's to what a half-day short costs.
    pub(crate) fn cap(&self, prices: &mut [f64]) {
        for price in &mut prices[self.reserve..self.visit] {
            *price = price.min(self.reserve_price);
        }
    }

    /// Prices to begin with: none, but for what a crew's work somewhere costs in drives at least (C15).
    pub(crate) fn first_prices(&self) -> Vec<f64> {
        let mut prices = vec![0.0; self.rows];
        let k = self.ticks.len();
        for rounds in &self.rounds {
            rounds.begin(|family, tick, price| prices[self.visit + family * k + tick] = price);
        }
        prices
    }

    /// From changes by tick to what is broken in each.
    pub(super) fn add_up(&self, broken: &mut [f64]) {
        let k = self.ticks.len();
        // What has come or ended counts from its tick on: broken held the changes so far.
        for first in (self.come..self.stay).chain(self.order..self.time).step_by(k.max(1)) {
            for row in first + 1..first + k {
                broken[row] += broken[row - 1];
            }
        }
        // What is held until a tick, or comes after it, counts for the ticks before.
        for first in (self.stay..self.order).step_by(k.max(1)) {
            for row in (first..first + k - 1).rev() {
                broken[row] += broken[row + 1];
            }
        }
    }
}
