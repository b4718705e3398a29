//! How much more or less than the book says a step may take: three points and the beta distribution between them.
//!
//! The three-point estimate is that of PERT: D. G. Malcolm, J. H. Roseboom, C. E. Clark and W. Fazar, "Application of a
//! technique for research and development program evaluation", Operations Research 7(5), 1959 (cited from memory). Drawn
//! is the beta distribution with the same mean that has its mode at the likely point (`rand_distr::Pert`); the variance
//! of that is near PERT's ((high - low) / 6)^2, not the same.

use rand::Rng;
use rand_distr::{Distribution, Pert};

/// A distribution of factors by which a step's amount of work is more or less than the book says.
#[derive(Clone, Debug)]
pub enum Spread {
    /// Always this.
    Always(f64),
    /// Between low and high, most often near the likely point.
    Beta(Pert<f64>),
}

impl Spread {
    /// From low, likely and high, in this order.
    pub fn new(low: f64, likely: f64, high: f64) -> Self {
        Pert::new(low, high).with_mode(likely).map_or(Self::Always(likely), Self::Beta)
    }

    /// A factor.
    pub fn draw(&self, rng: &mut impl Rng) -> f64 {
        match self {
            Self::Always(factor) => *factor,
            Self::Beta(pert) => pert.sample(rng),
        }
    }
}

/// PERT's mean and variance of three points: (low + 4 likely + high) / 6 and ((high - low) / 6)^2.
pub fn mean_and_variance(low: f64, likely: f64, high: f64) -> (f64, f64) {
    ((low + 4.0 * likely + high) / 6.0, ((high - low) / 6.0).powi(2))
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;

    use super::*;

    #[test]
    fn draws_have_the_mean_of_their_three_points_and_stay_between_them() {
        let mut rng = rand::rngs::ChaCha8Rng::seed_from_u64(1);
        for (low, likely, high) in [(0.8, 1.0, 1.6), (0.5, 1.2, 1.3), (1.0, 1.0, 2.0), (1.0, 1.0, 1.0)] {
            let spread = Spread::new(low, likely, high);
            let draws: Vec<f64> = (0..100_000).map(|_| spread.draw(&mut rng)).collect();
            assert!(draws.iter().all(|factor| (low..=high).contains(factor)));
            let mean = draws.iter().sum::<f64>() / draws.len() as f64;
            // Five standard errors: the deviation is below half the width, and a beta's mean over a hundred thousand draws.
            let (exact, _) = mean_and_variance(low, likely, high);
            assert!((mean - exact).abs() <= 5.0 * (high - low) / 2.0 / 316.0 + 1e-12, "{mean} {exact}");
        }
    }

    #[test]
    fn pert_agrees_with_the_worked_examples() {
        // Three points to mean and variance, as a published project-scheduling reference page works them out.
        let examples = [
            ((2.0, 5.0, 8.0), (5.0, 1.0)),
            ((1.0, 2.0, 9.0), (3.0, 1.7778)),
            ((0.25, 0.5, 3.75), (1.0, 0.3403)),
            ((1.0, 1.0, 7.0), (2.0, 1.0)),
            ((1.0, 3.0, 11.0), (4.0, 2.7778)),
        ];
        for ((low, likely, high), (mean, variance)) in examples {
            let (m, v) = mean_and_variance(low, likely, high);
            assert!((m - mean).abs() < 1e-9 && (v - variance).abs() < 5e-5, "{low} {likely} {high}: {m} {v}");
        }
    }
}
