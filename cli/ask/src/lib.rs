//! Questions asked of the plan given out, each answered in words and as JSON.

pub mod asked;
mod chance;
mod free;
mod offer;
mod why;
mod worth;

pub use chance::chance;
pub use free::{Wanted, free, free_now, may_be_asked};
pub use offer::{Which, offer};
pub use why::why;
pub use worth::worth;

use yardless_view::Told;

/// An answer.
#[derive(Clone, Debug)]
pub struct Answered {
    /// For people.
    pub told: Told,
    /// For programs.
    pub json: String,
}
