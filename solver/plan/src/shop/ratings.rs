//! Which trucks may take a unit by the figures that the shop enters: rule H7 as a table.

use yardless_book::{Book, Brakes, Equipment, Moves, Truck};

use super::{Shop, Table, TruckFacts, TruckId, UnitFacts, UnitId};

/// What keeps a truck from taking a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Unfit {
    /// The unit weighs more than its maker rates it for.
    OwnRating,
    /// Truck and unit together weigh more than the truck's combined rating.
    Combined,
    /// What is carried weighs more than the truck's payload.
    Payload,
    /// The truck has not the unit's hitch.
    Hitch,
    /// The truck cannot work the unit's brakes.
    Brakes,
}

/// H7: what keeps a truck from taking a unit besides H4, as far as the figures are entered.
fn unfit(truck: &Truck, unit: &Equipment) -> Option<Unfit> {
    let weighs = unit.loaded_lb();
    if unit.rating_lb.is_some_and(|rating| weighs > rating) {
        return Some(Unfit::OwnRating);
    }
    if unit.moves == Moves::Carried {
        return truck.payload_lb.filter(|payload| weighs > *payload).map(|_| Unfit::Payload);
    }
    let together = truck.combined_lb.zip(truck.weight_lb);
    if together.is_some_and(|(rating, own)| own.saturating_add(weighs) > rating) {
        return Some(Unfit::Combined);
    }
    if unit.hitch.as_ref().is_some_and(|hitch| !truck.hitches.is_empty() && !truck.hitches.contains(hitch)) {
        return Some(Unfit::Hitch);
    }
    let works = truck.brake_control != Some(false) || unit.brakes != Some(Brakes::Electric);
    (!works).then_some(Unfit::Brakes)
}

/// The trucks that may take each unit (H4, H7).
pub(super) fn takers(
    book: &Book,
    trucks: &Table<TruckId, TruckFacts>,
    units: &Table<UnitId, UnitFacts>,
) -> Vec<Vec<bool>> {
    let of = |(unit, written): (&UnitFacts, &Equipment)| {
        let takes = |(truck, written_truck): (&TruckFacts, &Truck)| {
            truck.is_able(unit.moves, unit.weight_lb) && unfit(written_truck, written).is_none()
        };
        trucks.iter().zip(&book.trucks).map(takes).collect()
    };
    units.iter().zip(&book.equipment).map(of).collect()
}

impl Shop {
    /// Whether a truck may take a unit at all (H4, H7).
    pub fn can_take(&self, truck: TruckId, unit: UnitId) -> bool {
        self.units[unit].takers[super::Id::index(truck)]
    }

    /// What keeps a truck from taking a unit besides H4 (H7).
    pub fn unfit(&self, truck: TruckId, unit: UnitId) -> Option<Unfit> {
        unfit(&self.book.trucks[super::Id::index(truck)], &self.book.equipment[super::Id::index(unit)])
    }

    /// Whether H7 keeps some truck from a unit that H4 would let it take: then the trucks of heavier units need not be among
    /// those of lighter ones.
    pub fn rated(&self) -> bool {
        self.units.iter().any(|unit| {
            self.trucks
                .pairs()
                .any(|(truck, facts)| facts.is_able(unit.moves, unit.weight_lb) != unit.takers[super::Id::index(truck)])
        })
    }

    /// Every set of trucks that may make some haul of units that move so, wherever nothing or a weight is posted (H8), and
    /// every union of such sets; the smallest first. By Hall's theorem hauls find their trucks just where those that only
    /// trucks of such a set may make are no more than these can. At most so many.
    pub fn truck_sets(&self, moves: Moves, most: usize) -> Vec<Vec<bool>> {
        let mut sets: Vec<Vec<bool>> = Vec::new();
        let posted: Vec<Option<u32>> = [None].into_iter().chain(self.posted_weights().into_iter().map(Some)).collect();
        let units = self.units.iter().filter(|unit| unit.moves == moves);
        let takers = units.flat_map(|unit| posted.iter().map(|most| self.takers_under(unit.number, *most)));
        for takers in takers {
            let unions = sets.iter().map(|set| set.iter().zip(&takers).map(|(a, b)| *a || *b).collect());
            let with: Vec<Vec<bool>> = unions.chain([takers.clone()]).collect();
            for set in with {
                if !sets.contains(&set) && sets.len() < most {
                    sets.push(set);
                }
            }
        }
        sets.sort_by_key(|set| set.iter().filter(|holds| **holds).count());
        sets
    }
}

/// Whether all trucks of one set are in another.
pub fn within(set: &[bool], other: &[bool]) -> bool {
    set.iter().zip(other).all(|(holds, other)| !holds || *other)
}
