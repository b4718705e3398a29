//! The state of a plan under construction: who is busy, where each unit goes, what trucks and spots are left.

use super::trucks::Trucks;
use super::walk::{SetsOut, Stop, Trip, Walk};
use crate::book::Moves;
use crate::shop::{CrewId, Id, JobId, PlaceId, Shop, UnitId};

/// Everything that steps and hauls compete for, with what is taken so far.
#[derive(Clone)]
pub(super) struct Yard<'s> {
    pub(super) shop: &'s Shop,
    /// Whether a crew works in a half-day: `busy[crew][h]`.
    pub(super) busy: Vec<Vec<bool>>,
    /// The walk of each unit.
    pub(super) walks: Vec<Walk>,
    /// Hauls taken and possible in each half-day.
    trucks: Trucks,
    /// Towed units that stand at each place with spots: `standing[place][h]`.
    standing: Vec<Option<Vec<u16>>>,
}

/// What was there before a change, to take it back.
pub(super) type Undo = Vec<(UnitId, Walk)>;

impl<'s> Yard<'s> {
    /// Nothing done yet. Trailers over the spots of a place at the beginning are hauled away at once (E6).
    pub(super) fn new(shop: &'s Shop) -> Self {
        let mut yard = Self {
            shop,
            busy: vec![vec![false; shop.len()]; shop.crews.len()],
            walks: vec![Walk::default(); shop.units.len()],
            trucks: Trucks::new(shop),
            standing: shop.places.iter().map(|place| place.spots.map(|_| vec![0; shop.len()])).collect(),
        };
        for unit in shop.units.ids() {
            yard.stand(unit, true);
        }
        yard.mend();
        yard
    }

    fn mend(&mut self) {
        for place in self.shop.places.ids() {
            while self.over(place, 0) && self.make_room(place, 0, None, None, &mut Vec::new()) {}
        }
    }

    fn over(&self, place: PlaceId, h: usize) -> bool {
        let spots = self.shop.places[place].spots;
        self.standing[place.index()].as_ref().zip(spots).is_some_and(|(there, spots)| usize::from(there[h]) > spots)
    }

    /// Whether one more trailer may stand at the place in every half-day of the range.
    fn room(&self, moves: Moves, place: PlaceId, mut range: std::ops::Range<usize>) -> bool {
        if moves == Moves::Carried {
            return true;
        }
        let (Some(there), Some(spots)) = (&self.standing[place.index()], self.shop.places[place].spots) else {
            return true;
        };
        range.all(|h| usize::from(there[h]) < spots)
    }

    /// Counts the unit's stands in, or out.
    fn stand(&mut self, unit: UnitId, counts: bool) {
        let facts = &self.shop.units[unit];
        if facts.moves == Moves::Carried {
            return;
        }
        for (place, from, before) in self.walks[unit.index()].stands(facts.place, self.shop.len()) {
            if let Some(there) = &mut self.standing[place.index()] {
                for count in &mut there[from..before] {
                    if counts { *count += 1 } else { *count -= 1 }
                }
            }
        }
    }

    /// Puts a walk in place of the unit's old one and gives the old one back.
    fn replace(&mut self, unit: UnitId, walk: Walk) -> Walk {
        self.stand(unit, false);
        for trip in self.walks[unit.index()].legs.iter().flatten() {
            self.trucks.count(self.shop, unit, trip.at, -1);
        }
        let old = std::mem::replace(&mut self.walks[unit.index()], walk);
        for trip in self.walks[unit.index()].legs.iter().flatten() {
            self.trucks.count(self.shop, unit, trip.at, 1);
        }
        self.stand(unit, true);
        old
    }

    /// Takes changes back, the last one first.
    pub(super) fn undo(&mut self, undo: Undo) {
        for (unit, walk) in undo.into_iter().rev() {
            self.replace(unit, walk);
        }
    }

    /// Adds a stop to a unit's walk, with the trips to it and on from it. The change in cost, in cents; `None`, and
    /// nothing changed, where it cannot be done.
    pub(super) fn add_stop(&mut self, unit: UnitId, stop: Stop, undo: &mut Undo) -> Option<i64> {
        let facts = &self.shop.units[unit];
        let i = self.walks[unit.index()].position(stop.first, stop.last)?;
        if facts.out_within(stop.first, stop.last) {
            return None;
        }
        let mut bare = self.walks[unit.index()].clone();
        let next = bare.stops.get(i).copied();
        if next.is_some() {
            bare.legs[i] = Vec::new();
        }
        bare.stops.insert(i, stop);
        bare.legs.insert(i, Vec::new());
        let old = self.walks[unit.index()].clone();
        // Trips are looked for with the unit's old ones, and its own stands, out of the way.
        self.stand(unit, false);
        for trip in old.legs.get(i).into_iter().flatten() {
            self.trucks.count(self.shop, unit, trip.at, -1);
        }
        let walk = self.legs(unit, bare, i, next);
        for trip in old.legs.get(i).into_iter().flatten() {
            self.trucks.count(self.shop, unit, trip.at, 1);
        }
        self.stand(unit, true);
        let walk = walk?;
        let cents = walk.cents() - old.cents();
        self.replace(unit, walk);
        if self.crowded(unit) {
            self.replace(unit, old);
            return None;
        }
        undo.push((unit, old));
        Some(cents)
    }

    /// The walk with the legs to stop i and to the one after it.
    fn legs(&mut self, unit: UnitId, mut walk: Walk, i: usize, next: Option<Stop>) -> Option<Walk> {
        let stop = walk.stops[i];
        walk.legs[i] = self.route(unit, walk.sets_out(self.shop, unit, i), stop.place, stop.first)?;
        if let Some(next) = next {
            for trip in &walk.legs[i] {
                self.trucks.count(self.shop, unit, trip.at, 1);
            }
            let on = self.route(unit, walk.sets_out(self.shop, unit, i + 1), next.place, next.first);
            for trip in &walk.legs[i] {
                self.trucks.count(self.shop, unit, trip.at, -1);
            }
            walk.legs[i + 1] = on?;
        }
        Some(walk)
    }

    /// Whether the unit's stands bring some place over its spots.
    fn crowded(&self, unit: UnitId) -> bool {
        let facts = &self.shop.units[unit];
        facts.moves == Moves::Towed
            && self.walks[unit.index()]
                .stands(facts.place, self.shop.len())
                .into_iter()
                .any(|(place, from, before)| (from..before).any(|h| self.over(place, h)))
    }

    /// Takes a job's stops out of every walk. Where no direct way leads past them any more, the old trips stay.
    pub(super) fn remove_stops(&mut self, job: JobId) {
        for unit in self.shop.units.ids() {
            let old = &self.walks[unit.index()];
            if old.stops.iter().all(|stop| stop.job != Some(job)) {
                continue;
            }
            let mut walk = Walk::default();
            let mut waiting: Vec<Trip> = Vec::new();
            let mut skipped = Vec::new();
            for (stop, leg) in old.stops.iter().zip(&old.legs) {
                waiting.extend(leg);
                if stop.job == Some(job) {
                    skipped.push(walk.stops.len());
                } else {
                    walk.stops.push(*stop);
                    walk.legs.push(std::mem::take(&mut waiting));
                }
            }
            self.replace(unit, walk);
            for i in skipped {
                self.shorten(unit, i);
            }
        }
    }

    /// A shorter leg to stop i, where there is one.
    fn shorten(&mut self, unit: UnitId, i: usize) {
        let Some(stop) = self.walks[unit.index()].stops.get(i).copied() else { return };
        let mut walk = self.walks[unit.index()].clone();
        let old = std::mem::take(&mut walk.legs[i]);
        let before = self.replace(unit, walk.clone());
        self.stand(unit, false);
        let leg = self.route(unit, walk.sets_out(self.shop, unit, i), stop.place, stop.first);
        self.stand(unit, true);
        let cents = |leg: &[Trip]| leg.iter().map(|trip| trip.cents).sum::<i64>();
        match leg {
            Some(leg) if cents(&leg) <= cents(&old) => {
                walk.legs[i] = leg;
                self.replace(unit, walk);
                if self.crowded(unit) {
                    self.replace(unit, before);
                }
            }
            _ => {
                self.replace(unit, before);
            }
        }
    }

    /// Trips that bring a unit to a place where it must stand in half-day `by`: none, one, or two by way of a third
    /// place; as late as can be, so that it stays free until then.
    fn route(&self, unit: UnitId, out: SetsOut, to: PlaceId, by: usize) -> Option<Vec<Trip>> {
        let moves = self.shop.units[unit].moves;
        if out.place == to {
            return self.room(moves, to, out.first_start()..by).then(Vec::new);
        }
        if let Some(trip) = self.trip(unit, out, to, by) {
            return Some(vec![trip]);
        }
        let mut ways: Vec<(u32, PlaceId)> = self
            .shop
            .places
            .ids()
            .filter(|via| *via != to && *via != out.place)
            .filter_map(|via| {
                let first = self.shop.haul_time(moves, out.place, via)?;
                let second = self.shop.haul_time(moves, via, to)?;
                Some((first.minutes + second.minutes, via))
            })
            .collect();
        ways.sort_unstable();
        ways.into_iter().take(MOST_WAYS_ROUND).find_map(|(_, via)| self.two_trips(unit, out, via, to, by))
    }

    fn two_trips(&self, unit: UnitId, out: SetsOut, via: PlaceId, to: PlaceId, by: usize) -> Option<Vec<Trip>> {
        // The second as late as can be; the first so that the unit has stood at the third place in between (H1).
        let mut last = by;
        while let Some(second) = self.trip(unit, SetsOut { place: via, ..out }, to, last) {
            let stand_by = if second.evening { Some(second.at) } else { second.at.checked_sub(1) };
            if let Some(first) = stand_by.and_then(|h| self.trip(unit, out, via, h))
                && first.at != second.at
                && self.room(self.shop.units[unit].moves, via, first.arrives()..second.at)
            {
                return Some(vec![first, second]);
            }
            last = second.arrives().checked_sub(1)?;
        }
        None
    }

    /// The latest single trip after which the unit stands at `to` in half-day `by`.
    fn trip(&self, unit: UnitId, out: SetsOut, to: PlaceId, by: usize) -> Option<Trip> {
        let facts = &self.shop.units[unit];
        let time = self.shop.haul_time(facts.moves, out.place, to)?;
        let cents = self.shop.haul_cost(facts.moves, time.minutes).0;
        let made = |at: usize, evening: bool| {
            let trip = Trip { from: out.place, to, at, evening, long: time.long, cents };
            let leaves = at + usize::from(evening);
            (self.shop.may_haul(unit, out.place, to, at).is_some()
                && self.trucks.has_room(self.shop, unit, at)
                && self.room(facts.moves, to, trip.arrives()..by + 1)
                && self.room(facts.moves, out.place, out.first_start().min(leaves)..leaves))
            .then_some(trip)
        };
        let first = out.first_start().min(out.first_evening());
        for at in (first..=by).rev() {
            let starts = at >= out.first_start() && (!time.long || at < by);
            if let Some(trip) = starts.then(|| made(at, false)).flatten() {
                return Some(trip);
            }
            // The evening before comes next, going back in time.
            let Some(eve) = at.checked_sub(1) else { continue };
            let evening = eve % 2 == 1 && !time.long && eve >= out.first_evening();
            if let Some(trip) = evening.then(|| made(eve, true)).flatten() {
                return Some(trip);
            }
        }
        None
    }

    /// Hauls some trailer away that stands idle at a full place in a half-day, for `job`, never `but`.
    pub(super) fn make_room(
        &mut self,
        place: PlaceId,
        h: usize,
        job: Option<JobId>,
        but: Option<UnitId>,
        undo: &mut Undo,
    ) -> bool {
        let shop = self.shop;
        let idle: Vec<UnitId> = shop
            .units
            .ids()
            .filter(|unit| Some(*unit) != but && shop.units[*unit].moves == Moves::Towed)
            .filter(|unit| {
                let walk = &self.walks[unit.index()];
                walk.position(h, h).is_some()
                    && walk
                        .stands(shop.units[*unit].place, shop.len())
                        .iter()
                        .any(|(at, from, before)| *at == place && (*from..*before).contains(&h))
            })
            .collect();
        for unit in idle {
            let mut to: Vec<(u32, PlaceId)> = shop
                .places
                .ids()
                .filter(|to| *to != place)
                .filter_map(|to| Some((shop.haul_time(Moves::Towed, place, to)?.minutes, to)))
                .collect();
            to.sort_unstable();
            for (_, to) in to.into_iter().take(MOST_WAYS_ROUND) {
                for at in [h, h + 1].into_iter().filter(|at| *at < shop.len()) {
                    let stop = Stop { place: to, first: at, last: at, job };
                    if self.add_stop(unit, stop, undo).is_none() {
                        continue;
                    }
                    let gone = !self.walks[unit.index()]
                        .stands(shop.units[unit].place, shop.len())
                        .iter()
                        .any(|(at, from, before)| *at == place && (*from..*before).contains(&h));
                    if gone {
                        return true;
                    }
                    if let Some((unit, walk)) = undo.pop() {
                        self.replace(unit, walk);
                    }
                }
            }
        }
        false
    }

    /// Whether the place has a limit of trailers.
    pub(super) fn limited(&self, place: PlaceId) -> bool {
        self.standing[place.index()].is_some()
    }

    /// Marks a crew busy, or free again, in the half-days of a run.
    pub(super) fn mark(&mut self, crew: CrewId, worked: &[usize], busy: bool) {
        for h in worked {
            self.busy[crew.index()][*h] = busy;
        }
    }
}

/// Third places looked at for a way round or a resting place, nearest first.
const MOST_WAYS_ROUND: usize = 12;
