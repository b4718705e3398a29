//! What primal, dual and exact search alike read off a shop.

mod crew_time;
mod hints;
mod pools;
mod precedence;

pub(crate) use crew_time::short_of_time;
pub(crate) use hints::{Hint, Hints};
pub(crate) use pools::{Spot, TeamPool, UnitPool, team_pools, unit_pools};
pub(crate) use precedence::in_order;

use yardless_plan::shop::{JobId, Shop, StepId, Want};

/// Who wants what: the job, what of it asks, and what is wanted.
pub(crate) type DemandKey = (JobId, Asks, Want);

/// What of a job asks for units.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Asks {
    /// All that is parked besides what the steps hold.
    Parked,
    /// A step, with whether it is its second span.
    Step(StepId, bool),
    /// One parked need by its position, of which nothing can be said together with others: shared units can serve (E8), or
    /// it is not held all the time (E7).
    OneParked(usize),
}

/// Whether shared units can serve what is wanted: then one unit may serve several needs at a time (E8).
pub(crate) fn shared(shop: &Shop, want: Want) -> bool {
    shop.units.iter().any(|unit| unit.shared && unit.serves(want))
}

/// What asks for a parked need of a job, by its position.
pub(crate) fn parked_asks(shop: &Shop, job: JobId, need: usize) -> Asks {
    let parked = &shop.jobs[job].parked[need];
    if shared(shop, parked.need.want) || !parked.whole() { Asks::OneParked(need) } else { Asks::Parked }
}
