//! What each crew works on in each half-day (W4, W13, W16).

use yardless_plan::shop::{CrewId, Id, Shop, StepId, TeamId};

use crate::primal::half_days::HalfDaySets;

/// How much of each half-day of each crew is taken.
#[derive(Clone)]
pub(super) struct Work {
    /// The half-days in which each crew works.
    busy: HalfDaySets,
    /// How much is taken of each, by crew and half-day, and of how many runs; empty where no crew works on several in one.
    taken: Vec<(u64, u32)>,
}

impl Work {
    /// Nobody works.
    pub(super) fn new(shop: &Shop) -> Self {
        let cells = if shop.shares_half_days() { shop.crews.len() * shop.len() } else { 0 };
        Self { busy: HalfDaySets::new(shop.crews.len(), shop.len()), taken: vec![(0, 0); cells] }
    }

    /// Whether some crew of a team that would work on a step in a half-day has no room for it.
    pub(super) fn full(&self, shop: &Shop, (step, way, team): (StepId, usize, TeamId), h: usize) -> bool {
        let full = |crew: CrewId| {
            self.busy.holds(crew.index(), h)
                && self
                    .taken
                    .get(crew.index() * shop.len() + h)
                    .is_none_or(|(taken, _)| taken + shop.load(step, way, crew) > shop.capacity(crew))
        };
        shop.working(&shop.teams[team], h).any(full)
    }

    /// Takes so much of a crew's half-day, or gives it back. Whether it works on something else in it.
    pub(super) fn put(&mut self, shop: &Shop, crew: CrewId, h: usize, load: u64, takes: bool) -> bool {
        let Some((taken, runs)) = self.taken.get_mut(crew.index() * shop.len() + h) else {
            self.busy.put(crew.index(), h, takes);
            return false;
        };
        if takes {
            (*taken, *runs) = (*taken + load, *runs + 1);
        } else {
            (*taken, *runs) = (taken.saturating_sub(load), runs.saturating_sub(1));
        }
        let others = if takes { *runs > 1 } else { *runs > 0 };
        let works = *runs > 0;
        self.busy.put(crew.index(), h, works);
        others
    }
}
