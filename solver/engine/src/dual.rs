//! The dual side: bounds that no plan is cheaper than.
//!
//! [`alone`] needs no prices. [`relaxation`] is the Lagrangian relaxation, within the [`domain`] of a node; [`ascent`]
//! looks for its best prices; [`reduced_costs`] tell what no better plan does.

mod alone;
mod ascent;
mod domain;
mod reduced_costs;
mod relaxation;

pub(crate) use alone::bound_alone;
pub(crate) use ascent::{Ascent, Pace, ascend_for_all, bound};
pub(crate) use domain::{Domain, JobDomain};
pub(crate) use reduced_costs::{PooledHaul, ReducedCosts, RootBound};
pub(crate) use relaxation::{Relaxation, RunFacts};
