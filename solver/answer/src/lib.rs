//! Questions an owner asks of the plan given out: when is it free, what date can I offer, why not sooner, what is one
//! more worth, will it hold.
//!
//! Each answer is a plain value that a page or a sheet can show. A what-if is always a book of its own, planned by
//! [`yardless_engine`] like any other; what an answer leans on is a plan that the checker passes, and it says whether it is
//! proven or only the best found.

mod chance;
mod changes;
mod free;
mod given;
mod let_in;
pub mod matters;
mod offer;
pub mod why;
mod worth;

pub use chance::{Chances, JobChance, Seasons, Share, chances, mean_and_variance, varies};
pub use changes::{Because, JobChange, StepChange, changes, forgotten, haul_breaks, other_hauls};
pub use free::{Ask, Together, sooner, together};
pub use given::Given;
pub use let_in::{Alone, tells_value};
pub use offer::{Later, Offer, Offers, offers};
pub use worth::{More, Worth, all as all_more, worth};
