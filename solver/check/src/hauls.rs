//! Whether each haul may be made, and where every unit then stands: rules E1, E4, H1 to H6.

use std::collections::BTreeMap;

use yardless_book::Moves;
use yardless_book::money::Cents;
use yardless_plan::shop::{Closure, HaulTime, Id, PlaceId, RoadState, Shop, StepId, Table, TruckId, UnitId};
use yardless_plan::{HaulRow, Plan, cost};

use super::Found;
use super::ids::{Ids, when};
use super::work::{Work, Works, each};

/// Where the units stand, and what moving them costs.
pub(super) struct Yard {
    /// By half-day index, after the hauls of its start; `None`: on the road.
    pub(super) stands: Table<UnitId, Vec<Option<PlaceId>>>,
    /// C3.
    pub(super) cost: Cents,
}

struct Move<'a> {
    row: &'a HaulRow,
    from: PlaceId,
    to: PlaceId,
    h: usize,
    /// `None`: the drive is not known.
    time: Option<HaulTime>,
}

pub(super) fn judge(shop: &Shop, ids: &Ids, plan: &Plan, works: &Works, found: &mut Found) -> Yard {
    let mut moves: Table<UnitId, Vec<Move>> = shop.units.ids().map(|_| Vec::new()).collect();
    let mut trips = BTreeMap::new();
    let mut cents: i64 = 0;
    for row in &plan.hauls {
        let unit = ids.unit(&row.unit, found);
        let (from, to) = (ids.place(&row.from, found), ids.place(&row.to, found));
        let truck = ids.truck(&row.truck, found);
        let (Some(unit), Some(from), Some(to)) = (unit, from, to) else { continue };
        let Some(h) = shop.horizon.index(row.at) else {
            found.about(
                unit,
                "H1",
                format!("{} is hauled on {}, which is not within the horizon", shop.units[unit].name, row.at),
            );
            continue;
        };
        let towed = shop.units[unit].moves;
        let time = shop.haul_time(towed, from, to);
        let minutes = time.map_or(0, |time| time.minutes);
        cents = cents.saturating_add(cost::haul(shop, towed, minutes).0);
        let haul = Move { row, from, to, h, time };
        roads(shop, unit, &haul, truck.is_some_and(|truck| overtime(shop, truck, h, works)), found);
        stated(shop, unit, &haul, found);
        if let Some(truck) = truck {
            can_tow(shop, unit, truck, row, found);
            *trips.entry((truck, h, towed)).or_insert(0_u32) += 1;
        }
        moves[unit].push(haul);
    }
    trucks(shop, &trips, found);
    let stands = shop
        .units
        .ids()
        .map(|unit| {
            moves[unit].sort_by_key(|haul| (haul.h, haul.row.evening));
            follow(shop, unit, &moves[unit], found)
        })
        .collect();
    Yard { stands, cost: Cents(cents) }
}

/// H1 to H3 and E4: whether the haul may be made in its half-day at all, trucks apart.
fn roads(shop: &Shop, unit: UnitId, haul: &Move, overtime: bool, found: &mut Found) {
    let (facts, at) = (&shop.units[unit], haul.row.at);
    let name = &facts.name;
    if haul.from == haul.to {
        found.about(unit, "H1", format!("{name} is hauled on {at} from {0} to {0}", shop.places[haul.from].name));
    }
    if haul.h < shop.now {
        found.about(unit, "N1", format!("{name} is hauled on {at}, which is before now"));
    }
    if !shop.works[haul.h] && !overtime {
        let says = if shop.overtime[haul.h] {
            format!("{name} is hauled on {at}, when only a crew that works in overtime hauls, with its own truck")
        } else {
            format!("{name} is hauled on {at}, when the shop does not work")
        };
        found.about(unit, "H1", says);
    }
    if facts.out[haul.h] {
        found.about(unit, "E4", format!("{name} is hauled on {at}, while it is out"));
    }
    let mut leans = false;
    for place in [haul.from, haul.to] {
        let place = &shop.places[place];
        if facts.moves == Moves::Carried {
            if place.weather[haul.h].no_travel {
                found.about(
                    unit,
                    "H3",
                    format!("{name} is carried on {at}, when there is no travel at {}", place.name),
                );
            }
            continue;
        }
        match place.road[haul.h] {
            RoadState::Open => {}
            RoadState::ExpectedClear => leans = true,
            RoadState::Closed(why) => {
                let why = match why {
                    Closure::Storm => "there is a storm",
                    Closure::NoTravel => "there is no travel",
                    Closure::Covered => "it is covered",
                    Closure::Season => "it is the season without trailers",
                };
                found.about(
                    unit,
                    "H2",
                    format!("{name} is towed on {at}; the road at {} is closed to trailers: {why}", place.name),
                );
            }
        }
    }
    match haul.row.needs_clear {
        Some(false) if leans => {
            found.about(
                unit,
                "H2",
                format!("{name} on {at} leans on a road expected clear and is not marked as needing a clear day"),
            );
        }
        Some(true) if !leans => {
            found.about(
                unit,
                "H2",
                format!("{name} on {at} is marked as needing a clear day and leans on no road expected clear"),
            );
        }
        _ => {}
    }
}

/// W9: whether the truck's crew works in overtime in the half-day.
fn overtime(shop: &Shop, truck: TruckId, h: usize, works: &Works) -> bool {
    let Some(crew) = shop.trucks[truck].crew.filter(|_| shop.overtime[h]) else { return false };
    let out = shop.book.trucks[truck.index()].out.iter().any(|range| range.holds(shop.horizon.half_day(h)));
    let at_work = |(step, work): (StepId, &Work)| {
        work.crew == crew
            && shop.steps[step].ways[work.way].overtime
            && work.span.is_some_and(|(start, end)| (start..=end).contains(&h))
            && shop.obstacle(step, work.way, crew, h).is_none()
    };
    !out && each(&works.steps).any(at_work)
}

/// H5 and H6: the drive must be known, and what the plan says of it right.
fn stated(shop: &Shop, unit: UnitId, haul: &Move, found: &mut Found) {
    let (name, row) = (&shop.units[unit].name, haul.row);
    let Some(time) = haul.time else {
        let (from, to) = (&shop.places[haul.from].name, &shop.places[haul.to].name);
        return found.about(unit, "H6", format!("{name} on {}: the drive from {from} to {to} is not known", row.at));
    };
    if row.minutes != 0 && row.minutes != time.minutes {
        found.about(
            unit,
            "H5",
            format!("{name} on {}: the haul takes {} minutes, not {}", row.at, time.minutes, row.minutes),
        );
    }
    match row.estimate {
        Some(false) if time.estimate => {
            found.about(unit, "H6", format!("{name} on {}: the drive is estimated and not marked so", row.at));
        }
        Some(true) if !time.estimate => {
            found.about(
                unit,
                "H6",
                format!("{name} on {}: the drive is marked as estimated and is a known one", row.at),
            );
        }
        _ => {}
    }
}

/// H4 of one haul: the truck is strong enough.
fn can_tow(shop: &Shop, unit: UnitId, truck: TruckId, row: &HaulRow, found: &mut Found) {
    let (facts, truck) = (&shop.units[unit], &shop.trucks[truck]);
    if facts.moves == Moves::Towed && truck.tow_lb < facts.weight_lb {
        let says = format!(
            "{} tows {} on {}: {} lb, and it tows {} lb",
            truck.name, facts.name, row.at, facts.weight_lb, truck.tow_lb
        );
        found.about(unit, "H4", says);
    }
}

/// H4 of each truck in each half-day: it is available, and makes no more hauls than it may.
fn trucks(shop: &Shop, trips: &BTreeMap<(TruckId, usize, Moves), u32>, found: &mut Found) {
    for (&(truck, h, moves), &count) in trips {
        let (facts, written) = (&shop.trucks[truck], &shop.book.trucks[truck.index()]);
        let (name, at) = (&facts.name, when(shop, h));
        if shop.works[h] && h >= shop.now && !facts.available[h] {
            let why = match facts.crew {
                Some(crew) if shop.crews[crew].people[h] == 0 => format!("{} is away", shop.crews[crew].name),
                _ => "it is out".to_owned(),
            };
            found.say("H4", format!("{name} hauls on {at}, when {why}"));
        }
        let (most, verb) = match moves {
            Moves::Towed if written.tow_lb == 0 => (0, "tows"),
            Moves::Towed => (written.tows, "tows"),
            Moves::Carried => (written.carries, "carries"),
        };
        if count > most {
            found.say("H4", format!("{name} {verb} {count} units on {at}, and may {most}"));
        }
    }
}

/// E1, H1 and H5: follows a unit through the horizon, its hauls in the order of time.
/// After a haul that it could not make it is taken to be where the plan says.
fn follow(shop: &Shop, unit: UnitId, moves: &[Move], found: &mut Found) -> Vec<Option<PlaceId>> {
    let name = &shop.units[unit].name;
    let mut moves = moves.iter().peekable();
    let mut stands = Some(shop.units[unit].place);
    let mut coming = None;
    let mut by_half_day = Vec::with_capacity(shop.len());
    for h in 0..shop.len() {
        // Came in from the road, or hauled over last evening: here from now on, not since before.
        let just_come = coming.is_some();
        if just_come {
            stands = coming.take();
        }
        let mut hauls = 0;
        while let Some(haul) = moves.next_if(|haul| haul.h == h) {
            let at = haul.row.at;
            let long = haul.time.is_some_and(|time| time.long);
            hauls += 1;
            if hauls > 1 {
                found.about(unit, "H1", format!("{name} is hauled more than once on {at}"));
            } else if stands != Some(haul.from) {
                let (there, from) =
                    (stands.map_or("on the road", |place| &shop.places[place].name), &shop.places[haul.from].name);
                found.about(unit, "E1", format!("{name} is hauled from {from} on {at}, and is at {there}"));
            } else if just_come && !haul.row.evening {
                found.about(
                    unit,
                    "H1",
                    format!(
                        "{name} is hauled from {} at the start of {at}, in which it only arrives",
                        shop.places[haul.from].name
                    ),
                );
            }
            if haul.row.evening {
                if !at.is_pm() {
                    found.about(unit, "H1", format!("{name} is hauled in the evening of {at}, which is a morning"));
                }
                if long {
                    found.about(
                        unit,
                        "H1",
                        format!("{name} is hauled in the evening of {at}, and the haul takes too long for it"),
                    );
                }
            }
            if haul.row.evening {
                coming = Some(haul.to);
            } else if long {
                (stands, coming) = (None, Some(haul.to));
            } else {
                stands = Some(haul.to);
            }
        }
        by_half_day.push(stands);
    }
    by_half_day
}
