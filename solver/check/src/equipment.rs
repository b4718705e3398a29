//! Which units each step and job holds, and whether they can be held so: rules E1 to E8.

use yardless_plan::shop::{Going, Need, PlaceId, Shop, StepId, Table, UnitId, Want};
use yardless_plan::{Plan, Rule};

use super::fact::{Holder, OfUnit};
use super::hauls::Yard;
use super::ids::{Ids, when};
use super::rows::{KnownRow, Works, each};
use super::serving::{Holds, UnitHold, named, say_idle, say_missing, serve};
use super::{Found, history, parked};

pub(super) fn judge(shop: &Shop, ids: &Ids, plan: &Plan, work: &Works, yard: &Yard, found: &mut Found) {
    let mut holds: Holds = shop.units.ids().map(|_| Vec::new()).collect();
    for (step, work) in each(&work.steps) {
        step_holds(shop, ids, step, work, &mut holds, found);
    }
    parked::judge(shop, ids, plan, work, yard, &mut holds, found);
    for (unit, holds) in holds.pairs() {
        held(shop, unit, holds, yard, found);
    }
    spots(shop, yard, found);
}

/// E2 and E5: the units of a step are just those that it needs.
fn step_holds(shop: &Shop, ids: &Ids, step: StepId, work: &KnownRow, holds: &mut Holds, found: &mut Found) {
    let by = Holder::Step(step);
    let units = named(ids, work.row.units.iter(), by, Rule::E2, found);
    let facts = &shop.steps[step];
    let place = shop.jobs[facts.job].place;
    // What goes on holds its own units, until it is left (W10).
    let going = facts.going.as_ref().filter(|_| !work.comes_back());
    let held = |going: &Going| going.units.iter().map(|unit| Need { want: Want::Unit(*unit), count: 1 }).collect();
    // As they are written: a shared kind may be listed twice, and be served by one unit or by two (E8).
    let written = || {
        let needs = history::written(shop, step).needs(facts.ways[work.way].base).iter();
        let want = |need: &yardless_book::Need| shop.find_kind(&need.kind).map(Want::Kind);
        needs.filter_map(|need| Some(Need { want: want(need)?, count: need.count as usize })).collect()
    };
    let needs: &Vec<Need> = &going.map_or_else(written, held);
    let start = shop.horizon.offset(work.row.start);
    let count = facts.ways[work.way].power;
    let powerless =
        going.is_none() && count > 0 && start < i64::try_from(shop.places[place].power_from).unwrap_or(i64::MAX);
    let (mut missing, mut idle) = serve(shop, needs, &units);
    let mut rule = Rule::E2;
    if powerless && missing.is_empty() {
        let power = Need { want: Want::Power, count };
        let with_power: Vec<Need> = needs.iter().copied().chain([power]).collect();
        (missing, idle) = serve(shop, &with_power, &units);
        rule = Rule::E5;
    }
    say_missing(by, rule, &missing, found);
    if missing.is_empty() {
        say_idle(by, Rule::E2, &idle, found);
    }
    let Some((start, end)) = work.span else { return };
    for unit in units {
        let waits = going.is_some();
        holds[unit].push(UnitHold { start, end, in_use: end, place, by, waits, rule: Rule::E2 });
    }
}

/// E2 to E4, E8: a unit serves one need at a time unless it is shared, at its place, and never while it is out.
fn held(shop: &Shop, unit: UnitId, holds: &[UnitHold], yard: &Yard, found: &mut Found) {
    let mut holds: Vec<&UnitHold> = holds.iter().collect();
    holds.sort_by_key(|hold| (hold.start, hold.end, hold.rule));
    let mut latest: Option<&UnitHold> = None;
    for hold in holds {
        let (by, place) = (hold.by, hold.place);
        if let Some(first) = latest.filter(|first| hold.start <= first.end && !shop.units[unit].shared) {
            let rule = if first.rule == Rule::E3 { Rule::E3 } else { hold.rule };
            let at = when(shop, hold.start);
            found.say(rule, OfUnit::HeldTwice { unit, by: first.by, other: by, at });
        }
        if latest.is_none_or(|other| hold.end > other.end) {
            latest = Some(hold);
        }
        if let Some(h) = (hold.start..=hold.in_use).find(|h| shop.units[unit].out[*h] && !hold.waits) {
            found.say(Rule::E4, OfUnit::Out { unit, by, at: when(shop, h) });
        }
        let stands = &yard.stands[unit];
        if let Some(h) = (hold.start..=hold.end).find(|h| stands[*h] != Some(place)) {
            let at = when(shop, h);
            match stands[h] {
                Some(stands) => found.say(hold.rule, OfUnit::Elsewhere { unit, by, at, stands, place }),
                None => found.say(Rule::H5, OfUnit::OnRoad { unit, by, at }),
            }
        }
    }
}

/// E6: no more towed units at a place than its spots, one breach for each run of half-days.
fn spots(shop: &Shop, yard: &Yard, found: &mut Found) {
    let mut there: Table<PlaceId, Vec<usize>> = Table::filled(shop.places.len(), vec![0; shop.len()]);
    for (unit, _) in shop.units.pairs().filter(|(_, facts)| facts.towed()) {
        for (h, place) in yard.stands[unit].iter().enumerate() {
            if let Some(place) = place {
                there[*place][h] += 1;
            }
        }
    }
    for (place, facts) in shop.places.pairs() {
        let Some(spots) = facts.spots else { continue };
        let over = |h: usize| there[place][h] > spots;
        for h in (shop.now..shop.len()).filter(|h| over(*h) && (*h == shop.now || !over(h - 1))) {
            let (count, spots) = (there[place][h] as u64, spots as u64);
            found.say(Rule::E6, OfUnit::TooFewSpots { place, count, spots, at: when(shop, h) });
        }
    }
}
