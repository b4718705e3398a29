//! The chain of what holds a job in the plan given out, from its last step back to the root.
//!
//! A link takes one step and the latest earlier start that it could have by itself. Something in the plan stands against
//! that start: a step that comes before, its crew at work elsewhere, a unit held elsewhere or not brought sooner. Each
//! link is judged by the checker: the plan with that one row moved to the earlier start breaks the rule that the link
//! names.

use std::collections::BTreeSet;

use yardless_book::half_day::HalfDay;
use yardless_check::{Breach, check};
use yardless_plan::shop::{CrewId, Obstacle, Shop, StepId, Team, UnitId};
use yardless_plan::{HaulRow, ParkedRow, Plan, Rule, StepRow, parked_rows};

use crate::Given;

/// One step, and what keeps it from an earlier start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChainLink {
    /// The job's id.
    pub job: String,
    /// The step's id.
    pub step: String,
    /// When it starts.
    pub start: HalfDay,
    /// The latest earlier start that it could have by itself; `None`: there is none.
    pub sooner: Option<HalfDay>,
    /// What stands against that.
    pub hold: Hold,
}

/// What keeps a step from an earlier start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Hold {
    /// It comes after another step, which ends too late (W6).
    After {
        /// The other step's job.
        job: String,
        /// The other step.
        step: String,
        /// Its end.
        end: HalfDay,
    },
    /// Its crew, or one that helps it, works on another step then (W4, W11, W13, W16).
    Crew {
        /// The crew's id.
        crew: String,
        /// The other step's job.
        job: String,
        /// The other step.
        step: String,
        /// Its end.
        end: HalfDay,
    },
    /// A unit that it holds is held by another step, or parked at another job, then (E2, E3).
    Unit {
        /// The unit's id.
        unit: String,
        /// The job that holds it.
        job: String,
        /// The step that does; `None`: it is parked.
        step: Option<String>,
        /// Until when.
        end: HalfDay,
    },
    /// A unit that it holds stands elsewhere, and is brought as late as this (E1, H1 to H4).
    Haul {
        /// The unit's id.
        unit: String,
        /// The place where it stands before.
        from: String,
        /// When it is hauled.
        at: HalfDay,
        /// What a haul sooner would break, for each half-day back in which it might be; empty where one would do, at a cost.
        breaks: Vec<Vec<Breach>>,
    },
    /// It cannot be worked on before: the first half-days back, with what stops it in each.
    Stopped {
        /// The last half-day before its start.
        last: HalfDay,
        /// What stops it then.
        by: Obstacle,
    },
    /// It is fixed to start then (W8).
    Fixed,
    /// Now: it cannot start sooner.
    Now,
    /// What it comes after is done, and it waits so long after that (W6).
    AfterDone,
    /// Another rule: what the plan with the step at the earlier start breaks.
    Rule(Vec<Breach>),
    /// Nothing: it could start sooner by itself.
    Nothing,
}

/// Most links that are followed.
const MOST_LINKS: usize = 40;

/// The chain, from the job's step that ends last. Empty where the plan does not do the job.
pub fn chain(given: &Given, job: &str) -> Vec<ChainLink> {
    let mut links = Vec::new();
    let mut seen: BTreeSet<(String, String)> = BTreeSet::new();
    let mut next = last_step(&given.plan, job);
    while let Some(row) = next {
        if links.len() == MOST_LINKS || !seen.insert((row.job.clone(), row.step.clone())) {
            break;
        }
        let Some(link) = link(given, row) else { break };
        next = match &link.hold {
            Hold::After { job, step, .. } | Hold::Crew { job, step, .. } | Hold::Unit { job, step: Some(step), .. } => {
                first_row(&given.plan, job, step)
            }
            Hold::Unit { job, step: None, .. } => last_step(&given.plan, job),
            _ => None,
        };
        links.push(link);
    }
    links
}

/// Whether a link is true of the plan: the same is found again by judging the plan with the one row moved.
pub fn holds(given: &Given, told: &ChainLink) -> bool {
    first_row(&given.plan, &told.job, &told.step).and_then(|row| link(given, row)).is_some_and(|found| {
        let one_of_several = || candidates(given, &told.job, &told.step).contains(&told.hold);
        (found.start, found.sooner) == (told.start, told.sooner) && (found.hold == told.hold || one_of_several())
    })
}

/// The step of a job that ends last, by its first row.
fn last_step<'p>(plan: &'p Plan, job: &str) -> Option<&'p StepRow> {
    let last = plan.steps.iter().filter(|row| row.job == job).max_by_key(|row| row.end)?;
    first_row(plan, job, &last.step)
}

fn first_row<'p>(plan: &'p Plan, job: &str, step: &str) -> Option<&'p StepRow> {
    plan.steps.iter().filter(|row| row.job == job && row.step == step).min_by_key(|row| row.span)
}

fn step_of(shop: &Shop, job: &str, step: &str) -> Option<StepId> {
    let job = shop.find_job(job)?;
    shop.find_step(job, step)
}

fn link(given: &Given, row: &StepRow) -> Option<ChainLink> {
    let (sooner, hold) = held(given, row)?;
    Some(ChainLink { job: row.job.clone(), step: row.step.clone(), start: row.start, sooner, hold })
}

/// Everything that stands against the earlier start, the last to let go first.
fn candidates(given: &Given, job: &str, step: &str) -> Vec<Hold> {
    let Some(row) = first_row(&given.plan, job, step) else { return Vec::new() };
    earlier(given.shop, row).map_or_else(Vec::new, |(start, end)| against(given, row, start, end))
}

fn held(given: &Given, row: &StepRow) -> Option<(Option<HalfDay>, Hold)> {
    let shop = given.shop;
    let step = step_of(shop, &row.job, &row.step)?;
    let at = |h: usize| shop.horizon.half_day(h);
    if shop.steps[step].goes_on() || row.start <= given.now() {
        return Some((None, Hold::Now));
    }
    if shop.steps[step].fixed.start == Some(row.start) {
        return Some((None, Hold::Fixed));
    }
    if shop.horizon.index(row.start) == Some(shop.steps[step].start_from) {
        return Some((None, Hold::AfterDone));
    }
    let Some((start, end)) = earlier(shop, row) else {
        let before = shop.horizon.index(row.start)?.checked_sub(1)?;
        let (way, team) = way_and_team(shop, step, row)?;
        // The nearest half-day that something but the calendar stops, else the nearest.
        let stops = |h: usize| shop.obstacle(step, way, &team, h).map(|by| (at(h), by));
        let telling = (shop.now..=before).rev().filter_map(stops).find(|(_, by)| *by != Obstacle::Closed);
        let (last, by) = telling.or_else(|| stops(before))?;
        return Some((None, Hold::Stopped { last, by }));
    };
    let hold = against(given, row, start, end).into_iter().next().unwrap_or_else(|| other_rule(given, row, start, end));
    Some((Some(at(start)), hold))
}

fn way_and_team(shop: &Shop, step: StepId, row: &StepRow) -> Option<(usize, Team)> {
    let way = shop.steps[step].ways.iter().position(|way| way.id == row.way && way.overtime == row.overtime)?;
    let helpers: Option<Vec<CrewId>> = row.with.iter().map(|id| shop.find_crew(id)).collect();
    Some((way, Team::new(shop.find_crew(&row.crew)?, helpers?)))
}

/// The latest run that starts before the row does, by its crew in its way.
fn earlier(shop: &Shop, row: &StepRow) -> Option<(usize, usize)> {
    let step = step_of(shop, &row.job, &row.step)?;
    let (way, team) = way_and_team(shop, step, row)?;
    let runs = shop.runs(step, way, shop.find_team(&team)?)?;
    let before = shop.horizon.index(row.start)?;
    (shop.now..before).rev().find_map(|h| Some((h, runs.end_of(h)?)).filter(|_| shop.start_allowed(step, h)))
}

/// Where no other step, unit or haul is known to stand against a start: what the checker says of it.
fn other_rule(given: &Given, row: &StepRow, start: usize, end: usize) -> Hold {
    let mut breaks = check(given.shop, &moved(given, row, start, end)).breaches;
    breaks.retain(|breach| !breach.of_cost());
    if breaks.is_empty() { Hold::Nothing } else { Hold::Rule(breaks) }
}

/// The plan with one row moved.
fn moved(given: &Given, row: &StepRow, start: usize, end: usize) -> Plan {
    let mut plan = given.plan.clone();
    plan.steps.retain(|other| (&other.job, &other.step) != (&row.job, &row.step));
    let at = |h: usize| given.shop.horizon.half_day(h);
    plan.steps.push(StepRow { start: at(start), end: at(end), ..row.clone() });
    plan
}

/// What of the plan stands against a row's earlier start, as the checker finds it; what lets go last comes first.
fn against(given: &Given, row: &StepRow, start: usize, end: usize) -> Vec<Hold> {
    let shop = given.shop;
    let plan = moved(given, row, start, end);
    let breaks = |rule: Rule| check(shop, &plan).breaches.iter().any(|breach| breach.rule == rule);
    let mut found: Vec<(HalfDay, Hold)> = Vec::new();
    let (from, to) = (shop.horizon.half_day(start), shop.horizon.half_day(end));
    if breaks(Rule::W6) {
        let step = step_of(shop, &row.job, &row.step);
        for link in step.iter().flat_map(|step| &shop.steps[*step].after) {
            let before = &shop.steps[link.before];
            let job = &shop.jobs[before.job].id;
            let ends = given.plan.steps.iter().filter(|other| other.job == *job && other.step == before.id);
            let Some(other) = ends.max_by_key(|other| other.end) else { continue };
            if shop.horizon.offset(other.end) + 1 + link.wait as i64 > start as i64 {
                let hold = Hold::After { job: job.clone(), step: before.id.clone(), end: other.end };
                found.push((other.end, hold));
            }
        }
    }
    let others = given.plan.steps.iter().filter(|other| (&other.job, &other.step) != (&row.job, &row.step));
    let overlaps = |first: HalfDay, last: HalfDay| first <= to && last >= from;
    let in_the_way: Vec<&StepRow> = others.filter(|other| overlaps(other.start, other.end)).collect();
    if [Rule::W4, Rule::W13, Rule::W16].into_iter().any(breaks) {
        let clash = |other: &StepRow| {
            let index = |half_day| shop.horizon.index(half_day);
            let (first, last) = (index(other.start).unwrap_or(0).max(start), index(other.end).unwrap_or(end).min(end));
            (first..=last)
                .find_map(|h| at_work(shop, row, h).into_iter().find(|crew| at_work(shop, other, h).contains(crew)))
        };
        for (other, crew) in in_the_way.iter().filter_map(|other| Some((other, clash(other)?))) {
            let (crew, job, step) = (shop.crews[crew].id.clone(), other.job.clone(), other.step.clone());
            found.push((other.end, Hold::Crew { crew, job, step, end: other.end }));
        }
    }
    for unit in &row.units {
        let mut elsewhere = false;
        // A shared unit serves others at the same place (E8).
        let serves = |other: &str| {
            let place = |id: &str| shop.find_job(id).map(|job| shop.jobs[job].place);
            place(other) == place(&row.job) && shop.find_unit(unit).is_some_and(|unit| shop.units[unit].shared)
        };
        let holds = |other: &&&StepRow| other.units.contains(unit) && !serves(&other.job);
        for other in in_the_way.iter().filter(holds) {
            let (job, step) = (other.job.clone(), Some(other.step.clone()));
            found.push((other.end, Hold::Unit { unit: unit.clone(), job, step, end: other.end }));
            elsewhere = true;
        }
        let parks = |parked: &ParkedRow| parked.units.contains(unit) && !serves(&parked.job);
        let parked = shop.jobs.ids().flat_map(|job| parked_rows(shop, &given.plan, job));
        for (parked, need) in parked.filter(|(parked, _)| parks(parked)) {
            let rows = |step: Option<StepId>| {
                let of = step.map(|step| shop.steps[step].id.as_str());
                let mine = move |other: &&StepRow| other.job == parked.job && of.is_none_or(|id| other.step == id);
                given.plan.steps.iter().filter(mine)
            };
            let first = rows(need.and_then(|need| need.from)).map(|other| other.start).min();
            let last = rows(need.and_then(|need| need.to)).map(|other| other.end).max();
            if let Some((_, end)) = first.zip(last).filter(|(first, last)| overlaps(*first, *last)) {
                found.push((end, Hold::Unit { unit: unit.clone(), job: parked.job.clone(), step: None, end }));
                elsewhere = true;
            }
        }
        if !elsewhere {
            found.extend(haul(given, &plan, row, unit, start));
        }
    }
    found.sort_by_key(|(until, _)| std::cmp::Reverse(*until));
    found.into_iter().map(|(_, hold)| hold).collect()
}

/// The crews that work on a row's step in a half-day, its own and those that help (W11).
fn at_work(shop: &Shop, row: &StepRow, h: usize) -> Vec<CrewId> {
    let step = step_of(shop, &row.job, &row.step);
    let Some((step, (way, team))) = step.and_then(|step| Some((step, way_and_team(shop, step, row)?))) else {
        return Vec::new();
    };
    let works = shop.obstacle(step, way, &team, h).is_none();
    shop.working(&team, h).filter(|_| works).collect()
}

/// Where a unit is brought only after the earlier start: that haul, and what forbids each earlier one.
fn haul(given: &Given, plan: &Plan, row: &StepRow, unit: &str, start: usize) -> Option<(HalfDay, Hold)> {
    let shop = given.shop;
    let place = &shop.places[shop.jobs[shop.find_job(&row.job)?].place].id;
    let brings = |haul: &&HaulRow| haul.unit == unit && haul.to == *place && haul.at <= row.start;
    let brought = given.plan.hauls.iter().filter(brings).max_by_key(|haul| (haul.at, haul.evening))?;
    let from = shop.horizon.half_day(start);
    let arrives_late = brought.at > from || (brought.at == from && brought.evening);
    if !arrives_late {
        return None;
    }
    let id = shop.find_unit(unit)?;
    let mut breaks: Vec<Vec<Breach>> = Vec::new();
    for h in (shop.now..=start).rev() {
        for evening in [false, true] {
            let mut other = plan.clone();
            other.hauls.retain(|haul| haul != brought);
            let at = shop.horizon.half_day(h);
            if evening && (!at.is_pm() || h == start) {
                continue;
            }
            other.hauls.push(HaulRow { at, evening, estimate: None, needs_clear: None, ..brought.clone() });
            let against: Vec<Breach> =
                check(shop, &other).breaches.into_iter().filter(|breach| forbids(breach, id)).collect();
            if against.is_empty() {
                return Some((brought.at, told(brought, Vec::new())));
            }
            breaks.push(against);
        }
    }
    Some((brought.at, told(brought, breaks)))
}

/// Whether a breach speaks against a haul of a unit.
fn forbids(breach: &Breach, unit: UnitId) -> bool {
    use Rule::{E1, E2, E3, E4, E6, H1, H2, H3, H4, H5};
    match breach.rule {
        H4 | E6 => true,
        E1 | E2 | E3 | E4 | H1 | H2 | H3 | H5 => breach.fact.unit() == Some(unit),
        _ => false,
    }
}

fn told(haul: &HaulRow, breaks: Vec<Vec<Breach>>) -> Hold {
    Hold::Haul { unit: haul.unit.clone(), from: haul.from.clone(), at: haul.at, breaks }
}
