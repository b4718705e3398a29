//! The search for good prices: a step along an average of the broken rows, as long as the best plan leaves room for.

use super::{Relaxation, Solved};

/// Prices under way, and the best bound so far.
#[derive(Clone, Debug)]
pub(in crate::engine) struct Ascent {
    pub(in crate::engine) prices: Vec<f64>,
    pub(in crate::engine) bound: f64,
    average: Vec<f64>,
    length: f64,
    since: u32,
    rounds: u64,
}

impl Ascent {
    pub(in crate::engine) fn new(of: &Relaxation) -> Self {
        let prices = vec![0.0; of.rows()];
        let Solved { bound, broken } = of.solve(&prices);
        Self { prices, bound, average: broken, length: 0.5, since: 0, rounds: 0 }
    }

    /// One step, towards a cost that some plan has: whether the bound rose.
    pub(in crate::engine) fn step(&mut self, of: &Relaxation, target: f64) -> bool {
        self.rounds += 1;
        let square: f64 =
            self.average.iter().zip(&self.prices).filter(|(a, p)| **a > 0.0 || **p > 0.0).map(|(a, _)| a * a).sum();
        if square == 0.0 {
            return false;
        }
        let step = self.length * (target - self.bound).max(1.0) / square;
        let trial: Vec<f64> =
            self.prices.iter().zip(&self.average).map(|(p, a)| ((p + step * a).max(0.0) * GRID).round() / GRID).collect();
        let solved = of.solve(&trial);
        let along: f64 = solved.broken.iter().zip(&self.average).map(|(b, a)| a * b).sum();
        for (a, b) in self.average.iter_mut().zip(&solved.broken) {
            *a += SHARE * (b - *a);
        }
        if solved.bound > self.bound {
            if along > 0.0 {
                self.length = (self.length * 1.1).min(2.0);
            }
            (self.bound, self.prices, self.since) = (solved.bound, trial, 0);
            return true;
        }
        self.since += 1;
        if self.since >= PATIENCE {
            self.length = (self.length * 0.7).max(1e-4);
            self.since = 0;
        }
        false
    }
}

/// Prices are multiples of 1 / GRID cents.
const GRID: f64 = 1024.0;
const SHARE: f64 = 0.1;
const PATIENCE: u32 = 10;
