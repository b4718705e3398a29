//! How long a search goes on, why it ends, and what it tells on the way.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use yardless_book::money::Cents;

/// How long and how hard to search: the engine's only clock, and its only way to be stopped.
#[derive(Clone, Debug)]
pub struct Limits {
    /// Stop by then. `None`: no deadline.
    pub deadline: Option<Instant>,
    /// A budget of work instead of time, in rounds of the search: same book, seed and steps give the same plan.
    /// `None`: no budget.
    pub steps: Option<u64>,
    /// Stop when the plan is proven to be within this share of the best, 0 to 1: (cost - bound) / cost, the cost of
    /// jobs left out of both that no plan can do. Default 0.
    pub gap: f64,
    /// Stop, too, once no plan can cost so little, in cents: it would not be worth while. `None`: whatever it costs.
    pub aim: Option<i64>,
    /// The seed of the search.
    pub seed: u64,
    /// Set it to stop with the best plan so far.
    pub cancel: Arc<AtomicBool>,
}

impl Limits {
    /// Seconds from now.
    pub fn seconds(seconds: f64) -> Self {
        let deadline =
            Duration::try_from_secs_f64(seconds).ok().and_then(|seconds| Instant::now().checked_add(seconds));
        Self { deadline, ..Self::none() }
    }
    /// A budget of work.
    pub fn steps(steps: u64) -> Self {
        Self { steps: Some(steps), ..Self::none() }
    }
    /// Neither deadline nor budget.
    pub(crate) fn none() -> Self {
        Self { deadline: None, steps: None, gap: 0.0, aim: None, seed: 1, cancel: Arc::default() }
    }
    /// What stops the search now, if anything does.
    pub(crate) fn over(&self) -> Option<&'static str> {
        if self.cancel.load(Ordering::Relaxed) {
            Some(CANCELLED)
        } else {
            self.deadline.is_some_and(|deadline| Instant::now() >= deadline).then_some(OUT_OF_TIME)
        }
    }
    /// One of so many equal parts of what is left.
    #[must_use]
    pub fn part(&self, parts: u32) -> Self {
        let left = |end: Instant| end.saturating_duration_since(Instant::now()) / parts;
        let deadline = self.deadline.map(|end| Instant::now() + left(end));
        Self { deadline, steps: self.steps.map(|steps| steps / u64::from(parts)), ..self.clone() }
    }
    /// Seconds that a question before the search may take: a tenth of those left; `None`: no deadline.
    pub(crate) fn aside(&self) -> Option<f64> {
        Some(self.deadline?.saturating_duration_since(Instant::now()).as_secs_f64() / 10.0)
    }
    /// The deadline, or an hour from now.
    pub(crate) fn deadline(&self) -> Instant {
        self.deadline.unwrap_or_else(|| Instant::now() + Duration::from_secs(3600))
    }
}

/// Why a search ended, where the kept plan is still the one to work by.
pub const STANDS: &str = "the kept plan stands";
/// Why a search ended before its plan was proven.
pub(crate) const OUT_OF_TIME: &str = "out of time";
pub(crate) const OUT_OF_STEPS: &str = "out of steps";
pub(crate) const CANCELLED: &str = "stopped by hand";
/// Why a search ended with a plan that is good enough.
pub(crate) const PROVEN: &str = "proven best";
pub(crate) const CLOSE: &str = "within the gap asked for";

/// What is known so far, told each time it changes.
#[derive(Clone, Copy, Debug)]
pub struct Progress {
    /// The cost of the best plan.
    pub cost: Cents,
    /// The best bound.
    pub bound: Option<Cents>,
}
