//! Judges a plan by its book: every breach by its rule, and the cost.

use crate::plan::{Costs, Plan};
use crate::shop::Shop;

/// A rule that the plan breaks, and how.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Breach {
    /// The rule's number in the planning rules: `W6`, `E2`, `H4`, `C3`.
    pub rule: &'static str,
    /// What is wrong, in the owner's words.
    pub says: String,
}

/// What the checker found.
#[derive(Clone, Debug, Default)]
pub struct Verdict {
    /// Every breach; the plan holds when there is none.
    pub breaches: Vec<Breach>,
    /// What the plan really costs.
    pub costs: Costs,
}

/// Checks a plan against the book that the shop was made from.
pub fn check(_shop: &Shop, _plan: &Plan) -> Verdict {
    todo!()
}
