//! What has happened and what was given out: rules N1 and N3, C7 and C8, read from the book and the kept plan anew.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, Weekday};
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_plan::shop::{CrewId, Going, Id, JobId, KeptStep, Part, Shop, StepId, Table, UnitId};
use yardless_plan::{Plan, Rule, StepRow};

use super::Found;
use super::fact::OfHistory;
use super::hauls::Yard;
use super::work::{Fate, Work, Works, each};

/// A done step, as the book has it.
pub(super) struct Past {
    pub(super) crew: CrewId,
    pub(super) extra: Cents,
    pub(super) end: HalfDay,
}

/// The done steps of a job.
pub(super) fn of(shop: &Shop, job: JobId) -> Vec<Past> {
    let past = |step: &yardless_book::Step| {
        let done = step.done.as_ref()?;
        let extra =
            step.ways.as_ref().map_or(Some(Cents::ZERO), |ways| Some(ways[step.way(done.way.as_deref())?].extra));
        Some(Past { crew: shop.crews.find(|crew| crew.id == done.crew)?, extra: extra?, end: done.end })
    };
    shop.book.jobs[job.index()].steps.iter().filter_map(past).collect()
}

/// Whether a row is of a step that is done, and says of it what the book says.
pub(super) fn is_past(shop: &Shop, job: JobId, row: &StepRow, found: &mut Found) -> bool {
    let steps = &shop.book.jobs[job.index()].steps;
    let Some(step) = steps.iter().find(|step| step.id == row.step) else { return false };
    let Some(done) = &step.done else { return false };
    let way = done.way.as_deref().unwrap_or_else(|| only_way(step));
    if (&row.crew, row.way.as_str(), row.start, row.end) != (&done.crew, way, done.start, done.end) {
        let (id, crew) = (step.id.clone(), done.crew.clone());
        found.say(Rule::N1, OfHistory::DoneOtherwise { job, done: id, crew, start: done.start, end: done.end });
    }
    true
}

fn only_way(step: &yardless_book::Step) -> &str {
    step.ways.as_ref().and_then(|ways| ways.first()).map_or(yardless_book::USUAL, |way| way.id.as_str())
}

/// The book's text of a step that is still to be done.
fn written(shop: &Shop, step: StepId) -> &yardless_book::Step {
    let facts = &shop.steps[step];
    &shop.book.jobs[facts.job.index()].steps[facts.listed]
}

/// W10: whether a step in progress that may split takes units (E2, E5) and holds none, by the book.
pub(super) fn between_spans(shop: &Shop, step: StepId) -> bool {
    let text = written(shop, step);
    let Some(progress) = text.progress.as_ref().filter(|progress| progress.units.is_empty()) else { return false };
    let needs = match (&text.ways, &progress.way) {
        (None, _) => &text.needs,
        (Some(ways), None) => &ways[0].needs,
        (Some(ways), Some(id)) => ways.iter().find(|way| way.id == *id).map_or(&text.needs, |way| &way.needs),
    };
    let place = &shop.book.jobs[shop.steps[step].job.index()].place;
    let lit = shop.book.places.iter().find(|of| of.id == *place).and_then(|of| of.power_from);
    let dark = match lit {
        None => false,
        Some(yardless_book::PowerFrom::Never) => true,
        Some(yardless_book::PowerFrom::Date(date)) => progress.start.date() < date,
    };
    text.may_split && (!needs.is_empty() || text.needs_power && dark)
}

/// N1: a step in progress goes on by the same crew in the same way, and started when it did.
pub(super) fn goes_on(shop: &Shop, step: StepId, going: &Going, work: &Work, found: &mut Found) {
    let text = written(shop, step);
    let Some(progress) = &text.progress else { return };
    let row = work.row;
    if row.crew != progress.crew {
        found.say(Rule::N1, OfHistory::OtherCrew { step, was: progress.crew.clone(), is: row.crew.clone() });
    }
    let way = progress.way.as_deref().unwrap_or_else(|| only_way(text));
    if row.way != way {
        found.say(Rule::N1, OfHistory::OtherWay { step, was: way.to_owned(), is: row.way.clone() });
    }
    if row.start != going.start && !work.comes_back() {
        found.say(Rule::N1, OfHistory::OtherStart { step, was: going.start, said: row.start });
    }
}

/// W6 with steps that are done: what comes after starts late enough, and soon enough.
pub(super) fn after_done(shop: &Shop, step: StepId, work: &Work, found: &mut Found) {
    let facts = &shop.steps[step];
    let text = written(shop, step);
    let jobs = &shop.book.jobs;
    let before: Vec<(JobId, &str, i64, Option<i64>)> = match &text.after {
        _ if text.progress.is_some() => Vec::new(),
        None => {
            let steps = &jobs[facts.job.index()].steps;
            facts.listed.checked_sub(1).map(|k| (facts.job, steps[k].id.as_str(), 0, None)).into_iter().collect()
        }
        Some(after) => after
            .iter()
            .map(yardless_book::After::link)
            .filter_map(|link| {
                let of = link.job.map_or(Some(facts.job), |id| shop.jobs.find(|job| job.id == id))?;
                Some((of, link.step, i64::from(link.wait), link.within.map(i64::from)))
            })
            .collect(),
    };
    let start = shop.horizon.offset(work.row.start);
    for (job, id, wait, within) in before {
        let Some(done) = jobs[job.index()].steps.iter().find(|step| step.id == id).and_then(|step| step.done.as_ref())
        else {
            continue;
        };
        let next = shop.horizon.offset(done.end) + 1;
        if start < next + wait || within.is_some_and(|within| start > next + within) {
            let (done, start, ends) = (id.to_owned(), work.row.start, done.end);
            found.say(Rule::W6, OfHistory::NotAfterDone { step, start, job, done, ends });
        }
    }
}

/// The units that a job that has begun holds now: parked, and of a step in progress.
pub(super) fn held_now(shop: &Shop, job: JobId) -> Vec<UnitId> {
    let text = &shop.book.jobs[job.index()];
    let parked = text.parked.iter().flat_map(|parked| &parked.units);
    let going = text.steps.iter().filter_map(|step| step.progress.as_ref()).flat_map(|progress| &progress.units);
    parked.chain(going).filter_map(|id| shop.units.find(|unit| unit.id == *id)).collect()
}

/// C7: steps that the kept plan starts at or after now, and that are done otherwise or no longer.
pub(super) fn changes(shop: &Shop, plan: &Plan, kept: &[KeptStep]) -> Cents {
    let now = shop.horizon.half_day(shop.now);
    let jobs: BTreeSet<&str> = shop.book.jobs.iter().map(|job| job.id.as_str()).collect();
    let mut starts: BTreeMap<(&str, &str), (HalfDay, &str)> = BTreeMap::new();
    for row in plan.steps.iter().filter(|row| row.span == 1 && jobs.contains(row.job.as_str())) {
        starts.entry((&row.job, &row.step)).or_insert((row.start, &row.crew));
    }
    // What is done counts as the book has it, whatever the plan says.
    for job in &shop.book.jobs {
        let done = job.steps.iter().filter_map(|step| Some((step, step.done.as_ref()?)));
        starts.extend(done.map(|(step, done)| ((job.id.as_str(), step.id.as_str()), (done.start, done.crew.as_str()))));
    }
    let in_time = in_time(shop, now);
    let change = |kept: &KeptStep| {
        let is = starts.get(&(kept.job.as_str(), kept.step.as_str()));
        if is == Some(&(kept.start, kept.crew.as_str())) {
            return Cents::ZERO;
        }
        shop.book.prices.change * if in_time.is_some_and(|in_time| in_time <= kept.start) { 1 } else { 2 }
    };
    kept.iter().filter(|kept| kept.start >= now).map(change).sum()
}

/// N3: the first half-day of which is told in time now, as `notice_half_days` that are worked lie before it. `None`: the
/// shop never works.
fn in_time(shop: &Shop, now: HalfDay) -> Option<HalfDay> {
    let facts = &shop.book.shop;
    let days: Vec<Weekday> = facts.work_days.iter().map(|day| Weekday::from(*day)).collect();
    let mut closed = facts.closed.clone();
    closed.sort_by_key(|range| range.first);
    let mut closed = closed.into_iter().peekable();
    let (mut h, mut worked) = (now, 0);
    while worked < facts.notice_half_days {
        if days.is_empty() {
            return None;
        }
        // A closed range may last for centuries: it is passed over whole.
        while let Some(range) = closed.next_if(|range| range.first <= h) {
            h = h.max(range.last.following());
        }
        worked += u32::from(days.contains(&h.date().weekday()));
        h = h.following();
    }
    Some(h)
}

/// C8: the half-days of overtime that a row works.
pub(super) fn overtime(shop: &Shop, step: StepId, work: &Work) -> i64 {
    let Some((start, end)) = work.span.filter(|_| work.row.overtime) else { return 0 };
    let works = |h: &usize| shop.overtime[*h] && shop.obstacle(step, work.way, work.crew, *h).is_none();
    (start..=end).filter(works).count() as i64
}

/// N1: no job that has begun is left out where the rest of it fits into this very plan without a haul.
pub(super) fn fits_in(shop: &Shop, plan: &Plan, works: &Works, yard: &Yard, found: &mut Found) {
    let mut crews: Table<CrewId, Vec<bool>> = Table::filled(shop.crews.len(), vec![false; shop.len()]);
    let mut held: Table<UnitId, Vec<bool>> = Table::filled(shop.units.len(), vec![false; shop.len()]);
    let unit = |id: &String| shop.units.find(|unit| unit.id == *id);
    for (step, work) in each(&works.steps) {
        let Some((start, end)) = work.span else { continue };
        for h in (start..=end).filter(|h| shop.obstacle(step, work.way, work.crew, *h).is_none()) {
            crews[work.crew][h] = true;
        }
        for unit in work.row.units.iter().filter_map(unit) {
            held[unit][start..=end].fill(true);
        }
    }
    for (job, fate) in works.fates.pairs() {
        let Fate::Done { start, end } = *fate else { continue };
        let rows = plan.parked.iter().filter(|row| row.job == shop.jobs[job].id);
        for unit in rows.flat_map(|row| &row.units).filter_map(unit) {
            held[unit][start..=end].fill(true);
        }
    }
    for (job, facts) in shop.jobs.pairs() {
        if facts.started && works.fates[job] == Fate::LeftOut && rest_fits(shop, job, &mut crews.clone(), &held, yard) {
            found.say(Rule::N1, OfHistory::RestFits { job });
        }
    }
}

/// Whether the steps of a job fit one after the other, each at its earliest, with units that stand there idle.
fn rest_fits(
    shop: &Shop,
    job: JobId,
    crews: &mut Table<CrewId, Vec<bool>>,
    held: &Table<UnitId, Vec<bool>>,
    yard: &Yard,
) -> bool {
    let facts = &shop.jobs[job];
    let stands = |unit: UnitId, h: usize| yard.stands[unit][h] == Some(facts.place) && !shop.units[unit].out[h];
    // What is parked serves no step besides.
    let parked = |unit: UnitId| facts.parked.iter().any(|need| shop.units[unit].serves(need.want));
    let idle = |unit: UnitId, h: usize| stands(unit, h) && !held[unit][h] && !parked(unit);
    let mut ends: Vec<(StepId, usize)> = Vec::new();
    while ends.len() < facts.steps.len() {
        let known = |step: StepId| ends.iter().find(|(of, _)| *of == step).map(|(_, end)| *end);
        // The next step whose predecessors are placed, if there is one.
        let next = facts.step_ids().find(|step| {
            let own = |before: StepId| shop.steps[before].job == job;
            known(*step).is_none()
                && shop.steps[*step].after.iter().all(|link| own(link.before) && known(link.before).is_some())
        });
        let Some(step) = next else { return false };
        let after = &shop.steps[step].after;
        let from = after.iter().filter_map(|link| Some(known(link.before)? + 1 + link.wait)).max().unwrap_or(shop.now);
        let by = after.iter().filter_map(|link| Some(known(link.before)? + 1 + link.within?)).min();
        let enough = |way: usize, start: usize, end: usize| {
            shop.needs(step, Part::Whole, way, start).all(|need| {
                let able = |unit: &UnitId| {
                    shop.units[*unit].serves(need.want)
                        && (start..=end).all(|h| idle(*unit, h))
                        && held_now(shop, job).contains(unit) == shop.units[*unit].bound.is_some()
                };
                shop.units.ids().filter(able).count() >= need.count
            })
        };
        let fits = |(way, crew, start): &(usize, CrewId, usize)| {
            let runs = shop.runs(step, *way, *crew)?;
            let end = runs.end_of(*start)?;
            let free = runs.worked(*start, end).all(|h| !crews[*crew][h]);
            let may = free && shop.start_allowed(step, *start) && by.is_none_or(|by| *start <= by);
            (may && shop.trailers_fit(step, Part::Whole, *way, *start) && enough(*way, *start, end)).then_some(end)
        };
        let runs =
            shop.choices(step).flat_map(|(way, crew, _)| (from..shop.len()).map(move |start| (way, crew, start)));
        let Some((end, (way, crew, start))) = runs.filter_map(|run| Some((fits(&run)?, run))).min() else {
            return false;
        };
        if let Some(runs) = shop.runs(step, way, crew) {
            for h in runs.worked(start, end) {
                crews[crew][h] = true;
            }
        }
        ends.push((step, end));
    }
    // What is parked must have stayed there until the end, and two needs of one step must not share a unit.
    let last = ends.iter().map(|(_, end)| *end).max().unwrap_or(shop.now);
    let parked =
        facts.parked.iter().flat_map(|need| shop.units.ids().filter(|unit| shop.units[*unit].serves(need.want)));
    let several = |step: StepId| {
        let facts = &shop.steps[step];
        facts.ways.iter().any(|way| way.needs.len() + usize::from(facts.needs_power) > 1)
    };
    parked.into_iter().all(|unit| (shop.now..=last).all(|h| stands(unit, h)))
        && shop.steps.ids().filter(|step| shop.steps[*step].job == job).all(|step| !several(step))
}
