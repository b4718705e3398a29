//! Faults of a book that only a horizon shows: a fixed start that cannot be kept (W8), trailers over the spots (E6).

use yardless_book::{Code, Fault, Moves, Path};

use super::{Id, PlaceId, Shop, UnitId};

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

/// E6 at the beginning: every place over its spots must be mended by hauls at the start of the first half-day planned.
fn trailers(shop: &Shop) -> Vec<Fault> {
    let over: Vec<PlaceId> = shop.places.ids().filter(|place| excess(shop, &standing(shop), *place) > 0).collect();
    if over.is_empty() || mend(shop, &mut standing(shop), &mut vec![0; shop.trucks.len()], &mut { MOST_TRIES }) {
        return Vec::new();
    }
    over.into_iter()
        .map(|place| {
            let facts = &shop.places[place];
            let there = shop.units.iter().filter(|unit| unit.towed() && unit.place == place).count();
            Fault::new(
                Code::TooManyTrailers,
                Path::default().field("places").index(place.index()).field("trailer_spots"),
                format!(
                    "{there} trailers stand at {} at the beginning, it has {} spots, and no haul in the first half-day can mend it",
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

/// Depth-first: haul one unit away from some place over its spots, until none is.
fn mend(shop: &Shop, standing: &mut Vec<Option<PlaceId>>, towed: &mut Vec<u32>, tries: &mut u32) -> bool {
    let Some(place) = shop.places.ids().find(|place| excess(shop, standing, *place) > 0) else { return true };
    let units: Vec<UnitId> = shop
        .units
        .ids()
        // A unit hauled here a moment ago is not hauled twice (H1).
        .filter(|unit| standing[unit.index()] == Some(place) && shop.units[*unit].place == place)
        .collect();
    for unit in units {
        for to in shop.places.ids() {
            let Some(time) = shop.haul_time(Moves::Towed, place, to) else { continue };
            if shop.may_haul(unit, place, to, shop.now).is_none() {
                continue;
            }
            for truck in shop.trucks.ids() {
                let facts = &shop.trucks[truck];
                if !facts.available[shop.now] || !shop.can_take(truck, unit) || towed[truck.index()] >= facts.tows {
                    continue;
                }
                if *tries == 0 {
                    return false;
                }
                *tries -= 1;
                standing[unit.index()] = (!time.long).then_some(to);
                towed[truck.index()] += 1;
                if mend(shop, standing, towed, tries) {
                    return true;
                }
                towed[truck.index()] -= 1;
                standing[unit.index()] = Some(place);
            }
        }
    }
    false
}
