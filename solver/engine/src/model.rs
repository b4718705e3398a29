//! What primal, dual and exact search alike read off a shop.

mod crew_time;
mod hints;
mod pools;
mod precedence;

pub(crate) use crew_time::short_of_time;
pub(crate) use hints::{Hint, Hints};
pub(crate) use pools::{Spot, TeamPool, UnitPool, team_pools, unit_pools};
pub(crate) use precedence::in_order;

use yardless_plan::shop::{JobId, StepId, Want};

/// Who wants what: the job, the step (none for parked needs) with whether it is its second span, and what is wanted.
pub(crate) type DemandKey = (JobId, Option<(StepId, bool)>, Want);
