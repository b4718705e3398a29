//! The exact side: proves that no plan is cheaper, by branch and bound.
//!
//! [`encode`] writes the rules as a mixed-integer program, which the [`back_end`] solves. [`nodes`] are parts of all
//! plans, divided by [`branch_and_bound`] on the Lagrangian relaxation; what that leaves is solved by the program
//! ([`mip`]), after [`fixing`] what no better plan uses. [`shared`] is what the threads of a proof share, [`proof`] says
//! who proves what when.

mod back_end;
mod branch_and_bound;
pub mod encode;
mod fixing;
mod mip;
mod nodes;
mod proof;
mod shared;

pub(crate) use back_end::{MipRequest, solve};
pub(crate) use proof::{MOST_COLUMNS_BY_STEPS, STEPS_A_NODE, by_rounds, start};
pub(crate) use shared::SharedProof;
