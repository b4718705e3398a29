//! Finds plans and proves how good they are, within limits.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use crate::money::Cents;
use crate::plan::{Draft, Plan, check, write};
use crate::shop::Shop;

/// How long and how hard to search: the engine's only clock, and its only way to be stopped.
#[derive(Clone, Debug)]
pub struct Limits {
    /// Stop by then. `None`: no deadline.
    pub deadline: Option<Instant>,
    /// A budget of work instead of time: same book, seed and steps give the same plan. `None`: no budget.
    pub steps: Option<u64>,
    /// The seed of the search.
    pub seed: u64,
    /// Set it to stop with the best plan so far.
    pub cancel: Arc<AtomicBool>,
}

impl Limits {
    /// Seconds from now.
    pub fn seconds(seconds: f64) -> Self {
        Self { deadline: Some(Instant::now() + Duration::from_secs_f64(seconds)), steps: None, seed: 1, cancel: Arc::default() }
    }
    /// A budget of work.
    pub fn steps(steps: u64) -> Self {
        Self { deadline: None, steps: Some(steps), seed: 1, cancel: Arc::default() }
    }
    /// Whether to stop now.
    pub fn over(&self) -> bool {
        self.cancel.load(Ordering::Relaxed) || self.deadline.is_some_and(|deadline| Instant::now() >= deadline)
    }
}

/// What is known so far, told each time it changes.
#[derive(Clone, Copy, Debug)]
pub struct Progress {
    /// The cost of the best plan.
    pub cost: Cents,
    /// The best bound.
    pub bound: Option<Cents>,
}

/// Plans the book. Always returns a plan that the checker passes, within the limits, at worst with jobs left out.
pub fn plan(shop: &Shop, digest: &str, limits: &Limits, progress: &mut dyn FnMut(Progress)) -> Plan {
    let _ = limits;
    let mut plan = write(shop, digest, &Draft::empty(shop), |_| "not planned yet".to_owned());
    let verdict = check(shop, &plan);
    plan.costs = verdict.costs;
    plan.cost = verdict.costs.total();
    progress(Progress { cost: plan.cost, bound: None });
    plan
}
