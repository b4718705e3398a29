//! Why a job is not done sooner: the chain of what holds it in the plan given out, and a smallest set of facts on which
//! that rests.
//!
//! *Sooner* is: done by the end of a date, while no other job that the plan does ends on a later date than there. A set
//! of facts holds the job back when the book without all of them has such a plan, and the book without all but any one of
//! them has none. A plan that is found is checked; that there is none is either proven, or what a budget of search says.

mod chain;
mod lift;
mod rests;

pub use chain::{ChainLink, Hold, chain, holds};
pub use lift::Lift;
pub use rests::{Can, Holds, Rests, can, rests_on};
