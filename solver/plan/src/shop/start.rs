//! Faults of a book that only a horizon shows: a fixed start that cannot be kept (W8), trailers over the spots (E6).

use yardless_book::{Code, Fault, Moves, Path};

use super::{Id, PlaceId, Shop, TruckId, UnitId};

pub(super) fn faults(shop: &Shop) -> Vec<Fault> {
    let mut faults = fixed_starts(shop);
    faults.extend(trailers(shop));
    faults
}

/// W8: a fixed start within the horizon that is workable for no crew and no way that `fixed` allows.
fn fixed_starts(shop: &Shop) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (j, job) in shop.jobs.pairs() {
        if job.later {
            continue;
        }
        for step in job.step_ids() {
            let facts = &shop.steps[step];
            let k = facts.listed;
            let Some(start) = facts.fixed.start.and_then(|start| shop.horizon.index(start)) else { continue };
            if start < shop.now || shop.choices(step).any(|(_, _, runs)| runs.workable[start]) {
                continue;
            }
            let path =
                Path::default().field("jobs").index(j.index()).field("steps").index(k).field("fixed").field("start");
            let at = shop.horizon.half_day(start);
            faults.push(
                Fault::new(
                    Code::FixedStart,
                    path,
                    format!("no crew that may do {} at {} can work on it on {at}", facts.name, job.name),
                )
                .help("fix a half-day in which a crew with the skill is present, there is access and the weather allows; or take the start away"),
            );
        }
    }
    faults
}

/// E6 at the beginning: every place over its spots must be mended by hauls at the start of the first half-day planned, and none
/// may be over them again by these.
fn trailers(shop: &Shop) -> Vec<Fault> {
    let over: Vec<PlaceId> = shop.places.ids().filter(|place| excess(shop, &standing(shop), *place) > 0).collect();
    if over.is_empty() || shop.mending().is_some() {
        return Vec::new();
    }
    over.into_iter()
        .map(|place| {
            let facts = &shop.places[place];
            let there = shop.units.iter().filter(|unit| unit.towed() && unit.place == place).count();
            let stand = if there == 1 { "trailer stands" } else { "trailers stand" };
            Fault::new(
                Code::TooManyTrailers,
                Path::default().field("places").index(place.index()).field("trailer_spots"),
                format!(
                    "{there} {stand} at {} at the beginning, it has {} spots, and no hauls from the first half-day on can mend it",
                    facts.name,
                    facts.spots.unwrap_or(0)
                ),
            )
            .help("correct the `place` of a trailer or the `trailer_spots`, or start from a half-day in which one can be hauled away")
        })
        .collect()
}

impl Shop {
    /// Whether somewhere more trailers stand at the beginning than there are spots: then every plan hauls some away at
    /// once, also one that does no job (E6).
    pub fn crowded(&self) -> bool {
        let standing = standing(self);
        self.places.ids().any(|place| excess(self, &standing, place) > 0)
    }

    /// Hauls by which no place has more trailers than its spots from the first half-day planned on (E6); `None` where none are
    /// found.
    pub fn mending(&self) -> Option<Vec<MendingHaul>> {
        let mut so_far = Mending {
            h: self.now,
            standing: standing(self),
            coming: Vec::new(),
            come: Vec::new(),
            towed: vec![0; self.trucks.len()],
            hauls: Vec::new(),
            tries: MOST_TRIES,
        };
        mend(self, &mut so_far).then_some(so_far.hauls)
    }
}

/// A trailer that is hauled out of others' way at the start of a half-day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MendingHaul {
    /// The trailer.
    pub unit: UnitId,
    /// To where.
    pub to: PlaceId,
    /// The half-day from which on it stands there.
    pub comes: usize,
}

/// Where each towed unit stands; `None`: on the road, or not towed.
fn standing(shop: &Shop) -> Vec<Option<PlaceId>> {
    shop.units.iter().map(|unit| unit.towed().then_some(unit.place)).collect()
}

fn excess(shop: &Shop, standing: &[Option<PlaceId>], place: PlaceId) -> usize {
    let there = standing.iter().filter(|at| **at == Some(place)).count();
    shop.places[place].spots.map_or(0, |spots| there.saturating_sub(spots))
}

/// Hauls tried before a book is held to be past mending: far more than any real yard takes.
const MOST_TRIES: u32 = 100_000;

/// Hauls tried so far.
#[derive(Clone)]
struct Mending {
    h: usize,
    standing: Vec<Option<PlaceId>>,
    /// What is on the road, and to where.
    coming: Vec<(UnitId, PlaceId)>,
    /// What came off it, or was hauled, in this half-day: it leaves at its start no more (H1).
    come: Vec<UnitId>,
    towed: Vec<u32>,
    hauls: Vec<MendingHaul>,
    tries: u32,
}

impl Mending {
    fn take(&mut self, unit: UnitId, to: PlaceId, truck: TruckId, long: bool) {
        self.standing[unit.index()] = (!long).then_some(to);
        self.coming.extend(long.then_some((unit, to)));
        self.come.push(unit);
        self.towed[truck.index()] += 1;
        self.hauls.push(MendingHaul { unit, to, comes: self.h + usize::from(long) });
    }

    /// The next half-day: what was on the road has come.
    fn next(&self, shop: &Shop) -> Self {
        let mut next = Self { h: self.h + 1, towed: vec![0; shop.trucks.len()], ..self.clone() };
        next.come = next.coming.iter().map(|(unit, _)| *unit).collect();
        for (unit, to) in next.coming.drain(..) {
            next.standing[unit.index()] = Some(to);
        }
        next
    }
}

/// Depth-first: haul one unit away from some place over its spots, until none is, nor will be when all on the road has come.
fn mend(shop: &Shop, so_far: &mut Mending) -> bool {
    let over = |place: &PlaceId| excess(shop, &so_far.standing, *place) > 0;
    let Some(place) = shop.places.ids().find(over) else {
        if so_far.coming.is_empty() || so_far.h + 1 >= shop.len() {
            return true;
        }
        let mut next = so_far.next(shop);
        let mended = mend(shop, &mut next);
        so_far.tries = next.tries;
        if mended {
            *so_far = next;
        }
        return mended;
    };
    let stays = |unit: &UnitId| so_far.standing[unit.index()] == Some(place) && !so_far.come.contains(unit);
    let units: Vec<UnitId> = shop.units.ids().filter(stays).collect();
    for unit in units {
        for to in shop.places.ids() {
            let Some(time) = shop.haul_time(Moves::Towed, place, to) else { continue };
            if shop.may_haul(unit, place, to, so_far.h).is_none() {
                continue;
            }
            for (truck, facts) in shop.trucks.pairs() {
                let may = facts.available[so_far.h] && shop.can_haul(truck, unit, (place, to), so_far.h);
                if !may || so_far.towed[truck.index()] >= facts.tows {
                    continue;
                }
                if so_far.tries == 0 {
                    return false;
                }
                so_far.tries -= 1;
                let mut next = so_far.clone();
                next.take(unit, to, truck, time.long);
                let mended = mend(shop, &mut next);
                so_far.tries = next.tries;
                if mended {
                    *so_far = next;
                    return true;
                }
            }
        }
    }
    false
}
