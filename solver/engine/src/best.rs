//! The best of what search and prover have found, and what a draft costs.

use std::sync::Once;

use yardless_book::money::Cents;
use yardless_check::{Breach, check};
use yardless_plan::shop::{JobFacts, JobId, Shop};
use yardless_plan::{Draft, Plan, write};

use super::{Limits, Progress, STANDS};

/// Why a search ended with a plan that is good enough.
const PROVEN: &str = "proven best";
const CLOSE: &str = "within the gap asked for";

/// What no plan at all is taken to cost: above any plan, and far enough from the largest number to reckon with.
pub(super) const NO_PLAN: i64 = i64::MAX / 4;

/// The best of what search and prover have found.
pub(super) struct Best {
    pub draft: Draft,
    pub cents: i64,
    pub bound: i64,
    /// Most jobs that have begun and that a plan may leave without an end.
    pub endless: usize,
    /// What jobs cost that no plan can do, where a gap is asked for.
    pub hopeless: i64,
}

impl Best {
    pub(super) fn proven(&self) -> bool {
        self.bound >= self.cents
    }
    /// Why no more is asked for, if that is so.
    pub(super) fn enough(&self, limits: &Limits) -> Option<&'static str> {
        if self.proven() {
            return Some(PROVEN);
        }
        if limits.aim.is_some_and(|aim| self.bound > aim && self.cents > aim) {
            return Some(STANDS);
        }
        let room = (self.cents - self.bound) as f64;
        (room <= limits.gap * (self.cents - self.hopeless) as f64).then_some(CLOSE)
    }
    pub(super) fn progress(&self) -> Progress {
        Progress { cost: Cents(self.cents), bound: Some(Cents(self.bound.min(self.cents))) }
    }
    /// Takes a plan that is better and that the checker passes.
    pub(super) fn offer(&mut self, shop: &Shop, draft: Draft) -> bool {
        if endless(shop, &draft) > self.endless {
            return false;
        }
        match judged(shop, &draft) {
            Ok(cents) if cents < self.cents => {
                (self.draft, self.cents) = (draft, cents);
                true
            }
            Ok(_) => false,
            Err(breaches) => {
                ours(&breaches);
                false
            }
        }
    }
}

/// A plan that does not hold is never used; that one was found at all is a defect of the program. It ends any test run,
/// and is told once, as the same defect mostly shows in plan after plan.
fn ours(breaches: &[Breach]) {
    static TOLD: Once = Once::new();
    debug_assert!(false, "a plan was found that does not hold: {breaches:?}");
    TOLD.call_once(|| {
        tracing::error!(
            ?breaches,
            "a plan was found that does not hold, and is not used: a defect of the program; please report it with the book"
        );
    });
}

/// Jobs that have begun and that a draft leaves without an end.
pub(super) fn endless(shop: &Shop, draft: &Draft) -> usize {
    let left = |(job, facts): &(JobId, &JobFacts)| facts.started && facts.planned() && !draft.does(shop, *job);
    shop.jobs.pairs().filter(left).count()
}

/// A draft as a plan with what it costs; `why` tells why a job is left out.
pub(super) fn costed(shop: &Shop, digest: &str, draft: &Draft, why: impl Fn(JobId) -> String) -> Plan {
    let mut plan = write(shop, digest, draft, why);
    plan.costs = check(shop, &plan).costs;
    plan.cost = plan.costs.total();
    plan
}

/// The cost of a draft that the checker passes, or its breaches.
pub(super) fn judged(shop: &Shop, draft: &Draft) -> Result<i64, Vec<Breach>> {
    let plan = costed(shop, "", draft, |_| String::new());
    let verdict = check(shop, &plan);
    if verdict.holds() { Ok(plan.cost.0) } else { Err(verdict.breaches) }
}
