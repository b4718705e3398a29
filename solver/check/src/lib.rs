//! Judges a plan by its book: every breach by its rule, and the cost.
//!
//! It reads the plan's text for itself and shares no code with what makes plans. Of the shop it takes the tables of
//! rules T, W2, W7 and H2, H6, and nothing that was worked out for a search. It never panics, whatever a plan holds.

mod crew_cost;
mod crew_time;
mod equipment;
pub mod fact;
mod hauls;
mod help;
mod history;
mod home;
mod ids;
mod later;
mod numbers;
mod parked;
mod rated;
mod rest;
mod rows;
mod serving;
mod soonest;
mod spans;
mod waits;
mod work;

use yardless_plan::shop::Shop;
use yardless_plan::{Costs, Plan, Rule};

use fact::{Fact, OfPlan};

/// A rule that the plan breaks, and how.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Breach {
    /// The rule.
    pub rule: Rule,
    /// What is wrong. Its ids are those of the shop by which the plan was judged.
    pub fact: Fact,
}

impl Breach {
    /// Whether it is only about what a plan says of its cost, or of a bound. The work is as good whatever the plan says of
    /// that.
    pub fn of_cost(&self) -> bool {
        matches!(self.fact, Fact::Cost(_))
    }
}

/// What the checker found.
#[derive(Clone, Debug, Default)]
pub struct Verdict {
    /// Every breach once, by rule; the plan holds when there is none.
    pub breaches: Vec<Breach>,
    /// What the plan really costs: a job that is neither done nor later counts as left out.
    pub costs: Costs,
}

impl Verdict {
    /// Whether the plan holds.
    pub fn holds(&self) -> bool {
        self.breaches.is_empty()
    }
}

/// Checks a plan against the book that the shop was made from.
///
/// A plan whose `book_digest` is another is judged all the same: whether that matters is for the caller to say.
/// Takes time in proportion to rows x horizon.
pub fn check(shop: &Shop, plan: &Plan) -> Verdict {
    let mut found = Found::default();
    head(shop, plan, &mut found);
    let ids = ids::Ids::new(shop);
    let work = work::judge(shop, &ids, plan, &mut found);
    let yard = hauls::judge(shop, &ids, plan, &work, &mut found);
    equipment::judge(shop, &ids, plan, &work, &yard, &mut found);
    rest::fits_in(shop, plan, &work, &yard, &mut found);
    let costs = numbers::costs(shop, plan, &work, &yard, &mut found);
    numbers::judge(plan, costs, &mut found);
    let mut breaches = found.0;
    breaches.sort();
    breaches.dedup();
    Verdict { breaches, costs }
}

/// The breaches so far.
#[derive(Default)]
struct Found(Vec<Breach>);

impl Found {
    fn say(&mut self, rule: Rule, fact: impl Into<Fact>) {
        self.0.push(Breach { rule, fact: fact.into() });
    }
}

fn head(shop: &Shop, plan: &Plan, found: &mut Found) {
    let horizon = shop.horizon;
    if plan.plan != 1 {
        found.say(Rule::Plan, OfPlan::Format { format: plan.plan });
    }
    if plan.from != horizon.monday() || plan.weeks != horizon.weeks() {
        found.say(Rule::Plan, OfPlan::Weeks { weeks: plan.weeks, from: plan.from });
    }
    let now = horizon.half_day(shop.now);
    if plan.now.unwrap_or(horizon.half_day(0)) != now {
        found.say(Rule::Plan, OfPlan::Now { now: plan.now });
    }
}
