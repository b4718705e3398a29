//! Finds plans and proves how good they are, within limits.
//!
//! In the order in which to read it: [`limits`] say how long, [`context`] what a search keeps to beside the shop, [`model`]
//! what all methods read off a shop. The [`incumbent`] is the best plan so far. [`primal`] finds plans, [`dual`] bounds,
//! [`exact`] closes the gap between them; [`effort`] tells them how much they have worked. The [`feasibility`] phase ends
//! jobs in progress, the [`coordinator`] runs all of that, and [`replan`](mod@replan) does so again, close to a plan given out.
//! [`reason`] tells why a job is left out.
//!
//! No clock is read and nothing is written but through [`Limits`] and the progress told.

mod limits;

mod context;

mod model;

mod incumbent;

mod effort;

mod primal;

mod dual;

mod exact;

mod feasibility;

mod coordinator;

mod replan;

mod reason;

pub use coordinator::{lagrangian_bound, plan, plan_from};
pub use exact::encode;
pub use limits::{Limits, Progress, STANDS};
pub use primal::{FreeQuery, FreeUnits, free_together};
pub use reason::impossible;
pub use replan::{Leaning, choices, replan};
