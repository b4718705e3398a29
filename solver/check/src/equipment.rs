//! Which units each step and job holds, and whether they can be held so: rules E1 to E6, E8.

use std::collections::BTreeSet;

use yardless_plan::shop::{Going, JobId, Need, PlaceId, Shop, StepId, Table, UnitId, Want};
use yardless_plan::{Plan, Rule};

use super::fact::{Holder, OfUnit};
use super::hauls::Yard;
use super::ids::{Ids, when};
use super::rows::{Fate, KnownRow, Works, each};
use super::{Found, history};

/// A unit held for a need, from a half-day to a half-day.
struct UnitHold {
    start: usize,
    end: usize,
    place: PlaceId,
    by: Holder,
    /// Whether the work waits while the unit is out (N1).
    waits: bool,
    /// `E2` for a step's, `E3` for a job's.
    rule: Rule,
}

pub(super) fn judge(shop: &Shop, ids: &Ids, plan: &Plan, work: &Works, yard: &Yard, found: &mut Found) {
    let mut holds: Table<UnitId, Vec<UnitHold>> = shop.units.ids().map(|_| Vec::new()).collect();
    for (step, work) in each(&work.steps) {
        step_holds(shop, ids, step, work, &mut holds, found);
    }
    parked_holds(shop, ids, plan, work, &mut holds, found);
    for (unit, holds) in holds.pairs() {
        held(shop, unit, holds, yard, found);
    }
    spots(shop, yard, found);
}

/// E2 and E5: the units of a step are just those that it needs.
fn step_holds(
    shop: &Shop,
    ids: &Ids,
    step: StepId,
    work: &KnownRow,
    holds: &mut Table<UnitId, Vec<UnitHold>>,
    found: &mut Found,
) {
    let by = Holder::Step(step);
    let units = named(ids, work.row.units.iter(), by, Rule::E2, found);
    let facts = &shop.steps[step];
    let place = shop.jobs[facts.job].place;
    // What goes on holds its own units, until it is left (W10).
    let going = facts.going.as_ref().filter(|_| !work.comes_back());
    let held = |going: &Going| going.units.iter().map(|unit| Need { want: Want::Unit(*unit), count: 1 }).collect();
    let needs: &Vec<Need> = &going.map_or(facts.ways[work.way].needs.clone(), held);
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
        holds[unit].push(UnitHold { start, end, place, by, waits, rule: Rule::E2 });
    }
}

/// E3: the units parked at a job are just those that it parks.
fn parked_holds(
    shop: &Shop,
    ids: &Ids,
    plan: &Plan,
    work: &Works,
    holds: &mut Table<UnitId, Vec<UnitHold>>,
    found: &mut Found,
) {
    let mut texts: Table<JobId, Vec<&String>> = Table::filled(shop.jobs.len(), Vec::new());
    for row in &plan.parked {
        if let Some(job) = ids.job(&row.job, found) {
            texts[job].extend(&row.units);
        }
    }
    for (job, facts) in shop.jobs.pairs() {
        let by = Holder::Job(job);
        let units = named(ids, texts[job].iter().copied(), by, Rule::E3, found);
        let Fate::Done { start, end } = work.fates[job] else {
            if !units.is_empty() {
                found.say(Rule::E3, OfUnit::ParkedNotDone { job });
            }
            if work.fates[job] == Fate::LeftOut && facts.started {
                let place = facts.place;
                for unit in history::held_now(shop, job) {
                    let by = Holder::Begun(job);
                    let (start, end) = (shop.now, shop.len() - 1);
                    holds[unit].push(UnitHold { start, end, place, by, waits: true, rule: Rule::N1 });
                }
            }
            continue;
        };
        let (missing, idle) = serve(shop, &facts.parked, &units);
        say_missing(by, Rule::E3, &missing, found);
        if missing.is_empty() {
            say_idle(by, Rule::E3, &idle, found);
        }
        for unit in units {
            let by = Holder::Parked(job);
            holds[unit].push(UnitHold { start, end, place: facts.place, by, waits: facts.started, rule: Rule::E3 });
        }
    }
}

/// The units that a row names, each once.
fn named<'a>(
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
fn serve(shop: &Shop, needs: &[Need], units: &[UnitId]) -> (Vec<Need>, Vec<UnitId>) {
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

fn say_missing(by: Holder, rule: Rule, missing: &[Need], found: &mut Found) {
    for need in missing {
        let fact = match need.want {
            Want::Power => OfUnit::NoPower { by },
            Want::Unit(unit) => OfUnit::NotHeld { by, unit },
            Want::Kind(kind) => OfUnit::Lacks { by, count: need.count as u64, of: kind },
        };
        found.say(rule, fact);
    }
}

fn say_idle(by: Holder, rule: Rule, idle: &[UnitId], found: &mut Found) {
    for unit in idle {
        found.say(rule, OfUnit::Idle { by, unit: *unit });
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
        if let Some(h) = (hold.start..=hold.end).find(|h| shop.units[unit].out[*h] && !hold.waits) {
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
