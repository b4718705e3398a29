//! What matters to the owner: a few choices between two plans, and the prices that come of them.

mod asked;
pub mod keep;
pub mod page;
