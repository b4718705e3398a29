//! What work holds: units of a kind, power, or a unit itself.

use super::ids::{Id, KindId, StepId, Table, UnitId};
use super::{KindFacts, Shop};

/// So many units that can serve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Need {
    /// What they serve as.
    pub want: Want,
    /// How many.
    pub count: usize,
}

impl Need {
    /// So many of a kind, by its id in the book.
    pub(super) fn of(kinds: &Table<KindId, KindFacts>, id: &str, count: u32) -> Self {
        let kind = kinds.find(|kind| kind.id == id).unwrap_or_else(|| KindId::from_index(0));
        Self { want: Want::Kind(kind), count: count as usize }
    }

    /// Those of one way: of a shared kind one need, the largest (E8), as one unit serves all of them.
    pub(super) fn of_way(kinds: &Table<KindId, KindFacts>, needs: &[yardless_book::Need]) -> Vec<Self> {
        let mut all: Vec<Self> = Vec::new();
        for need in needs.iter().map(|need| Self::of(kinds, &need.kind, need.count)) {
            let shared = |want: Want| matches!(want, Want::Kind(kind) if kinds[kind].shared);
            match all.iter_mut().find(|other| other.want == need.want && shared(need.want)) {
                Some(other) => other.count = other.count.max(need.count),
                None => all.push(need),
            }
        }
        all
    }
}

/// What is parked at a job, besides what its steps hold (E3).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ParkedNeed {
    /// What.
    pub need: Need,
    /// Its position among the parked needs of its job in the book; one for each unit that a job which has begun names.
    pub listed: usize,
    /// The step with whose start it is first held (E7); `None`: the job's earliest, or now where it has begun.
    pub from: Option<StepId>,
    /// The step with whose end it is held last; `None`: the job's latest end.
    pub to: Option<StepId>,
    /// Whether it stays to the horizon's end, as the step that ends it is later: past the job's latest end only there (E7).
    pub on: bool,
}

impl ParkedNeed {
    /// Whether it is held all the time that the job is worked on.
    pub fn whole(&self) -> bool {
        self.from.is_none() && self.to.is_none()
    }

    /// From when to when it is held, where it stays on the half-days that it may not be out: `job` is the first and last
    /// half-day of the job, `step` of a step of it. `None` where that is not known.
    pub fn span(&self, job: (usize, usize), step: impl Fn(StepId) -> Option<(usize, usize)>) -> Option<(usize, usize)> {
        let first = self.from.map_or(Some(job.0), |from| Some(step(from)?.0))?;
        Some((first, self.to.map_or(Some(job.1), |to| Some(step(to)?.1))?))
    }

    /// Whether it is held all the time that a step is worked on, whatever the plan.
    pub fn held_during(&self, step: StepId) -> bool {
        self.whole() || self.from == Some(step) || self.to == Some(step)
    }
}

/// A unit parked at a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ParkedUnit {
    /// The need that it serves, by its position among the job's ([`super::JobFacts::parked`]).
    pub need: usize,
    /// The unit.
    pub unit: UnitId,
}

/// Shares units out among needs, one each, a shared one to as many as it can serve (E8): the units of each need. `None`
/// where they are too few.
pub fn share_out(shop: &Shop, needs: &[Need], units: &[UnitId]) -> Option<Vec<Vec<UnitId>>> {
    let (shared, one_each): (Vec<UnitId>, Vec<UnitId>) = units.iter().partition(|unit| shop.units[**unit].shared);
    let able = |need: &Need| shared.iter().filter(|unit| shop.units[**unit].serves(need.want)).count();
    // Others first serve what shared units cannot, then what they need not.
    let others: Vec<usize> = needs.iter().map(|need| need.count.saturating_sub(able(need))).collect();
    let mut sharing = Sharing { shop, needs, room: others.clone(), units: vec![Vec::new(); needs.len()] };
    let left: Vec<UnitId> =
        one_each.into_iter().filter(|unit| !sharing.place(&mut vec![false; needs.len()], *unit)).collect();
    if sharing.units.iter().zip(&others).any(|(units, others)| units.len() < *others) {
        return None;
    }
    sharing.room = needs.iter().map(|need| need.count).collect();
    for unit in left {
        sharing.place(&mut vec![false; needs.len()], unit);
    }
    let mut all = sharing.units;
    let mut used: Vec<UnitId> = Vec::new();
    for (need, of) in needs.iter().zip(&mut all) {
        let mut able: Vec<UnitId> = shared.iter().copied().filter(|unit| shop.units[*unit].serves(need.want)).collect();
        // Those that serve nothing yet come first.
        able.sort_by_key(|unit| used.contains(unit));
        able.truncate(need.count.saturating_sub(of.len()));
        used.extend(&able);
        of.extend(able);
    }
    Some(all)
}

/// Needs with the units that serve them, each one: a greatest matching, by augmenting paths.
struct Sharing<'s> {
    shop: &'s Shop,
    needs: &'s [Need],
    /// How many units each may take.
    room: Vec<usize>,
    units: Vec<Vec<UnitId>>,
}

impl Sharing<'_> {
    /// Finds a need for the unit, moving others to other needs where that makes room.
    fn place(&mut self, tried: &mut [bool], unit: UnitId) -> bool {
        for n in 0..self.needs.len() {
            if tried[n] || !self.shop.units[unit].serves(self.needs[n].want) {
                continue;
            }
            tried[n] = true;
            if self.units[n].len() < self.room[n] {
                self.units[n].push(unit);
                return true;
            }
            for i in 0..self.units[n].len() {
                let other = self.units[n][i];
                if self.place(tried, other) {
                    self.units[n][i] = unit;
                    return true;
                }
            }
        }
        false
    }
}

/// What a unit is wanted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Want {
    /// As a unit of this kind.
    Kind(KindId),
    /// For its power: any unit of a kind marked so (E5).
    Power,
    /// Itself: a job that has begun holds it (N1).
    Unit(UnitId),
}

impl Want {
    /// Whether work waits while the unit is out, instead of never holding it then (N1).
    pub fn waits(self) -> bool {
        matches!(self, Self::Unit(_))
    }
}
