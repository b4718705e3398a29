//! The incumbent: the best plan that anyone has found, the bound beside it, and what is told of both.

use std::sync::Once;
use std::sync::atomic::{AtomicI64, Ordering};

use yardless_book::money::Cents;
use yardless_check::{Breach, check};
use yardless_plan::shop::{JobFacts, JobId, Shop};
use yardless_plan::{Draft, Plan, write};

use crate::limits::{CLOSE, Limits, PROVEN, Progress, STANDS};
use crate::model::Hints;

/// What no plan at all is taken to cost: above any plan, and far enough from the largest number to reckon with.
const NO_PLAN: i64 = i64::MAX / 4;

/// The best plan so far, and the best bound.
pub(crate) struct Incumbent {
    pub(crate) draft: Draft,
    pub(crate) cents: i64,
    /// No plan costs less, in cents.
    pub(crate) bound: i64,
    /// Most jobs in progress that a plan may leave without an end.
    pub(crate) most_unended: usize,
    /// What jobs cost that no plan can do, where a gap is asked for.
    pub(crate) hopeless: i64,
}

impl Incumbent {
    /// All jobs left out, at a cost that any plan beats, with a bound.
    pub(crate) fn new(shop: &Shop, bound: i64, most_unended: usize, hopeless: i64) -> Self {
        Self { draft: Draft::empty(shop), cents: NO_PLAN, bound, most_unended, hopeless }
    }
    /// The plan with its cost, once there is one.
    pub(crate) fn plan(&self) -> Option<(Draft, i64)> {
        (self.cents < NO_PLAN).then(|| (self.draft.clone(), self.cents))
    }
    /// Whether bound and plan have met.
    pub(crate) fn proven(&self) -> bool {
        self.bound >= self.cents
    }
    /// Why no more is asked for, if that is so.
    pub(crate) fn enough(&self, limits: &Limits) -> Option<&'static str> {
        if self.proven() {
            return Some(PROVEN);
        }
        if limits.aim.is_some_and(|aim| self.bound > aim && self.cents > aim) {
            return Some(STANDS);
        }
        let room = (self.cents - self.bound) as f64;
        (room <= limits.gap * (self.cents - self.hopeless) as f64).then_some(CLOSE)
    }
    /// What is told of it.
    pub(crate) fn progress(&self) -> Progress {
        Progress { cost: Cents(self.cents), bound: Some(Cents(self.bound.min(self.cents))) }
    }
    /// Takes a plan that is better and that the checker passes.
    pub(crate) fn offer(&mut self, shop: &Shop, draft: Draft) -> bool {
        if unended(shop, &draft) > self.most_unended {
            return false;
        }
        match judged(shop, &draft) {
            Ok(cents) if cents < self.cents => {
                (self.draft, self.cents) = (draft, cents);
                true
            }
            Ok(_) => false,
            Err(breaches) => {
                report_defect(&breaches);
                false
            }
        }
    }
    /// Takes in what the proof tells: whether that changes what is known.
    pub(crate) fn hear(&mut self, shop: &Shop, news: News) -> bool {
        match news {
            News::Bound(bound) if bound > self.bound => {
                self.bound = bound;
                true
            }
            News::Plan(draft) => self.offer(shop, draft),
            _ => false,
        }
    }
}

/// The incumbent's cost where several threads see it: what a plan must cost less than.
#[derive(Debug)]
pub(crate) struct Cutoff(AtomicI64);

impl Cutoff {
    /// A first plan's cost.
    pub(crate) fn new(cents: i64) -> Self {
        Self(AtomicI64::new(cents))
    }
    /// In cents.
    pub(crate) fn cents(&self) -> i64 {
        self.0.load(Ordering::Relaxed)
    }
    /// A plan that may be better.
    pub(crate) fn lower(&self, cents: i64) {
        self.0.fetch_min(cents, Ordering::Relaxed);
    }
}

/// What the proof tells the search.
#[derive(Debug)]
pub(crate) enum News {
    /// No plan costs less, in cents.
    Bound(i64),
    /// A plan.
    Plan(Draft),
    /// What a good plan may look like.
    Hints(Hints),
}

/// A plan that does not hold is never used; that one was found at all is a defect of the program. It ends any test run,
/// and is told once, as the same defect mostly shows in plan after plan.
fn report_defect(breaches: &[Breach]) {
    static REPORTED: Once = Once::new();
    debug_assert!(false, "a plan was found that does not hold: {breaches:?}");
    REPORTED.call_once(|| {
        tracing::error!(
            ?breaches,
            "a plan was found that does not hold, and is not used: a defect of the program; please report it with the book"
        );
    });
}

/// How many jobs in progress a draft leaves without an end.
pub(crate) fn unended(shop: &Shop, draft: &Draft) -> usize {
    let left = |(job, facts): &(JobId, &JobFacts)| facts.started && facts.planned() && !draft.does(shop, *job);
    shop.jobs.pairs().filter(left).count()
}

/// A draft as a plan with what it costs; `why` tells why a job is left out.
pub(crate) fn costed(shop: &Shop, digest: &str, draft: &Draft, why: impl Fn(JobId) -> String) -> Plan {
    let mut plan = write(shop, digest, draft, why);
    plan.costs = check(shop, &plan).costs;
    plan.cost = plan.costs.total();
    plan
}

/// The cost of a draft that the checker passes, or its breaches.
pub(crate) fn judged(shop: &Shop, draft: &Draft) -> Result<i64, Vec<Breach>> {
    let plan = costed(shop, "", draft, |_| String::new());
    let verdict = check(shop, &plan);
    if verdict.holds() { Ok(plan.cost.0) } else { Err(verdict.breaches) }
}
