//! Which units serve which needs (E2, E3, E5, E8), and what is missing or idle.

use std::collections::BTreeSet;

use yardless_plan::Rule;
use yardless_plan::shop::{Need, PlaceId, Shop, Table, UnitId, Want};

use super::Found;
use super::fact::{Holder, OfUnit};
use super::ids::Ids;

/// A unit held for a need, from a half-day to a half-day.
pub(super) struct UnitHold {
    pub(super) start: usize,
    pub(super) end: usize,
    pub(super) place: PlaceId,
    pub(super) by: Holder,
    /// The last half-day in which it may not be out; after that it only stays there (E7).
    pub(super) in_use: usize,
    /// Whether the work waits while the unit is out (N1).
    pub(super) waits: bool,
    /// `E2` for a step's, `E3` for a job's.
    pub(super) rule: Rule,
}

/// What holds each unit.
pub(super) type Holds = Table<UnitId, Vec<UnitHold>>;

/// The units that a row names, each once.
pub(super) fn named<'a>(
    ids: &Ids,
    texts: impl Iterator<Item = &'a String>,
    by: Holder,
    rule: Rule,
    found: &mut Found,
) -> Vec<UnitId> {
    let mut units = BTreeSet::new();
    for text in texts {
        let Some(unit) = ids.unit(text, found) else { continue };
        if !units.insert(unit) {
            found.say(rule, OfUnit::Twice { by, unit });
        }
    }
    units.into_iter().collect()
}

/// Serves as many needs as the units can, each unit one at most, but of a shared kind each need that it can (E8). Gives
/// back what is missing, and the units that serve nothing.
pub(super) fn serve(shop: &Shop, needs: &[Need], units: &[UnitId]) -> (Vec<Need>, Vec<UnitId>) {
    let (shared, one_each): (Vec<UnitId>, Vec<UnitId>) = units.iter().partition(|unit| shop.units[**unit].shared);
    let able = |need: &Need| shared.iter().filter(|unit| shop.units[**unit].serves(need.want)).count();
    let counts: Vec<usize> = needs.iter().map(|need| need.count).collect();
    // Others first serve what shared units cannot, then what they need not.
    let others: Vec<usize> = needs.iter().map(|need| need.count.saturating_sub(able(need))).collect();
    let mut places = Places { shop, needs, room: &others, serving: vec![Vec::new(); needs.len()] };
    let left = places.place_all(&one_each);
    let missing = (needs.iter().zip(&others).zip(&places.serving))
        .filter(|((_, others), serving)| serving.len() < **others)
        .map(|((need, others), serving)| Need { want: need.want, count: others - serving.len() })
        .collect();
    places.room = &counts;
    let mut idle = places.place_all(&left);
    let room: Vec<usize> = counts.iter().zip(&places.serving).map(|(count, serving)| count - serving.len()).collect();
    let mut places = Places { shop, needs, room: &room, serving: vec![Vec::new(); needs.len()] };
    idle.extend(places.place_all(&shared));
    idle.sort_unstable();
    (missing, idle)
}

/// Needs with the units that serve them, each one: a greatest matching, by augmenting paths.
struct Places<'p> {
    shop: &'p Shop,
    needs: &'p [Need],
    /// How many units each may take.
    room: &'p [usize],
    serving: Vec<Vec<UnitId>>,
}

impl Places<'_> {
    /// Finds a need for each unit; those for which there is none.
    fn place_all(&mut self, units: &[UnitId]) -> Vec<UnitId> {
        let n = self.needs.len();
        units.iter().copied().filter(|unit| !self.place(&mut vec![false; n], *unit)).collect()
    }

    /// Finds a need for the unit, moving others to other needs where that makes room. No deeper than there are needs.
    fn place(&mut self, tried: &mut [bool], unit: UnitId) -> bool {
        for n in 0..self.needs.len() {
            if tried[n] || !self.shop.units[unit].serves(self.needs[n].want) {
                continue;
            }
            tried[n] = true;
            if self.serving[n].len() < self.room[n] {
                self.serving[n].push(unit);
                return true;
            }
            for i in 0..self.serving[n].len() {
                if self.place(tried, self.serving[n][i]) {
                    self.serving[n][i] = unit;
                    return true;
                }
            }
        }
        false
    }
}

pub(super) fn say_missing(by: Holder, rule: Rule, missing: &[Need], found: &mut Found) {
    for need in missing {
        let fact = match need.want {
            Want::Power => OfUnit::NoPower { by },
            Want::Unit(unit) => OfUnit::NotHeld { by, unit },
            Want::Kind(kind) => OfUnit::Lacks { by, count: need.count as u64, of: kind },
        };
        found.say(rule, fact);
    }
}

pub(super) fn say_idle(by: Holder, rule: Rule, idle: &[UnitId], found: &mut Found) {
    for unit in idle {
        found.say(rule, OfUnit::Idle { by, unit: *unit });
    }
}
