//! Which truck makes which haul of a half-day (H4).

use yardless_book::Moves;

use crate::shop::{CrewId, PlaceId, Shop, TruckFacts, TruckId, UnitId};

/// A haul that still wants a truck.
#[derive(Clone, Copy, Debug)]
pub struct UnhitchedHaul {
    /// The unit.
    pub unit: UnitId,
    /// The place it leaves.
    pub from: PlaceId,
    /// The place it goes to.
    pub to: PlaceId,
}

/// Gives each haul of one half-day a truck, in order; `None` where they are too few or too weak. Heaviest first, each
/// to the weakest truck that can: trucks that tow more can stand in, never the other way round. Where the rest still
/// fits, a truck whose crew works at either end is taken first (a matter of taste): `works_at(crew)` gives its place. Where
/// ratings (H7) or posted weights (H8) let a truck make a heavy haul and not a lighter one, each haul gets one with which the
/// rest still finds its trucks, by bipartite matching.
pub fn hitch(
    shop: &Shop,
    h: usize,
    hauls: &[UnhitchedHaul],
    works_at: impl Fn(CrewId) -> Option<PlaceId>,
) -> Option<Vec<TruckId>> {
    let nested = !shop.weights_part;
    let mut order: Vec<usize> = (0..hauls.len()).collect();
    order.sort_by_key(|i| std::cmp::Reverse(shop.units[hauls[*i].unit].weight_lb));
    let mut room = Room::new(shop, h, &works_at);
    let mut given = vec![None; hauls.len()];
    for (n, i) in order.iter().enumerate() {
        let haul = hauls[*i];
        let near = |truck: TruckId| {
            let place = shop.trucks[truck].crew.and_then(&works_at);
            place == Some(haul.from) || place == Some(haul.to)
        };
        let rest: Vec<UnhitchedHaul> = order[n + 1..].iter().map(|i| hauls[*i]).collect();
        let fits = |room: &Room, truck: TruckId| {
            let mut room = room.clone();
            room.take(shop, truck, haul.unit);
            if !nested {
                return room.has_for(shop, &rest);
            }
            rest.iter().all(|haul| {
                room.weakest(shop, *haul).is_some_and(|truck| {
                    room.take(shop, truck, haul.unit);
                    true
                })
            })
        };
        let preferred = room.able(shop, haul).find(|truck| near(*truck) && fits(&room, *truck));
        let any = || {
            if nested { room.weakest(shop, haul) } else { room.any(shop, haul, |truck| fits(&room, truck)) }
        };
        let truck = preferred.or_else(any)?;
        room.take(shop, truck, haul.unit);
        given[*i] = Some(truck);
    }
    given.into_iter().collect()
}

/// What each truck can still take in a half-day.
#[derive(Clone)]
struct Room {
    h: usize,
    towed: Vec<u32>,
    carried: Vec<u32>,
}

impl Room {
    fn new(shop: &Shop, h: usize, works_at: impl Fn(CrewId) -> Option<PlaceId>) -> Self {
        // In a half-day of overtime only the trucks of crews that work in it (W9).
        let works = |truck: &TruckFacts| truck.crew.is_some_and(|crew| works_at(crew).is_some());
        let comes = |truck: &TruckFacts| truck.available[h] || (truck.in_overtime[h] && works(truck));
        let capacity =
            |moves| shop.trucks.iter().map(|truck| if comes(truck) { truck.capacity(moves) } else { 0 }).collect();
        Self { h, towed: capacity(Moves::Towed), carried: capacity(Moves::Carried) }
    }

    fn of(&mut self, moves: Moves) -> &mut Vec<u32> {
        match moves {
            Moves::Towed => &mut self.towed,
            Moves::Carried => &mut self.carried,
        }
    }

    fn able<'a>(&'a self, shop: &'a Shop, haul: UnhitchedHaul) -> impl Iterator<Item = TruckId> + 'a {
        let room = match shop.units[haul.unit].moves {
            Moves::Towed => &self.towed,
            Moves::Carried => &self.carried,
        };
        shop.trucks
            .ids()
            .zip(room)
            .filter(move |(truck, room)| **room > 0 && self.may(shop, *truck, haul))
            .map(|(t, _)| t)
    }

    fn may(&self, shop: &Shop, truck: TruckId, haul: UnhitchedHaul) -> bool {
        shop.can_haul(truck, haul.unit, (haul.from, haul.to), self.h)
    }

    fn weakest(&self, shop: &Shop, haul: UnhitchedHaul) -> Option<TruckId> {
        self.able(shop, haul).min_by_key(|truck| shop.trucks[*truck].tow_lb)
    }

    /// The weakest truck that can make a haul and passes.
    fn any(&self, shop: &Shop, haul: UnhitchedHaul, passes: impl Fn(TruckId) -> bool) -> Option<TruckId> {
        self.able(shop, haul).filter(|truck| passes(*truck)).min_by_key(|truck| shop.trucks[*truck].tow_lb)
    }

    /// Whether hauls find a truck each: augmenting paths, from one haul to the next.
    fn has_for(&self, shop: &Shop, hauls: &[UnhitchedHaul]) -> bool {
        let mut by: Vec<Vec<usize>> = vec![Vec::new(); shop.trucks.len() * 2];
        (0..hauls.len()).all(|haul| self.augment(shop, hauls, haul, &mut by, &mut vec![false; shop.trucks.len() * 2]))
    }

    /// Gives a haul a truck, where need be by giving others another one. What each truck tows, and what it carries.
    fn augment(
        &self,
        shop: &Shop,
        hauls: &[UnhitchedHaul],
        haul: usize,
        by: &mut [Vec<usize>],
        seen: &mut [bool],
    ) -> bool {
        let moves = shop.units[hauls[haul].unit].moves;
        let room = if moves == Moves::Towed { &self.towed } else { &self.carried };
        for truck in shop.trucks.ids().filter(|truck| self.may(shop, *truck, hauls[haul])) {
            let at = crate::shop::Id::index(truck) * 2 + usize::from(moves == Moves::Carried);
            if std::mem::replace(&mut seen[at], true) {
                continue;
            }
            if by[at].len() < room[at / 2] as usize {
                by[at].push(haul);
                return true;
            }
            for i in 0..by[at].len() {
                let other = by[at][i];
                if self.augment(shop, hauls, other, by, seen) {
                    by[at][i] = haul;
                    return true;
                }
            }
        }
        false
    }

    fn take(&mut self, shop: &Shop, truck: TruckId, unit: UnitId) {
        let moves = shop.units[unit].moves;
        self.of(moves)[crate::shop::Id::index(truck)] -= 1;
    }
}
