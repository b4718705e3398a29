//! Judges a plan by its book: every breach by its rule, and the cost.
//!
//! It reads the plan's text for itself and shares no code with what makes plans. Of the shop it takes the tables of
//! rules T, W2, W7 and H2, H6, and nothing that was worked out for a search. It never panics, whatever a plan holds.

mod equipment;
mod hauls;
mod history;
mod ids;
mod numbers;
mod spans;
mod work;

use std::fmt;

use yardless_plan::shop::{JobId, Shop, UnitId};
use yardless_plan::{Costs, Plan};

/// A rule that the plan breaks, and how.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Breach {
    /// The rule's number in the planning rules: `W6`, `E2`, `H4`, `C3`. Besides, `plan`: the plan is not one of this
    /// book and horizon; `cost`: its cost is not what it costs; `bound`: its bound or proof contradicts its cost.
    pub rule: &'static str,
    /// What is wrong, in the owner's words.
    pub says: String,
    /// What of the book it is about.
    pub about: About,
}

/// What of the book a breach is about, as far as it is about something: what is decided by goes by this, never by words.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct About {
    /// The jobs, or those whose steps: two where they stand in each other's way.
    pub jobs: Vec<JobId>,
    /// The unit of equipment.
    pub unit: Option<UnitId>,
}

impl From<JobId> for About {
    fn from(job: JobId) -> Self {
        Self { jobs: vec![job], unit: None }
    }
}

impl From<UnitId> for About {
    fn from(unit: UnitId) -> Self {
        Self { jobs: Vec::new(), unit: Some(unit) }
    }
}

impl fmt::Display for Breach {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.rule, self.says)
    }
}

/// What the checker found.
#[derive(Clone, Debug, Default)]
pub struct Verdict {
    /// Every breach, by rule and then by text; the plan holds when there is none.
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
    history::fits_in(shop, plan, &work, &yard, &mut found);
    let costs = numbers::costs(shop, plan, &work, &yard);
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
    /// A breach that is about nothing of the book by itself.
    fn say(&mut self, rule: &'static str, says: impl Into<String>) {
        self.about(About::default(), rule, says);
    }

    fn about(&mut self, about: impl Into<About>, rule: &'static str, says: impl Into<String>) {
        self.0.push(Breach { rule, says: says.into(), about: about.into() });
    }
}

fn head(shop: &Shop, plan: &Plan, found: &mut Found) {
    let horizon = shop.horizon;
    if plan.plan != 1 {
        found.say("plan", format!("it is a plan of format {}; this program knows format 1", plan.plan));
    }
    if plan.from != horizon.monday() || plan.weeks != horizon.weeks() {
        let says = format!(
            "it is a plan of {} weeks from {}, judged as one of {} weeks from {}",
            plan.weeks,
            plan.from,
            horizon.weeks(),
            horizon.monday()
        );
        found.say("plan", says);
    }
    let now = horizon.half_day(shop.now);
    if plan.now.unwrap_or(horizon.half_day(0)) != now {
        let from = plan.now.map_or("the beginning".to_owned(), |now| now.to_string());
        found.say("plan", format!("it is a plan from {from} on, judged as one from {now} on"));
    }
}
