//! Why a job is left out; and which jobs no plan of the horizon can do.

use std::collections::{BTreeSet, VecDeque};

use yardless_book::money::Cents;
use yardless_plan::shop::{Id, JobId, Need, Part, PlaceId, Shop, StepId, TruckId, UnitId, Want};
use yardless_plan::{By, Draft, Impossible, Lack, LeftOut};

use crate::primal::{PartialPlan, Tables, Trial};

/// Why no plan of this horizon does the job, where the book alone shows it. `None`: some plan may.
pub fn impossible(shop: &Shop, job: JobId) -> Option<Impossible> {
    impossible_but(shop, job, &mut BTreeSet::new())
}

fn impossible_but(shop: &Shop, job: JobId, seen: &mut BTreeSet<JobId>) -> Option<Impossible> {
    let facts = &shop.jobs[job];
    if let Some(other) = facts.follows_later {
        let before = facts.step_ids().flat_map(|step| &shop.steps[step].after).map(|link| link.before);
        let later = before.filter(|before| shop.is_later(*before)).find(|before| shop.steps[*before].job == other);
        return Some(later.map_or(Impossible::AfterLater(other), Impossible::AfterLaterStep));
    }
    if !seen.insert(job) {
        return None;
    }
    for step in facts.step_ids() {
        if let Some(why) = step_impossible(shop, step) {
            return Some(why);
        }
        for link in &shop.steps[step].after {
            let other = shop.steps[link.before].job;
            if other != job && !facts.started && impossible_but(shop, other, seen).is_some() {
                return Some(Impossible::After(other));
            }
        }
    }
    facts.parked.iter().find_map(|parked| lacking(shop, parked.need, facts.place, By::Parked))
}

fn step_impossible(shop: &Shop, step: StepId) -> Option<Impossible> {
    let facts = &shop.steps[step];
    if let Some(start) = facts.fixed.start
        && shop.horizon.index(start).is_none()
    {
        return Some(Impossible::FixedOutside(step, start));
    }
    if facts.waited.is_some_and(|waited| waited.undated) && facts.going.is_none() {
        return Some(Impossible::Undated(step));
    }
    let starts = shop.choices(step).any(|(_, _, runs)| runs.iter().any(|(start, _)| shop.start_allowed(step, start)));
    if !starts {
        let fixed = facts.fixed.start;
        if let Some(until) = facts.waited.map(|waited| waited.until).filter(|until| waits_too_long(shop, step, *until))
        {
            return Some(Impossible::ExpectedTooLate(step, shop.horizon.half_day(until)));
        }
        let mut anywhere = shop.choices_anywhere(step).flat_map(|(_, _, runs)| runs.iter());
        if anywhere.any(|(start, _)| shop.start_allowed(step, start)) {
            return Some(every_way_lacks(shop, step).unwrap_or(Impossible::NoWayFromHome(step)));
        }
        return Some(fixed.map_or(Impossible::NoCrew(step), |start| Impossible::FixedTooLate(step, start)));
    }
    if let Some(why) = every_way_lacks(shop, step) {
        return Some(why);
    }
    let place = shop.jobs[facts.job].place;
    let ways = open_ways(shop, step);
    let starts: Vec<(usize, usize)> = shop
        .choices(step)
        .flat_map(|(way, _, runs)| runs.iter().map(move |(start, _)| (way, start)))
        .filter(|(_, start)| shop.start_allowed(step, *start))
        .collect();
    if let Some(spots) = shop.places[place].spots
        && starts.iter().all(|(way, start)| !shop.trailers_fit(step, Part::Whole, *way, *start))
        && let Some((way, start)) = starts.first().copied()
    {
        let trailers = shop.trailers_at_once(step, Part::Whole, way, start);
        return Some(Impossible::Spots { step, trailers, spots });
    }
    let count = ways.iter().map(|way| facts.ways[*way].power).min().unwrap_or(0);
    let always_dark = count > 0 && shop.places[place].power_from >= shop.len();
    always_dark.then(|| lacking(shop, Need { want: Want::Power, count }, place, By::Dark(step))).flatten()
}

/// The ways that the owner has left open.
fn open_ways(shop: &Shop, step: StepId) -> Vec<usize> {
    let facts = &shop.steps[step];
    (0..facts.ways.len()).filter(|way| facts.fixed.way.is_none_or(|fixed| fixed == *way)).collect()
}

/// Where every way lacks something: what the first lacks.
fn every_way_lacks(shop: &Shop, step: StepId) -> Option<Impossible> {
    let facts = &shop.steps[step];
    let place = shop.jobs[facts.job].place;
    let lacks = |way: usize| facts.ways[way].needs.iter().find_map(|need| lacking(shop, *need, place, By::Step(step)));
    let mut first = None;
    for way in open_ways(shop, step) {
        let why = lacks(way)?;
        first.get_or_insert(why);
    }
    first
}

/// Whether a step has runs, and all of them start before what it waits on has come.
fn waits_too_long(shop: &Shop, step: StepId, until: usize) -> bool {
    let mut starts = shop.choices(step).flat_map(|(_, _, runs)| runs.iter().map(|(start, _)| start)).peekable();
    until > 0 && starts.peek().is_some() && starts.all(|start| start < until)
}

/// What is missing of the units wanted at a place, if something is.
fn lacking(shop: &Shop, need: Need, place: PlaceId, by: By) -> Option<Impossible> {
    lack(shop, need, place).map(|why| Impossible::Lacks { by, want: need.want, why })
}

fn lack(shop: &Shop, need: Need, place: PlaceId) -> Option<Lack> {
    let able: Vec<UnitId> = shop.units.ids().filter(|unit| shop.units[*unit].serves(need.want)).collect();
    if able.len() < need.count {
        return Some(Lack::Few { wanted: need.count, has: able.len() });
    }
    if let Some(why) = no_drive(shop, &able, need.count, place) {
        return Some(why);
    }
    let reach = able.iter().filter(|unit| reaches(shop, **unit, place, Postings::Hold)).count();
    if reach >= need.count {
        return None;
    }
    let heavy = able.iter().all(|unit| !shop.trucks.ids().any(|truck| shop.can_take(truck, *unit)));
    let unposted = || able.iter().filter(|unit| reaches(shop, **unit, place, Postings::Lifted)).count() >= need.count;
    Some(if heavy {
        Lack::TooHeavy(place)
    } else if unposted() {
        Lack::Posted(place)
    } else {
        Lack::NoRoad(place)
    })
}

/// Why too few of the units could come to a place even if every road were open, where no drive is known (H6).
fn no_drive(shop: &Shop, able: &[UnitId], count: usize, to: PlaceId) -> Option<Lack> {
    let (near, far): (Vec<UnitId>, Vec<UnitId>) = able.iter().partition(|unit| leads(shop, **unit, to, |_, _| true));
    if near.len() >= count {
        return None;
    }
    if shop.book.cut_off().into_iter().any(|of| of.id == shop.places[to].id) {
        return Some(Lack::CutOff(to));
    }
    let from: BTreeSet<PlaceId> = far.iter().map(|unit| shop.units[*unit].place).collect();
    Some(Lack::NoDrive { to, from: from.into_iter().collect() })
}

/// Whether the weights posted on roads count (H8).
#[derive(Clone, Copy, PartialEq, Eq)]
enum Postings {
    Hold,
    Lifted,
}

/// Whether a unit can come to a place at all, by way of any others, whatever the order of days.
fn reaches(shop: &Shop, unit: UnitId, place: PlaceId, postings: Postings) -> bool {
    leads(shop, unit, place, |at, to| {
        let may = |truck: TruckId, h: usize| match postings {
            Postings::Hold => shop.can_haul(truck, unit, (at, to), h),
            Postings::Lifted => shop.can_take(truck, unit),
        };
        (0..shop.len()).any(|h| {
            shop.may_haul(unit, at, to, h).is_some()
                && shop.trucks.pairs().any(|(truck, facts)| facts.may_come(h) && may(truck, h))
        })
    })
}

/// Whether known drives that are passed lead a unit to a place.
fn leads(shop: &Shop, unit: UnitId, place: PlaceId, passed: impl Fn(PlaceId, PlaceId) -> bool) -> bool {
    let facts = &shop.units[unit];
    let mut seen = vec![false; shop.places.len()];
    seen[facts.place.index()] = true;
    let mut queue = VecDeque::from([facts.place]);
    while let Some(at) = queue.pop_front() {
        if at == place {
            return true;
        }
        // The place itself first: mostly one drive leads there.
        for to in std::iter::once(place).chain(shop.places.ids()) {
            if seen[to.index()] || shop.haul_time(facts.moves, at, to).is_none() {
                continue;
            }
            if passed(at, to) {
                if to == place {
                    return true;
                }
                seen[to.index()] = true;
                queue.push_back(to);
            }
        }
    }
    false
}

/// Why a plan leaves a job out: whether no plan can do it, it is proven to cost less so, or the search has only not found
/// a plan that does it.
pub(crate) fn left_out(shop: &Shop, tables: &Tables, draft: &Draft, job: JobId, proven: bool) -> LeftOut {
    if let Some(why) = impossible(shop, job) {
        return LeftOut::Impossible(why);
    }
    let other = shop.jobs[job]
        .step_ids()
        .flat_map(|step| &shop.steps[step].after)
        .map(|link| shop.steps[link.before].job)
        .find(|other| *other != job && !draft.does(shop, *other));
    if let Some(other) = other {
        return LeftOut::After(other);
    }
    if shop.jobs[job].started {
        return LeftOut::Begun;
    }
    let mut alone = PartialPlan::new(shop, tables);
    alone.settle();
    let before = alone.cost();
    let left_out = shop.jobs[job].left_out;
    let cost = alone.insert(job, &[Trial::default()]).then(|| {
        alone.settle();
        Cents(alone.cost() - before + left_out.0)
    });
    if proven { LeftOut::Proven { left_out, alone: cost } } else { LeftOut::NotFound { left_out, alone: cost } }
}
