//! What came of planning one book, whoever planned it.

use serde::{Deserialize, Serialize};

/// What was known from some time on. Amounts in cents.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct Sample {
    /// Since the planner began to read the book.
    pub seconds: f64,
    pub cost: i64,
    pub bound: Option<i64>,
}

#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct BenchRun {
    /// In the order of time; only plans that hold.
    pub samples: Vec<Sample>,
    /// Seconds to the first plan that does any job; where none ever does, to the first plan.
    pub first: Option<f64>,
    /// Seconds to the end.
    pub ended: f64,
    /// Cents for the jobs that no plan does and that the last plan leaves out (C2).
    pub impossible: i64,
    /// The most memory ever held, in MB; `None` where the system does not tell.
    pub mb: Option<u64>,
    /// Why it ended.
    pub stopped: String,
    /// What is wrong with plans, one a line.
    pub breaches: Vec<String>,
}

impl BenchRun {
    /// What was known by a time in seconds.
    pub fn by(&self, seconds: f64) -> Option<Sample> {
        self.samples.iter().rev().find(|sample| sample.seconds <= seconds).copied()
    }
    pub fn end(&self) -> Option<Sample> {
        self.samples.last().copied()
    }
    pub fn holds(&self) -> bool {
        self.breaches.is_empty() && !self.samples.is_empty()
    }
    pub fn proven(&self) -> bool {
        self.end().is_some_and(|end| end.bound == Some(end.cost))
    }
    /// The gap by a time in percent of the cost; 100 without plan or bound.
    pub fn gap(&self, seconds: f64) -> f64 {
        self.by(seconds).map_or(100.0, |sample| percent(sample.cost, sample.bound.unwrap_or(0)))
    }
    /// The gap in the end when the jobs that no plan does cost nothing: never less than the plain one.
    pub fn gap_of_possible(&self) -> f64 {
        self.end().map_or(100.0, |end| {
            let bound = (end.bound.unwrap_or(0) - self.impossible).max(0);
            percent(end.cost - self.impossible, bound)
        })
    }
    /// Whether somebody's plan costs less than what no plan should cost less than.
    pub fn bound_is_refuted_by(&self, other: &Self) -> bool {
        let bound = self.end().and_then(|end| end.bound);
        bound.zip(other.end()).is_some_and(|(bound, end)| end.cost < bound)
    }
}

fn percent(cost: i64, bound: i64) -> f64 {
    if cost == 0 { 0.0 } else { 100.0 * (cost - bound) as f64 / cost as f64 }
}

/// The middle one, or half-way between the middle two; `None` of nothing.
pub fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let upper = *values.get(values.len() / 2)?;
    let lower = values[(values.len() - 1) / 2];
    Some(if lower.total_cmp(&upper).is_eq() { upper } else { f64::midpoint(lower, upper) })
}
