//! The search for good prices: steps up the average slope, each price at its own pace (Kingma and Ba, "Adam: a method
//! for stochastic optimization", ICLR 2015), the pace falling as the steps go on, large prices faster than small ones.

use super::{Relaxation, Solved, Within};

/// Prices under way.
#[derive(Clone, Debug)]
pub(crate) struct Ascent {
    /// The best prices so far, in cents.
    pub(crate) prices: Vec<f64>,
    /// Their bound, in cents.
    pub(crate) bound: f64,
    now: Vec<f64>,
    slope: Vec<f64>,
    square: Vec<f64>,
    rounds: i32,
}

/// Prices are multiples of 2^-10 cents: of numbers as large as this, nothing finer is kept. They stay below 2^41 cents.
const TO_GRID: f64 = 1.5 * (1_u64 << 42) as f64;
/// How much of the average slope, and of its square, each step keeps.
const KEEPS: f64 = 0.9;
const KEEPS_SQUARE: f64 = 0.999;
/// How much faster than the pace a price moves, as a share of the price: most are below a dollar, what keeps a job in
/// the plan may be hundreds.
const OF_PRICE: f64 = 0.03;
/// Slopes are whole units of work and equipment; much less than one is none.
const LEAST_SLOPE: f64 = 0.05;

impl Ascent {
    /// From some prices on; none: all 0.
    pub(crate) fn new(of: &Relaxation, from: Option<&[f64]>) -> Self {
        let now = from.map_or_else(|| vec![0.0; of.rows()], <[f64]>::to_vec);
        let none = vec![0.0; of.rows()];
        Self { prices: now.clone(), bound: f64::NEG_INFINITY, now, slope: none.clone(), square: none, rounds: 0 }
    }

    /// Steps so far.
    pub(crate) fn rounds(&self) -> i32 {
        self.rounds
    }

    /// One step at a pace in cents: what the relaxation was where it came from.
    pub(crate) fn step(&mut self, within: &Within<'_>, pace: f64) -> Solved {
        let solved = within.solve(&self.now);
        if solved.bound > self.bound {
            self.bound = solved.bound;
            self.prices.clone_from(&self.now);
        }
        self.rounds += 1;
        let (whole, whole_square) = (1.0 - KEEPS.powi(self.rounds), 1.0 - KEEPS_SQUARE.powi(self.rounds));
        let sides = self.slope.iter_mut().zip(&mut self.square);
        for ((price, (slope, square)), broken) in self.now.iter_mut().zip(sides).zip(&solved.broken) {
            *slope += (1.0 - KEEPS) * (broken - *slope);
            *square += (1.0 - KEEPS_SQUARE) * (broken * broken - *square);
            let step = (pace + OF_PRICE * *price) * (*slope / whole) / ((*square / whole_square).sqrt() + LEAST_SLOPE);
            // To the nearest multiple, and much quicker than `round`.
            *price = ((*price + step).max(0.0) + TO_GRID) - TO_GRID;
        }
        solved
    }
}
