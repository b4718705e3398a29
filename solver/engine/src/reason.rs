//! Why a job is left out, in a sentence; and which jobs no plan of the horizon can do.

use std::collections::{BTreeSet, VecDeque};

use yardless_book::Place;
use yardless_plan::Draft;
use yardless_plan::shop::{Id, JobId, Need, Part, PlaceId, Shop, StepId, UnitId, Want};

use crate::primal::{PartialPlan, Tables, Trial};

/// Why no plan of this horizon does the job, where the book alone shows it. `None`: some plan may.
pub fn impossible(shop: &Shop, job: JobId) -> Option<String> {
    impossible_but(shop, job, &mut BTreeSet::new())
}

fn impossible_but(shop: &Shop, job: JobId, seen: &mut BTreeSet<JobId>) -> Option<String> {
    let facts = &shop.jobs[job];
    if let Some(other) = facts.follows_later {
        return Some(format!("it comes after {}, which is not begun within these weeks", shop.jobs[other].name));
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
                return Some(format!("it comes after {}, which cannot be done", shop.jobs[other].name));
            }
        }
    }
    facts.parked.iter().find_map(|need| lacking(shop, *need, facts.place, "to be parked there"))
}

fn step_impossible(shop: &Shop, step: StepId) -> Option<String> {
    let facts = &shop.steps[step];
    let name = &facts.name;
    if let Some(start) = facts.fixed.start
        && shop.horizon.index(start).is_none()
    {
        return Some(format!("{name} is fixed to start on {start}, outside these weeks"));
    }
    let starts = shop.choices(step).any(|(_, _, runs)| runs.iter().any(|(start, _)| shop.start_allowed(step, start)));
    if !starts {
        return Some(match facts.fixed.start {
            Some(start) => format!("{name}, fixed to start on {start}, cannot end within these weeks"),
            None => format!(
                "no crew with the skill {} can finish {name} within these weeks: too few people, no access or the weather",
                facts.skill
            ),
        });
    }
    // Every way lacks something: name what the first lacks.
    let place = shop.jobs[facts.job].place;
    let ways: Vec<usize> =
        (0..facts.ways.len()).filter(|way| facts.fixed.way.is_none_or(|fixed| fixed == *way)).collect();
    let lacks = |way: usize| {
        let for_step = format!("for {name}");
        facts.ways[way].needs.iter().find_map(|need| lacking(shop, *need, place, &for_step))
    };
    if ways.iter().all(|way| lacks(*way).is_some()) {
        return ways.first().and_then(|way| lacks(*way));
    }
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
        return Some(format!(
            "{name} takes {trailers} trailers at once at {}, and {spots} may stand there",
            shop.places[place].name
        ));
    }
    let always_dark = facts.needs_power && shop.places[place].power_from >= shop.len();
    always_dark
        .then(|| {
            lacking(shop, Need { want: Want::Power, count: 1 }, place, &format!("for {name}, without power there"))
        })
        .flatten()
}

/// What is missing of the units wanted at a place, if something is.
fn lacking(shop: &Shop, need: Need, place: PlaceId, wherefore: &str) -> Option<String> {
    let able: Vec<UnitId> = shop.units.ids().filter(|unit| shop.units[*unit].serves(need.want)).collect();
    let what = match need.want {
        Want::Kind(kind) => shop.kinds[kind].name.clone(),
        Want::Power => "unit that gives power".to_owned(),
        Want::Unit(unit) => shop.units[unit].name.clone(),
    };
    if able.len() < need.count {
        return Some(format!("{wherefore} {} of kind {what} are wanted, and the shop has {}", need.count, able.len()));
    }
    if let Some(why) = no_drive(shop, &able, need.count, place) {
        return Some(format!("{wherefore} a {what} is wanted, and {why}"));
    }
    let reach = able.iter().filter(|unit| reaches(shop, **unit, place)).count();
    if reach < need.count {
        let heavy = able.iter().all(|unit| !shop.trucks.iter().any(|truck| truck.can_take(&shop.units[*unit])));
        let why =
            if heavy { "no truck is strong enough" } else { "no road there is open to it, or no truck can take it" };
        return Some(format!(
            "{wherefore} a {what} is wanted, and none can be brought to {}: {why}",
            shop.places[place].name
        ));
    }
    None
}

/// Why too few of the units could come to a place even if every road were open, where no drive is known (H6).
fn no_drive(shop: &Shop, able: &[UnitId], count: usize, place: PlaceId) -> Option<String> {
    let (near, far): (Vec<UnitId>, Vec<UnitId>) = able.iter().partition(|unit| leads(shop, **unit, place, |_, _| true));
    if near.len() >= count {
        return None;
    }
    let to = &shop.places[place];
    if let Some(alone) = shop.book.cut_off().into_iter().find(|of| of.id == to.id) {
        return Some(nothing_hauled(&[alone]));
    }
    let from: BTreeSet<PlaceId> = far.iter().map(|unit| shop.units[*unit].place).collect();
    let from: Vec<&str> = from.iter().map(|from| shop.places[*from].name.as_str()).collect();
    Some(format!("none can be brought to {}: no drive is known from {}", to.name, from.join(", ")))
}

/// That nothing can be hauled to places which no drive leads to ([`Book::cut_off`](yardless_book::Book::cut_off)), and why.
pub fn nothing_hauled(places: &[&Place]) -> String {
    let names: Vec<&str> = places.iter().map(|place| place.printed()).collect();
    let (it, has) = if places.len() == 1 { ("it", "has") } else { ("they", "have") };
    let lacks = if places.iter().any(|place| place.at.is_some()) {
        "no drive minutes, and no other place has coordinates"
    } else {
        "neither drive minutes nor coordinates"
    };
    format!("nothing can be hauled to {}: {it} {has} {lacks}", names.join(", "))
}

/// Whether a unit can come to a place at all, by way of any others, whatever the order of days.
fn reaches(shop: &Shop, unit: UnitId, place: PlaceId) -> bool {
    let facts = &shop.units[unit];
    leads(shop, unit, place, |at, to| {
        (0..shop.len()).any(|h| {
            shop.may_haul(unit, at, to, h).is_some()
                && shop.trucks.iter().any(|truck| truck.may_come(h) && truck.can_take(facts))
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
pub(crate) fn left_out(shop: &Shop, tables: &Tables, draft: &Draft, job: JobId, proven: bool) -> String {
    if let Some(why) = impossible(shop, job) {
        return format!("no plan can do it: {why}");
    }
    let other = shop.jobs[job]
        .step_ids()
        .flat_map(|step| &shop.steps[step].after)
        .map(|link| shop.steps[link.before].job)
        .find(|other| *other != job && !draft.does(shop, *other));
    if let Some(other) = other {
        return format!("it comes after {}, which is left out", shop.jobs[other].name);
    }
    if shop.jobs[job].started {
        return "it has begun, and no way was found to end it within these weeks: its units stay with it".to_owned();
    }
    let mut alone = PartialPlan::new(shop, tables);
    let before = alone.cost();
    let left_out = shop.jobs[job].left_out;
    if alone.insert(job, &[Trial::default()]) {
        let cost = yardless_book::money::Cents(alone.cost() - before + left_out.0);
        return if proven {
            format!(
                "leaving it out (${left_out}) is proven to cost no more than doing it: by itself it would cost ${cost}, and \
                 the crews and equipment it wants are better used elsewhere"
            )
        } else {
            format!(
                "not planned in the time given: by itself it would cost ${cost}, left out it costs ${left_out}, and \
                 nothing proves that it cannot be done beside the rest"
            )
        };
    }
    if proven {
        format!("leaving it out (${left_out}) is proven to cost no more than doing it")
    } else {
        format!(
            "not planned in the time given: no way was found to do it for less than leaving it out costs (${left_out}), \
             and nothing proves that there is none"
        )
    }
}
