//! Questions asked of the plan given out, each answered in words and as JSON.

pub mod asked;
mod chance;
mod free;
pub mod matters;
mod offer;
mod then;
mod why;
mod worth;

pub use chance::chance;
pub use free::{Wanted, free, free_now, may_be_asked};
pub use offer::{Which, offer};
pub use then::then;
pub use why::why;
pub use worth::worth;

use serde_json::{Value, json};
use yardless_plan::Assumed;
use yardless_view::{OfferRow, Told};

/// An answer.
#[derive(Clone, Debug)]
pub struct Answered {
    /// For people, but for what it assumes.
    pub told: Told,
    /// For programs, with what it assumes as `assumed`.
    pub json: Value,
    /// What it takes to have gone as planned though nobody has noted it.
    pub assumed: Option<Assumed>,
    /// The dates that can be taken, where it offers any.
    pub dates: Vec<OfferRow>,
}

impl Answered {
    fn new(told: Told, mut json: Value, assumed: Option<&Assumed>) -> Self {
        json["assumed"] = json!(assumed);
        Self { told, json, assumed: assumed.cloned(), dates: Vec::new() }
    }
}
