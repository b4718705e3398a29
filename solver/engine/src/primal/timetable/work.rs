//! What each crew works on in each half-day (W4, W13, W16), and what its dates and weeks cost: overtime of several (C8),
//! too few half-days left open (C14), driving (C15).

use yardless_plan::shop::{CrewId, Id, PlaceId, Shop, StepId, TeamId};

use crate::primal::half_days::{HalfDaySets, HalfDays};

/// How much of each half-day of each crew is taken.
#[derive(Clone)]
pub(super) struct Work {
    /// The half-days in which each crew works.
    busy: HalfDaySets,
    /// How much is taken of each, by crew and half-day, and of how many runs; empty where no crew works on several in one.
    taken: Vec<(u64, u32)>,
    /// The reserve that each half-day of a crew counts for; empty where none is kept.
    reserve_of: Vec<Option<u32>>,
    /// How many half-days of each reserve are worked.
    worked: Vec<usize>,
    /// Where each crew works in each half-day, as far as its drives are counted; empty where none are.
    places: Vec<Option<PlaceId>>,
}

/// A run of a step in a half-day: step, way, team.
pub(super) type RunAt = (StepId, usize, TeamId);

impl Work {
    /// Nobody works.
    pub(super) fn new(shop: &Shop) -> Self {
        let cells = |counts: bool| if counts { shop.crews.len() * shop.len() } else { 0 };
        let mut reserve_of = vec![None; cells(!shop.reserves.is_empty())];
        for (n, reserve) in shop.reserves.iter().enumerate() {
            for h in &reserve.half_days {
                reserve_of[reserve.crew.index() * shop.len() + h] = Some(n as u32);
            }
        }
        Self {
            busy: HalfDaySets::new(shop.crews.len(), shop.len()),
            taken: vec![(0, 0); cells(shop.shares_half_days())],
            reserve_of,
            worked: vec![0; shop.reserves.len()],
            places: vec![None; cells(shop.counts_driving())],
        }
    }

    /// Whether a crew's time costs by more than the run that takes it.
    pub(super) fn costs(&self) -> bool {
        !self.reserve_of.is_empty() || !self.places.is_empty()
    }

    /// Whether a crew has nothing to do in any half-day.
    pub(super) fn without_work(&self, crew: CrewId) -> bool {
        self.busy.row(crew.index()).iter().all(|word| *word == 0)
    }

    /// Whether some crew of a team that would work on a step in a half-day has no room for it, or cannot get there.
    pub(super) fn full(&self, shop: &Shop, run: RunAt, h: usize) -> bool {
        let (step, way, team) = run;
        let full = |crew: CrewId| {
            self.busy.holds(crew.index(), h)
                && self
                    .taken
                    .get(crew.index() * shop.len() + h)
                    .is_none_or(|(taken, _)| taken + shop.load(step, way, crew) > shop.capacity(crew))
        };
        shop.working(&shop.teams[team], h).any(full) || self.far(shop, run, &std::iter::once(h))
    }

    /// Of a set of half-days in which a step may work in a way those in which a crew of the team that it takes whole works on
    /// something; and whether that, and drives that cannot be made, are all that keeps the team from it ([`full`](Self::full)).
    pub(super) fn blocked(&self, shop: &Shop, run: RunAt, set: HalfDays<'_>, blocked: &mut Vec<u64>) -> bool {
        let (step, way, team) = run;
        blocked.clear();
        blocked.resize(set.len(), 0);
        let mut all = true;
        for crew in shop.teams[team].crews() {
            if self.taken.is_empty() || shop.load(step, way, crew) >= shop.capacity(crew) {
                let busy = self.busy.row(crew.index());
                blocked.iter_mut().zip(set).zip(busy).for_each(|((blocked, set), busy)| *blocked |= set & busy);
            } else {
                all = false;
            }
        }
        all
    }

    /// Whether some crew of a team cannot drive between its work on a step in some half-days and what it does else on these
    /// dates (C15). That it can drive there at all is taken for granted.
    pub(super) fn far(&self, shop: &Shop, run: RunAt, worked: &(impl Iterator<Item = usize> + Clone)) -> bool {
        let (step, way, team) = run;
        !self.places.is_empty()
            && shop.teams[team].crews().any(|crew| {
                let row = crew.index() * shop.len();
                let place = shop.drives_to(step, way, crew);
                let far = |h: usize| {
                    self.places[row + (h ^ 1)].is_some()
                        && shop.crews[crew].people[h] > 0
                        && self.round(shop, crew, h, place).is_none()
                };
                place.is_some() && worked.clone().any(far)
            })
    }

    /// What it would add to what the time of a team's crews costs by dates and weeks that it works on a step in some half-days:
    /// overtime that is paid for already (C8), half-days left open (C14), driving (C15).
    pub(super) fn added(&self, shop: &Shop, run: RunAt, worked: &(impl Iterator<Item = usize> + Clone)) -> i64 {
        let (step, way, team) = run;
        let mut cents = 0;
        if !self.costs() && self.taken.is_empty() {
            return cents;
        }
        for crew in shop.teams[team].crews() {
            let row = crew.index() * shop.len();
            let works = worked.clone().filter(|h| shop.crews[crew].people[*h] > 0);
            let is_alone = |h: usize| self.taken.get(row + h).is_none_or(|(_, runs)| *runs == 0);
            let paid = works.clone().filter(|h| shop.overtime[*h] && !is_alone(*h)).count();
            cents -= paid as i64 * shop.book.prices.overtime_half_day.0;
            if !self.reserve_of.is_empty() {
                let of = works.clone().filter(|h| is_alone(*h)).filter_map(|h| self.reserve_of[row + h]);
                cents += self.short_by(shop, of);
            }
            if let Some(place) = shop.drives_to(step, way, crew).filter(|_| !self.places.is_empty()) {
                cents += self.driven(shop, crew, place, works);
            }
        }
        cents
    }

    /// C14: what it adds that more half-days are worked, of which these reserves are, one after the other.
    fn short_by(&self, shop: &Shop, of: impl Iterator<Item = u32>) -> i64 {
        let (mut cents, mut more) = (0, (u32::MAX, 0));
        let price = shop.book.prices.reserve_half_day.0;
        for reserve in of {
            more = if more.0 == reserve { (reserve, more.1 + 1) } else { (reserve, 1) };
            let at = reserve as usize;
            if self.worked[at] + more.1 > shop.reserves[at].free {
                cents += price;
            }
        }
        cents
    }

    /// C15: what it adds that a crew works at a place in some half-days, in their order.
    fn driven(&self, shop: &Shop, crew: CrewId, place: PlaceId, works: impl Iterator<Item = usize>) -> i64 {
        let row = crew.index() * shop.len();
        let cost = |[am, pm]: [Option<PlaceId>; 2]| shop.round_cost(crew, am, pm).map_or(0, |cents| cents.0);
        let there = Some(place);
        // By what of a date is worked there, on one with nothing else: mostly it is.
        let alone = [cost([there, None]), cost([None, there]), cost([there, there])];
        let mut works = works.peekable();
        let mut cents = 0;
        while let Some(h) = works.next() {
            let am = h & !1;
            let both = works.next_if_eq(&(am + 1)).is_some();
            match [self.places[row + am], self.places[row + am + 1]] {
                [None, None] => cents += alone[if both { 2 } else { h - am }],
                was => {
                    let mut is = was;
                    is[h - am] = there;
                    if both {
                        is[1] = there;
                    }
                    cents += cost(is) - cost(was);
                }
            }
        }
        cents
    }

    /// What a crew's round costs on the date of a half-day, were it at a place in that; `None`: it cannot be driven.
    fn round(&self, shop: &Shop, crew: CrewId, h: usize, place: Option<PlaceId>) -> Option<i64> {
        let other = self.places.get(crew.index() * shop.len() + (h ^ 1)).copied().flatten();
        let (am, pm) = if h.is_multiple_of(2) { (place, other) } else { (other, place) };
        shop.round_cost(crew, am, pm).map(|cents| cents.0)
    }

    /// Takes a crew's half-day for a run, or gives it back; whether it works on something else in it.
    pub(super) fn put(&mut self, shop: &Shop, crew: CrewId, h: usize, run: RunAt, takes: bool) -> bool {
        let (step, way, _) = run;
        let cell = crew.index() * shop.len() + h;
        if let (Some(place), Some(at)) = (shop.drives_to(step, way, crew), self.places.get_mut(cell)) {
            *at = takes.then_some(place);
        }
        let others = match self.taken.get_mut(cell) {
            None => false,
            Some((taken, runs)) => {
                let load = shop.load(step, way, crew);
                if takes {
                    (*taken, *runs) = (*taken + load, *runs + 1);
                } else {
                    (*taken, *runs) = (taken.saturating_sub(load), runs.saturating_sub(1));
                }
                if takes { *runs > 1 } else { *runs > 0 }
            }
        };
        self.busy.put(crew.index(), h, takes || others);
        if let Some(reserve) = self.reserve_of.get(cell).copied().flatten().filter(|_| !others) {
            let worked = &mut self.worked[reserve as usize];
            *worked = if takes { *worked + 1 } else { worked.saturating_sub(1) };
        }
        others
    }
}
