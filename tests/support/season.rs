//! A winter played: what the plan says happens, work runs over, storms come, machines break; and planned again each time.

use std::collections::BTreeMap;

use yardless_book::half_day::{HalfDay, Horizon, Range};
use yardless_book::{Book, DoneStep, Extra, Parked, Progress, Step};
use yardless_plan::shop::{Amount, Shop, Team};
use yardless_plan::{Plan, StepRow, read};

use super::draw::Draw;

/// Lets the plan happen from the shop's now until a half-day of its horizon, and writes it into the book. One step in six
/// that would be done has a half-day left, and one in six that goes on a half-day more.
pub fn play(book: &mut Book, shop: &Shop, plan: &Plan, until: usize, draw: &mut Draw) {
    let half_day = shop.horizon.half_day(until);
    let end_before = |row: &&StepRow| row.end < half_day;
    for row in plan.steps.iter().filter(|row| row.start < half_day) {
        let Some(job) = book.jobs.iter_mut().find(|job| job.id == row.job) else { continue };
        let place = job.place.clone();
        let Some(step) = job.steps.iter_mut().find(|step| step.id == row.step && step.done.is_none()) else { continue };
        let late = draw.below(6) == 0 && may_run_over(plan, row, half_day) && !is_stop(step, &row.way);
        let same = |other: &&StepRow| (&other.job, &other.step) == (&row.job, &row.step);
        // Left to be come back to, it holds nothing (W10).
        let between = end_before(&row) && plan.steps.iter().filter(same).any(|other| other.span > row.span);
        // A second span goes on what the first has begun.
        let start = step.progress.as_ref().map_or(row.start, |progress| progress.start);
        if end_before(&row) && !late && !between {
            let (crew, way) = (row.crew.clone(), Some(row.way.clone()));
            step.progress = None;
            step.done = Some(DoneStep { crew, with: helpers(row), way, start, end: row.end, extra: Extra::new() });
        } else {
            let begun: Vec<&StepRow> = plan.steps.iter().filter(same).filter(|other| other.span <= row.span).collect();
            let left = left(shop, step, &begun, until) + if late && !between { 1.0 } else { 0.0 };
            let units = if between { Vec::new() } else { row.units.clone() };
            step.progress = Some(Progress {
                crew: row.crew.clone(),
                with: helpers(row),
                way: Some(row.way.clone()),
                start,
                left: left.max(1.0),
                units: units.clone(),
                extra: Extra::new(),
            });
            for unit in book.equipment.iter_mut().filter(|unit| units.contains(&unit.id)) {
                unit.place.clone_from(&place);
            }
        }
    }
    let_go(book, plan, half_day);
    name_what_is_parked(book, shop, plan);
    let mut places: BTreeMap<&str, &str> = BTreeMap::new();
    let mut hauls: Vec<_> = plan.hauls.iter().filter(|haul| haul.at < half_day).collect();
    hauls.sort_by_key(|haul| (haul.at, haul.evening));
    for haul in hauls {
        places.insert(&haul.unit, &haul.to);
    }
    for unit in &mut book.equipment {
        if let Some(place) = places.get(unit.id.as_str()) {
            unit.place = (*place).to_owned();
        }
    }
}

/// A step in progress whose plan is to come back to it has let its units go, where they are hauled before that (W10).
fn let_go(book: &mut Book, plan: &Plan, until: HalfDay) {
    let same = |row: &StepRow, other: &StepRow| (&other.job, &other.step) == (&row.job, &row.step);
    let only = |row: &StepRow| !plan.steps.iter().any(|other| same(row, other) && other.span == 1);
    for row in plan.steps.iter().filter(|row| row.span == 2 && row.start >= until && only(row)) {
        let job = book.jobs.iter_mut().find(|job| job.id == row.job);
        let step = job.and_then(|job| job.steps.iter_mut().find(|step| step.id == row.step));
        if let Some(progress) = step.and_then(|step| step.progress.as_mut()) {
            progress.units.clear();
        }
    }
}

/// The crews that help, as a plan is stored.
fn helpers(row: &StepRow) -> Vec<String> {
    let stored = serde_json::to_value(row).expect("JSON");
    stored.get("with").map_or_else(Vec::new, |with| serde_json::from_value(with.clone()).expect("ids"))
}

/// A stop is over in its half-day (W16).
fn is_stop(step: &Step, way: &str) -> bool {
    let ways = step.ways.iter().flatten().find(|of| of.id == way);
    ways.map_or(step.hours, |way| way.hours).is_some()
}

/// Whether nothing that has happened since could not have happened with the step still going on, and no other step goes on
/// that one of its crews works on, or for which one of its units is.
fn may_run_over(plan: &Plan, row: &StepRow, until: HalfDay) -> bool {
    let parked = |is: bool| plan.parked.iter().filter(move |parked| (parked.job == row.job) == is);
    let units: Vec<&String> = row.units.iter().chain(parked(true).flat_map(|parked| &parked.units)).collect();
    let takes = |others: &[String]| others.iter().any(|unit| units.contains(&unit));
    let since = |at: HalfDay| row.end <= at && at < until;
    let hauled = plan.hauls.iter().any(|haul| units.contains(&&haul.unit) && since(haul.at));
    let works = |crew: &String, other: &StepRow| other.crew == *crew || other.with.contains(crew);
    let shares = |other: &StepRow| {
        works(&row.crew, other) || row.with.iter().any(|helper| works(helper, other)) || takes(&other.units)
    };
    let next = |other: &StepRow| {
        let same_job = other.job == row.job && row.end < other.start;
        (same_job || shares(other)) && row.end < other.end && other.start < until
    };
    !hauled && !parked(false).any(|parked| takes(&parked.units)) && !plan.steps.iter().any(next)
}

/// Half-days or labor hours left of a step before a half-day, of which some rows have begun by then (W3).
fn left(shop: &Shop, step: &Step, rows: &[&StepRow], until: usize) -> f64 {
    let row = rows[0];
    let job = shop.jobs.find(|job| job.id == row.job).expect("a job of the book");
    let id = shop.jobs[job].step_ids().find(|id| shop.steps[*id].id == row.step).expect("an open step");
    let crew = |id: &String| shop.find_crew(id).expect("a crew");
    let team = Team::new(crew(&row.crew), row.with.iter().map(crew).collect());
    let way = |row: &StepRow| {
        let is = |way: &yardless_plan::shop::WayFacts| way.id == row.way && way.overtime == row.overtime;
        shop.steps[id].ways.iter().position(is).expect("a way")
    };
    let worked = rows.iter().flat_map(|row| {
        let from = shop.horizon.index(row.start).unwrap_or(0).max(shop.now);
        let to = shop.horizon.index(row.end).map_or(until, |end| until.min(end + 1));
        (from..to).filter(|h| shop.obstacle(id, way(row), &team, *h).is_none())
    });
    match shop.steps[id].ways[way(row)].amount {
        Amount::HalfDays(all) => f64::from(all) - worked.count() as f64,
        Amount::Hours(all) => {
            let most = step.max_people.unwrap_or(u32::MAX);
            let people: u32 = worked.map(|h| shop.present(&team, h).min(most)).sum();
            all as f64 / 1e6 - f64::from(people) * shop.book.shop.half_day_hours
        }
    }
}

/// The units parked at each job that has begun, each for the need that it serves in the plan; of what is parked from a step
/// on or to one, those held now (E7).
fn name_what_is_parked(book: &mut Book, shop: &Shop, plan: &Plan) {
    let parked = read(shop, plan).parked;
    for (id, facts) in shop.jobs.pairs() {
        let Some(job) = book.jobs.iter_mut().find(|job| job.id == facts.id) else { continue };
        let step = |id: &String| job.steps.iter().find(|step| step.id == *id).expect("a step of the job");
        let begun = |need: &Parked| match &need.from {
            Some(from) => step(from).started(),
            None => job.steps.iter().any(Step::started),
        };
        let over = |need: &Parked| need.to.as_ref().is_some_and(|to| step(to).done.is_some());
        let held: Vec<bool> = job.parked.iter().map(|need| begun(need) && !over(need)).collect();
        for (n, need) in job.parked.iter_mut().enumerate().filter(|(n, need)| held[*n] && need.units.is_empty()) {
            let serves = parked[id].iter().filter(|unit| facts.parked[unit.need].listed == n);
            need.units = serves.map(|unit| shop.units[unit.unit].id.clone()).collect();
        }
    }
}

/// What comes unforeseen from a half-day on: a storm everywhere or at one place, a machine out.
pub fn surprise(book: &mut Book, from: HalfDay, draw: &mut Draw) {
    let mut last = from;
    for _ in 0..draw.below(6) {
        last = last.following();
    }
    let range = format!("{from}/{last}");
    match draw.below(4) {
        0 => {
            let entry = serde_json::json!({ "on": range, "storm": true, "roads": "covered" });
            book.weather.push(serde_json::from_value(entry).expect("a weather entry"));
        }
        1 => {
            let at = &book.places[draw.below(book.places.len())].id;
            let entry = serde_json::json!({ "on": range, "at": [at], "no_travel": true });
            book.weather.push(serde_json::from_value(entry).expect("a weather entry"));
        }
        2 => {
            let n = draw.below(book.equipment.len());
            book.equipment[n].out.push(range.parse::<Range>().expect("a range").into());
        }
        _ => {}
    }
}

/// The horizon that begins on the Monday before a half-day, and the index of that.
pub fn horizon(now: HalfDay, weeks: u32) -> (Horizon, usize) {
    let horizon = Horizon::new(Horizon::monday_of(now.date()), weeks).expect("a horizon");
    (horizon, horizon.index(now).expect("within its first week"))
}
