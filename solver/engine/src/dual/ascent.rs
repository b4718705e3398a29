//! Dual ascent, the search for good prices: steps up the average subgradient, each price at its own pace (Kingma and Ba,
//! "Adam: a method for stochastic optimization", ICLR 2015), the pace falling as the steps go on, large prices faster than
//! small ones.

use yardless_plan::shop::Shop;

use super::relaxation::{Relaxation, Restricted, Solved};
use crate::context::Context;

/// An ascent under way.
#[derive(Clone, Debug)]
pub(crate) struct Ascent {
    /// The best prices so far, in cents.
    pub(crate) prices: Vec<f64>,
    /// Their bound, in cents.
    pub(crate) bound: f64,
    now: Vec<f64>,
    subgradient: Vec<f64>,
    square: Vec<f64>,
    rounds: i32,
}

/// Prices are multiples of 2^-10 cents: of numbers as large as this, nothing finer is kept. They stay below 2^41 cents.
const TO_GRID: f64 = 1.5 * (1_u64 << 42) as f64;
/// How much of the average subgradient, and of its square, each step keeps.
const KEEPS: f64 = 0.9;
const KEEPS_SQUARE: f64 = 0.999;
/// How much faster than the pace a price moves, as a share of the price: most are below a dollar, what keeps a job in
/// the plan may be hundreds.
const OF_PRICE: f64 = 0.03;
/// Subgradients are whole units of work and equipment; much less than one is none.
const LEAST_SUBGRADIENT: f64 = 0.05;

impl Ascent {
    /// From some prices on; none: those that a relaxation begins with.
    pub(crate) fn new(of: &Relaxation, from: Option<&[f64]>) -> Self {
        let now = from.map_or_else(|| of.first_prices(), <[f64]>::to_vec);
        let none = vec![0.0; of.rows()];
        Self { prices: now.clone(), bound: f64::NEG_INFINITY, now, subgradient: none.clone(), square: none, rounds: 0 }
    }

    /// Steps so far.
    pub(crate) fn rounds(&self) -> i32 {
        self.rounds
    }

    /// One step at a pace in cents: what the relaxation was where it came from.
    pub(crate) fn step(&mut self, within: &Restricted<'_>, pace: f64) -> Solved {
        let solved = within.solve(&self.now);
        if solved.bound > self.bound {
            self.bound = solved.bound;
            self.prices.clone_from(&self.now);
        }
        self.rounds += 1;
        let (whole, whole_square) = (1.0 - KEEPS.powi(self.rounds), 1.0 - KEEPS_SQUARE.powi(self.rounds));
        let sides = self.subgradient.iter_mut().zip(&mut self.square);
        for ((price, (subgradient, square)), broken) in self.now.iter_mut().zip(sides).zip(&solved.broken) {
            *subgradient += (1.0 - KEEPS) * (broken - *subgradient);
            *square += (1.0 - KEEPS_SQUARE) * (broken * broken - *square);
            let step = (pace + OF_PRICE * *price) * (*subgradient / whole)
                / ((*square / whole_square).sqrt() + LEAST_SUBGRADIENT);
            // To the nearest multiple, and much quicker than `round`.
            *price = ((*price + step).max(0.0) + TO_GRID) - TO_GRID;
        }
        within.relaxation().cap(&mut self.now);
        solved
    }
}

/// Rounds and paces (cents, first and last) of an ascent.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pace {
    pub(crate) rounds: u32,
    pub(crate) first: f64,
    pub(crate) last: f64,
}

impl Pace {
    /// The pace of a round.
    pub(crate) fn at(self, round: u32) -> f64 {
        self.first * (self.last / self.first).powf(f64::from(round) / f64::from(self.rounds))
    }
}

/// Rounds and paces for all plans. What a job left out costs says how far prices may have to go.
fn paces(shop: &Shop) -> [Pace; 2] {
    let dearest = shop.jobs.iter().map(|job| job.left_out.0).max().unwrap_or(0) as f64;
    let first = Pace { rounds: 300, first: (dearest / 100.0).clamp(300.0, 10_000.0), last: 10.0 };
    [first, Pace { rounds: 2500, first: 300.0, last: 0.5 }]
}

/// Prices for all plans, after so many rounds at each pace, or as long as it goes on from a bound.
pub(crate) fn ascend_for_all(
    shop: &Shop,
    of: &Relaxation,
    rounds: impl Fn(Pace, &Ascent) -> u32,
    goes_on: &mut dyn FnMut(f64) -> bool,
) -> Ascent {
    let all = of.all();
    let within = of.within(&all);
    let mut ascent = Ascent::new(of, None);
    for pace in paces(shop) {
        let pace = Pace { rounds: rounds(pace, &ascent), ..pace };
        for round in 1..=pace.rounds {
            ascent.step(&within, pace.at(round));
            if !goes_on(ascent.bound) {
                return ascent;
            }
        }
    }
    ascent
}

/// The bound of so many rounds at each pace, in cents.
pub(crate) fn bound(shop: &Shop, rounds: u32) -> i64 {
    let of = Relaxation::new(shop, &Context::free());
    ascend_for_all(shop, &of, |pace, _| pace.rounds.min(rounds), &mut |_| true).bound.ceil() as i64
}
