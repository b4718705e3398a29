//! The prices that still agree with what was answered: points spread evenly over the range, of which each answer keeps
//! those at which the plan that was chosen costs less.

/// How far a price may be from what it is in the book: eight times as much, or an eighth.
pub const WIDEST: f64 = 8.0;
/// Points over the range.
const POINTS: usize = 2048;

/// How much more one plan costs than another, by the factors of the matters.
#[derive(Clone, Debug, PartialEq)]
pub struct Trade {
    /// At the prices of the book, in cents.
    pub now: f64,
    /// How much of that each matter is, by its position.
    pub by: Vec<(usize, f64)>,
}

impl Trade {
    /// At other prices: `factors` times those of the book.
    fn at(&self, factors: &[f64]) -> f64 {
        self.now + self.by.iter().map(|(matter, part)| (factors[*matter] - 1.0) * part).sum::<f64>()
    }
}

/// The range of the matters' prices, as factors of those of the book.
#[derive(Clone, Debug)]
pub struct Range {
    points: Vec<Vec<f64>>,
}

impl Range {
    /// The whole range of so many matters.
    ///
    /// The points are a Kronecker sequence: the n-th has frac(1/2 + n a^j) at the matter j, a = 1 / g and g the root of
    /// g^(d + 1) = g + 1. Of each matter they are then set apart evenly, in the order that they have, as a Latin hypercube
    /// (McKay, Beckman and Conover, Technometrics 21, 1979): no matter's range is covered less well for there being more
    /// matters. Same book, same questions.
    pub fn whole(matters: usize) -> Self {
        let power = matters as i32 + 1;
        let mut root = 2.0_f64;
        for _ in 0..64 {
            root = (1.0 + root).powf(1.0 / f64::from(power));
        }
        // Of each matter, the factor of each point.
        let of_matter = |matter: usize| {
            let step = root.powi(-(matter as i32 + 1));
            let spread = |n: usize| (0.5 + (n + 1) as f64 * step).fract();
            let mut order: Vec<usize> = (0..POINTS).collect();
            order.sort_by(|one, other| spread(*one).total_cmp(&spread(*other)));
            let mut factors = vec![1.0; POINTS];
            for (rank, n) in order.into_iter().enumerate() {
                factors[n] = WIDEST.powf((2 * rank + 1) as f64 / POINTS as f64 - 1.0);
            }
            factors
        };
        let of_matters: Vec<Vec<f64>> = (0..matters).map(of_matter).collect();
        let points = (0..POINTS).map(|n| of_matters.iter().map(|factors| factors[n]).collect()).collect();
        Self { points }
    }

    /// The share of the range in which the first plan of a trade costs less; 0 where it always costs as much.
    pub fn share(&self, trade: &Trade) -> f64 {
        let less = self.points.iter().filter(|point| trade.at(point) < 0.0).count();
        less as f64 / self.points.len().max(1) as f64
    }

    /// The range in which the plan that was chosen costs less; as it was where there is none such.
    pub fn cut(&mut self, trade: &Trade, first: bool) {
        let agrees = |point: &&Vec<f64>| (trade.at(point) < 0.0) == first;
        let kept: Vec<Vec<f64>> = self.points.iter().filter(agrees).cloned().collect();
        if !kept.is_empty() {
            self.points = kept;
        }
    }

    /// The least factor of a matter, its middle (the mean of the logarithms), and the most.
    pub fn of(&self, matter: usize) -> (f64, f64, f64) {
        let all = || self.points.iter().map(|point| point[matter]);
        let middle = all().map(f64::ln).sum::<f64>() / self.points.len().max(1) as f64;
        (all().fold(f64::INFINITY, f64::min), middle.exp(), all().fold(0.0, f64::max))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_are_even_over_the_range_whatever_the_number_of_matters() {
        for matters in [1, 2, 5, 11] {
            let range = Range::whole(matters);
            for matter in 0..matters {
                let (least, middle, most) = range.of(matter);
                // Half a point's share of the range is left at either end, and as much lies above the middle as below.
                let end = WIDEST.powf(1.0 / 2048.0);
                assert!((middle - 1.0).abs() < 1e-9, "{matters} {matter}: {middle}");
                assert!((least * WIDEST - end).abs() < 1e-9 && (WIDEST / most - end).abs() < 1e-9, "{least} to {most}");
            }
        }
        // Two matters of equal weight: whichever the price of the first is, the second is above it as often as below.
        let even = Trade { now: 0.0, by: vec![(0, 100.0), (3, -100.0)] };
        assert!((Range::whole(5).share(&even) - 0.5).abs() < 0.02);
    }

    #[test]
    fn answer_keeps_the_half_in_which_the_chosen_plan_costs_less() {
        let mut range = Range::whole(2);
        // The first plan has a day late more, the other three hauls of half a day's price: even where the day costs 1.5.
        let trade = Trade { now: -50.0, by: vec![(0, 100.0)] };
        let share = range.share(&trade);
        // ln(1.5 * 8) / ln(64) of the range lies below.
        assert!((share - (12.0_f64.ln() / 64.0_f64.ln())).abs() < 0.01, "{share}");
        range.cut(&trade, false);
        let (least, middle, most) = range.of(0);
        assert!(least >= 1.5 && most > 7.8 && (middle - (1.5_f64 * 8.0).sqrt()).abs() < 0.1, "{least} {middle} {most}");
        let (least, _, most) = range.of(1);
        assert!(least < 0.13 && most > 7.8, "the other is not touched");
        // What nothing agrees with changes nothing.
        let before = range.points.clone();
        range.cut(&trade, true);
        assert!(range.points == before);
    }
}
