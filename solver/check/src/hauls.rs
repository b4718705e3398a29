//! Whether each haul may be made, and where every unit then stands: rules E1, E4, H1 to H6.

use std::collections::BTreeMap;

use yardless_book::Moves;
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_plan::shop::{HaulTime, Id, PlaceId, RoadState, Shop, StepId, Table, TruckId, UnitId};
use yardless_plan::{HaulRow, Plan, Rule, cost};

use super::fact::{OfDrive, OfHaul, OfRoute, OfTruck};
use super::ids::{Ids, when};
use super::rows::{KnownRow, Works, each};
use super::{Found, help, rated};

/// Where the units stand, and what moving them costs.
pub(super) struct Yard {
    /// By half-day index, after the hauls of its start; `None`: on the road.
    pub(super) stands: Table<UnitId, Places>,
    /// The same as each begins, before the hauls of its start.
    pub(super) begins: Table<UnitId, Places>,
    /// C3.
    pub(super) cost: Cents,
}

/// Where a unit stands, by half-day index; `None`: on the road.
type Places = Vec<Option<PlaceId>>;

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
            found.say(Rule::H1, OfHaul::Outside { unit, at: row.at });
            continue;
        };
        let towed = shop.units[unit].moves;
        let time = shop.haul_time(towed, from, to);
        let minutes = time.map_or(0, |time| time.minutes);
        cents = cents.saturating_add(cost::haul(shop, towed, minutes).0);
        let haul = Move { row, from, to, h, time };
        roads(shop, unit, &haul, truck.is_some_and(|truck| overtime(shop, truck, h, works)), found);
        stated(unit, &haul, found);
        if let Some(truck) = truck {
            can_tow(shop, unit, truck, row.at, found);
            posted(shop, unit, truck, (row.at, h), [from, to], found);
            *trips.entry((truck, h, towed)).or_insert(0_u32) += 1;
        }
        moves[unit].push(haul);
    }
    trucks(shop, &trips, found);
    let followed = shop.units.ids().map(|unit| {
        moves[unit].sort_by_key(|haul| (haul.h, haul.row.evening));
        follow(shop, unit, &moves[unit], found)
    });
    let (begins, stands): (Vec<_>, Vec<_>) = followed.unzip();
    Yard { begins: begins.into_iter().collect(), stands: stands.into_iter().collect(), cost: Cents(cents) }
}

/// H1 to H3 and E4: whether the haul may be made in its half-day at all, trucks apart.
fn roads(shop: &Shop, unit: UnitId, haul: &Move, overtime: bool, found: &mut Found) {
    let (facts, at) = (&shop.units[unit], haul.row.at);
    if haul.from == haul.to {
        found.say(Rule::H1, OfHaul::SamePlace { unit, at, place: haul.from });
    }
    if haul.h < shop.now {
        found.say(Rule::N1, OfHaul::Past { unit, at });
    }
    if !shop.works[haul.h] && !overtime {
        let may = shop.overtime[haul.h];
        found.say(Rule::H1, if may { OfHaul::Overtime { unit, at } } else { OfHaul::Closed { unit, at } });
    }
    if facts.out[haul.h] {
        found.say(Rule::E4, OfHaul::Out { unit, at });
    }
    let mut leans = false;
    for place in [haul.from, haul.to] {
        let there = &shop.places[place];
        if facts.moves == Moves::Carried {
            if there.weather[haul.h].no_travel {
                found.say(Rule::H3, OfDrive::NoTravel { unit, at, place });
            }
            continue;
        }
        match there.road[haul.h] {
            RoadState::Open => {}
            RoadState::ExpectedClear => leans = true,
            RoadState::Closed(why) => found.say(Rule::H2, OfDrive::RoadClosed { unit, at, place, why }),
        }
    }
    match haul.row.needs_clear {
        Some(false) if leans => found.say(Rule::H2, OfDrive::NotMarkedClear { unit, at }),
        Some(true) if !leans => found.say(Rule::H2, OfDrive::MarkedClear { unit, at }),
        _ => {}
    }
}

/// W9: whether the truck's crew works in overtime in the half-day.
fn overtime(shop: &Shop, truck: TruckId, h: usize, works: &Works) -> bool {
    let Some(crew) = shop.trucks[truck].crew.filter(|_| shop.overtime[h]) else { return false };
    let out = shop.book.trucks[truck.index()].out.iter().any(|range| range.holds(shop.horizon.half_day(h)));
    let at_work = |(step, work): (StepId, &KnownRow)| {
        help::who_works(shop, &work.team, h).any(|of| of == crew)
            && shop.steps[step].ways[work.way].overtime
            && work.span.is_some_and(|(start, end)| (start..=end).contains(&h))
            && shop.obstacle(step, work.way, &work.team, h).is_none()
    };
    !out && each(&works.steps).any(at_work)
}

/// H5 and H6: the drive must be known, and what the plan says of it right.
fn stated(unit: UnitId, haul: &Move, found: &mut Found) {
    let (row, at) = (haul.row, haul.row.at);
    let Some(time) = haul.time else {
        return found.say(Rule::H6, OfDrive::NoDrive { unit, at, from: haul.from, to: haul.to });
    };
    if row.minutes != 0 && row.minutes != time.minutes {
        found.say(Rule::H5, OfDrive::Minutes { unit, at, is: time.minutes, said: row.minutes });
    }
    match row.estimate {
        Some(false) if time.estimate => found.say(Rule::H6, OfDrive::NotMarkedEstimate { unit, at }),
        Some(true) if !time.estimate => found.say(Rule::H6, OfDrive::MarkedEstimate { unit, at }),
        _ => {}
    }
}

/// H4 and H7 of one haul: the truck is strong enough, and no rating is exceeded.
fn can_tow(shop: &Shop, unit: UnitId, truck: TruckId, at: HalfDay, found: &mut Found) {
    let weighs = rated::weighs(shop, unit);
    if shop.units[unit].moves == Moves::Towed && shop.book.trucks[truck.index()].tow_lb < weighs {
        found.say(Rule::H4, OfDrive::TooHeavy { unit, at, truck });
    }
    if let Some(over) = rated::over(shop, unit, truck) {
        found.say(Rule::H7, OfDrive::OverRating { unit, at, truck, over });
    }
}

/// H8: truck and unit together are no heavier than what is posted at either end.
fn posted(shop: &Shop, unit: UnitId, truck: TruckId, (at, h): (HalfDay, usize), ends: [PlaceId; 2], found: &mut Found) {
    let weigh = rated::together(shop, unit, truck);
    for place in ends {
        if let Some(posted) = rated::posted(shop, place, h).filter(|posted| weigh > *posted) {
            found.say(Rule::H8, OfDrive::OverPosted { unit, at, truck, place, posted, weigh });
        }
    }
}

/// H4 of each truck in each half-day: it is available, and makes no more hauls than it may.
fn trucks(shop: &Shop, trips: &BTreeMap<(TruckId, usize, Moves), u32>, found: &mut Found) {
    for (&(truck, h, moves), &count) in trips {
        let (facts, written) = (&shop.trucks[truck], &shop.book.trucks[truck.index()]);
        let at = when(shop, h);
        if shop.works[h] && h >= shop.now && !facts.available[h] {
            let crew = facts.crew.filter(|crew| shop.crews[*crew].people[h] == 0);
            found.say(Rule::H4, OfTruck::Away { truck, at, crew });
        }
        let most = match moves {
            Moves::Towed if written.tow_lb == 0 => 0,
            Moves::Towed => written.tows,
            Moves::Carried => written.carries,
        };
        if count > most {
            found.say(Rule::H4, OfTruck::TooMany { truck, at, moves, count, most });
        }
    }
}

/// E1, H1 and H5: follows a unit through the horizon, its hauls in the order of time.
/// After a haul that it could not make it is taken to be where the plan says. Where it stands as each half-day begins, and in
/// it.
fn follow(shop: &Shop, unit: UnitId, moves: &[Move], found: &mut Found) -> (Places, Places) {
    let mut moves = moves.iter().peekable();
    let mut stands = Some(shop.units[unit].place);
    let mut coming = None;
    let (mut begins, mut by_half_day) = (Vec::with_capacity(shop.len()), Vec::with_capacity(shop.len()));
    for h in 0..shop.len() {
        // Came in from the road, or hauled over last evening: here from now on, not since before.
        let just_come = coming.is_some();
        if just_come {
            stands = coming.take();
        }
        begins.push(stands);
        let mut hauls = 0;
        while let Some(haul) = moves.next_if(|haul| haul.h == h) {
            let at = haul.row.at;
            let long = haul.time.is_some_and(|time| time.long);
            hauls += 1;
            let from = haul.from;
            if hauls > 1 {
                found.say(Rule::H1, OfRoute::Twice { unit, at });
            } else if stands != Some(from) {
                found.say(Rule::E1, OfRoute::NotThere { unit, at, from, stands });
            } else if just_come && !haul.row.evening {
                found.say(Rule::H1, OfRoute::OnlyArrives { unit, at, from });
            }
            if haul.row.evening {
                if !at.is_pm() {
                    found.say(Rule::H1, OfRoute::EveningOfMorning { unit, at });
                }
                if long {
                    found.say(Rule::H1, OfRoute::TooLongForEvening { unit, at });
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
    (begins, by_half_day)
}
