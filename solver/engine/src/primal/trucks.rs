//! What the trucks can still haul in each half-day (H4, H7, H8).

use std::sync::Arc;

use yardless_book::Moves;
use yardless_plan::shop::{CrewId, Id, PlaceId, Shop, TruckFacts, UnitId, within};

use super::half_days::{HalfDaySets, HalfDays, holds};
use super::route::RouteHaul;

/// Sets of trucks beyond which some unions are left out: then trucks may turn out to be too few when they are told apart.
const MOST_SETS: usize = 64;

/// Truck capacity by half-day. For every set of trucks that some haul may be made by, and for unions of these, what they can
/// still make; a haul takes from every set that holds all its trucks, so that by Hall's theorem each finds one while nothing
/// falls below zero. Where a truck that tows more can do all that a weaker one can, the sets are nested, one for each weight.
/// The trucks of a crew that works in overtime are there as long as it does ([`Trucks::come`], W9).
#[derive(Clone)]
pub(crate) struct Trucks {
    /// What never changes.
    of: Arc<TruckSets>,
    /// Hauls that can still be made, by set and half-day.
    left: Vec<i32>,
    /// The half-days in which a haul of each group still finds a truck.
    free: HalfDaySets,
    /// Where something is posted: the half-days in which each unit finds one that may come to each place.
    free_at: Option<HalfDaySets>,
}

/// The sets of trucks, and which hauls count in which.
struct TruckSets {
    /// Half-days.
    len: usize,
    /// The sets: what is hauled, and the trucks.
    sets: Vec<(Moves, Vec<bool>)>,
    /// Groups of hauls that the same trucks may make: the sets that they count in.
    counts_in: Vec<Vec<usize>>,
    /// By unit: its group where nothing is posted, and where each of the weights that are posted anywhere is, the least first.
    groups: Vec<Vec<usize>>,
    /// By place and half-day, where something is posted anywhere: which of them, 0 for none, else one more.
    at: Vec<Vec<usize>>,
}

impl TruckSets {
    fn new(shop: &Shop) -> Self {
        let posted = shop.posted_weights();
        // The largest first, as what is short there is so for the most hauls.
        let sets: Vec<(Moves, Vec<bool>)> = [Moves::Towed, Moves::Carried]
            .into_iter()
            .flat_map(|moves| shop.truck_sets(moves, MOST_SETS).into_iter().rev().map(move |set| (moves, set)))
            .collect();
        let mut counts_in: Vec<Vec<usize>> = Vec::new();
        let mut group = |unit: UnitId, most: Option<u32>| {
            let (moves, takers) = (shop.units[unit].moves, shop.takers_under(unit, most));
            let all = sets.iter().enumerate();
            let of = all.filter(|(_, set)| set.0 == moves && within(&takers, &set.1)).map(|(i, _)| i).collect();
            counts_in.iter().position(|other| *other == of).unwrap_or_else(|| {
                counts_in.push(of);
                counts_in.len() - 1
            })
        };
        let weights = || std::iter::once(None).chain(posted.iter().map(|most| Some(*most)));
        let groups = shop.units.ids().map(|unit| weights().map(|most| group(unit, most)).collect()).collect();
        let which = |most: Option<u32>| most.map_or(0, |most| posted.binary_search(&most).map_or(0, |i| i + 1));
        let at = |place: PlaceId| (0..shop.len()).map(|h| which(shop.posted(place, h))).collect();
        let at = if posted.is_empty() { Vec::new() } else { shop.places.ids().map(at).collect() };
        Self { len: shop.len(), sets, counts_in, groups, at }
    }

    /// The group of a haul: that of the least weight posted at its ends.
    fn group(&self, unit: UnitId, (from, to): (PlaceId, PlaceId), h: usize) -> usize {
        let posted = |place: PlaceId| self.at.get(place.index()).map_or(0, |at| at[h]);
        let least = match (posted(from), posted(to)) {
            (0, one) | (one, 0) => one,
            (one, other) => one.min(other),
        };
        self.groups[unit.index()][least]
    }
}

impl Trucks {
    pub(crate) fn new(shop: &Shop) -> Self {
        let of = TruckSets::new(shop);
        let most = |h: usize, set: &(Moves, Vec<bool>)| capacity(shop, set, |truck| truck.available[h]);
        let mut trucks = Self {
            left: of.sets.iter().flat_map(|set| (0..shop.len()).map(move |h| most(h, set))).collect(),
            free: HalfDaySets::new(of.counts_in.len(), shop.len()),
            free_at: (!of.at.is_empty()).then(|| HalfDaySets::new(shop.units.len() * shop.places.len(), shop.len())),
            of: Arc::new(of),
        };
        for h in 0..shop.len() {
            trucks.find_free(h);
        }
        trucks
    }

    /// A haul needs a truck left in every set that it counts in.
    fn find_free(&mut self, h: usize) {
        for (group, sets) in self.of.counts_in.iter().enumerate() {
            let free = sets.iter().all(|set| self.left[set * self.of.len + h] > 0);
            self.free.put(group, h, free);
        }
        let Some(free_at) = &mut self.free_at else { return };
        let places = self.of.at.len();
        for (unit, groups) in self.of.groups.iter().enumerate() {
            for (place, posted) in self.of.at.iter().enumerate() {
                let group = groups[posted[h]];
                free_at.put(unit * places + place, h, holds(self.free.row(group), h));
            }
        }
    }

    /// The half-days in which a haul of the unit from a place, or to it, still finds a truck.
    pub(crate) fn free(&self, unit: UnitId, place: PlaceId) -> HalfDays<'_> {
        match &self.free_at {
            None => self.free.row(self.of.groups[unit.index()][0]),
            Some(free_at) => free_at.row(unit.index() * self.of.at.len() + place.index()),
        }
    }

    /// Makes so many hauls of the unit more, or fewer.
    pub(crate) fn count(&mut self, unit: UnitId, haul: &RouteHaul, by: i32) {
        let h = haul.at;
        for set in &self.of.counts_in[self.of.group(unit, (haul.from, haul.to), h)] {
            self.left[set * self.of.len + h] -= by;
        }
        self.find_free(h);
    }

    /// The trucks of a crew come in a half-day of overtime in which it works, or go again.
    pub(crate) fn come(&mut self, shop: &Shop, crew: CrewId, h: usize, come: bool) {
        for (i, set) in self.of.sets.iter().enumerate() {
            let more = capacity(shop, set, |truck| truck.crew == Some(crew) && truck.in_overtime[h]);
            self.left[i * self.of.len + h] += if come { more } else { -more };
        }
        self.find_free(h);
    }

    /// A half-day in which more is hauled than the trucks there can.
    pub(crate) fn short(&self) -> Option<usize> {
        self.left.iter().position(|left| *left < 0).map(|i| i % self.of.len)
    }
}

/// What some trucks of a set make in a half-day of hauls that move so.
fn capacity(shop: &Shop, (moves, set): &(Moves, Vec<bool>), of: impl Fn(&TruckFacts) -> bool) -> i32 {
    let able = shop.trucks.iter().zip(set).filter(|(truck, holds)| **holds && of(truck));
    able.map(|(truck, _)| truck.capacity(*moves) as i32).sum()
}
