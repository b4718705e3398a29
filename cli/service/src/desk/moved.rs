//! A step moved to another half-day, and the plan that has it there, until it is decided on.

use std::sync::{Arc, OnceLock};

use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_edit::Edit;
use yardless_plan::shop::Shop;
use yardless_plan::{Assumed, Plan};

/// A plan with a step elsewhere.
pub struct Moved {
    /// The job's id, and the step's.
    pub of: (String, String),
    /// The half-day in which it begins.
    pub to: HalfDay,
    /// The crew that was asked for.
    pub crew: Option<String>,
    /// What fixes it there in the book; none: it is fixed so already.
    pub edits: Vec<Edit>,
    /// The plan.
    pub plan: Plan,
    /// The book with it fixed, made ready.
    pub shop: Shop,
    /// The plan given out.
    pub kept: Plan,
    /// What it costs more than the plan given out does; none: that does not hold any more.
    pub extra: Option<Cents>,
    /// What of the plan given out it takes to have gone as planned.
    pub assumed: Option<Assumed>,
    /// The revisions of book and plan that it was made from.
    pub from: (i64, i64),
    /// The plan's number, once it was given out.
    pub given: OnceLock<i64>,
}

/// What comes of moving a step.
pub enum MoveOutcome {
    /// A plan.
    Found(Arc<Moved>),
    /// It cannot be there: why not, a sentence each.
    Cannot(Vec<String>),
}
