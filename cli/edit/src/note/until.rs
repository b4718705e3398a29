//! `note --until`: everything in the kept plan before a half-day went as planned.

use std::collections::BTreeMap;

use yardless_book::half_day::HalfDay;
use yardless_book::{DoneStep, Extra, Progress, Step, USUAL};
use yardless_plan::shop::Shop;

use super::kept::{Kept, Stage, held, stage};
use super::left::{Left, left};
use super::stands::{self, Settled, settle};
use super::step::{set_done, set_place, set_progress, step};
use super::subject::StepAt;
use super::word::{self, Outcome};
use super::{Desk, Noted, parked, ranges};
use crate::Changes;
use crate::trouble::{OfNote, Trouble};

/// Steps that ended are done, steps that began are in progress with what is left of them, and units stand where the
/// hauls before then have left them. What a person said stands: what is done already, what is left, what has not begun;
/// and what by that cannot have begun is left as it is.
pub fn until(desk: &Desk, until: HalfDay, over: &[String]) -> Result<Noted, Trouble> {
    let Some(kept) = &desk.kept else {
        return Err(OfNote::NoPlan.into());
    };
    let mut changes = Changes::default();
    if until > desk.now {
        changes.notes.push(format!("{until} is still to come: it is {} now", desk.now));
    }
    let mut shop: Option<Shop> = None;
    let settled = settle(desk, kept, (until, over), &mut shop)?;
    steps(desk, kept, until, (&settled, &mut shop), &mut changes)?;
    places(desk, kept, until, &settled, &mut changes);
    tell(desk, until, &settled, &mut changes.notes);
    if changes.lines.is_empty() && settled.stands.is_empty() {
        changes.notes.push(format!("{} has nothing before {until} that the book does not have", kept.name.plan()));
    }
    let held_back = settled.held_back.iter().map(|(at, why)| (step(desk.book, *at).1, why.clone()));
    Ok(Noted { changes, held_back: held_back.collect(), stands: settled.stands })
}

/// What stands, with the command that takes the plan's word instead, and what cannot have begun.
fn tell(desk: &Desk, until: HalfDay, settled: &Settled, notes: &mut Vec<String>) {
    let named = desk.kept.as_ref().filter(|kept| kept.named);
    let kept = named.map_or(String::new(), |kept| format!(" --kept {}", kept.name.bare()));
    notes.extend(settled.stands.iter().map(|stands| {
        format!(
            "{} stays as it was said, {}; by the plan: {} (`yardless note --until \"{until}\"{kept} --over {}` takes the plan's word)",
            stands.of,
            stands.said(|at| at.to_string()),
            stands.planned(|at| at.to_string()),
            stands.of
        )
    }));
    let held_back = settled.held_back.iter();
    notes.extend(
        held_back
            .map(|(at, why)| format!("{} cannot have begun and is not noted: {}", step(desk.book, *at).1, why.says())),
    );
    notes.extend(settled.agreed.iter().map(|of| format!("{of}: nothing was said of it that the plan has otherwise")));
}

fn steps(
    desk: &Desk,
    kept: &Kept,
    until: HalfDay,
    (settled, shop): (&Settled, &mut Option<Shop>),
    changes: &mut Changes,
) -> Result<(), Trouble> {
    for (number, job) in desk.book.jobs.iter().enumerate() {
        let (mut over, mut begun) = (true, job.steps.iter().any(Step::started));
        for index in 0..job.steps.len() {
            let at = StepAt { job: number, step: index };
            let (of, name) = step(desk.book, at);
            if of.done.is_some() {
                continue;
            }
            let rows = kept.rows(&job.id, &of.id);
            let (Some(first), Some(last)) = (rows.first(), rows.last()) else {
                over = false;
                continue;
            };
            let let_go = of.progress.is_some() && kept.reaches(until);
            let at_stage = stage(&rows, let_go, |row| row.start < until, |row| row.end < until);
            if at_stage == Stage::Waits || settled.held_back.contains_key(&at) {
                over = false;
                continue;
            }
            if let Some(is) = settled.outcomes.get(&at) {
                over &= matches!(is, Outcome::Done(_));
                let units = held(at_stage, &rows, of.progress.as_ref(), kept.is_of(desk.file)).unwrap_or_default();
                as_said(desk, (at, *is), units, until, changes);
                continue;
            }
            begun = true;
            // What the book says of a step in progress comes before what the plan meant to do.
            let known = of.progress.as_ref();
            let crew = known.map_or(&first.crew, |known| &known.crew).clone();
            let planned = (of.ways.is_some() || first.way != USUAL).then(|| first.way.clone());
            let way = known.map_or(planned, |known| known.way.clone());
            let start = known.map_or(first.start, |known| known.start);
            if last.end < until {
                let done = DoneStep { crew, way, start, end: last.end, extra: Extra::new() };
                set_done(changes, at, desk.book, done, "");
                continue;
            }
            over = false;
            let shop = stands::shop(desk, kept, shop)?;
            let asked = Left { desk, kept, shop, at, crew: &crew, way: way.as_deref(), rows: &rows, until };
            let (left, doubt) = left(&asked)?;
            changes.notes.extend(doubt.map(|doubt| format!("{name}: {doubt}")));
            let units = held(at_stage, &rows, known, kept.is_of(desk.file)).unwrap_or_default();
            let extra = match known {
                Some(known) if (known.left - left).abs() < 1e-9 && word::is_planned(&known.extra) => {
                    known.extra.clone()
                }
                known => word::planned(known.map_or(&Extra::new(), |known| &known.extra), until),
            };
            set_progress(changes, at, desk.book, Progress { crew, way, start, left, units, extra }, "");
        }
        if begun && !over {
            parked::name(desk, number, false, changes)?;
        }
    }
    gone(desk, kept, until, changes);
    Ok(())
}

/// Writes what a step is by what a person said of it, with the units that it then holds.
fn as_said(desk: &Desk, (at, is): (StepAt, Outcome), units: Vec<String>, until: HalfDay, changes: &mut Changes) {
    let Some(known) = &step(desk.book, at).0.progress else { return };
    match is {
        Outcome::Done(end) => {
            let Progress { crew, way, start, .. } = known.clone();
            set_done(changes, at, desk.book, DoneStep { crew, way, start, end, extra: Extra::new() }, "");
        }
        Outcome::Left(left) if left < known.left || units != known.units => {
            let extra = word::said(&known.extra, ranges::before(until));
            set_progress(changes, at, desk.book, Progress { left, extra, units, ..known.clone() }, "");
        }
        Outcome::Left(_) | Outcome::NotBegun => {}
    }
}

/// Steps that the book no longer has.
fn gone(desk: &Desk, kept: &Kept, until: HalfDay, changes: &mut Changes) {
    for row in kept.plan.steps.iter().filter(|row| row.start < until) {
        let job = desk.book.jobs.iter().find(|job| job.id == row.job);
        if job.is_none_or(|job| job.steps.iter().all(|step| step.id != row.step)) {
            changes
                .notes
                .push(format!("{}/{} is in the plan and no longer in the book: passed over", row.job, row.step));
        }
    }
}

/// A haul at the start of a half-day or in its evening is over when the next one begins, also one over a long road (H5).
/// What is held at a job that the plan is ahead of has not been hauled away.
fn places(desk: &Desk, kept: &Kept, until: HalfDay, settled: &Settled, changes: &mut Changes) {
    let mut hauls: Vec<_> = kept.plan.hauls.iter().filter(|haul| haul.at < until).collect();
    hauls.sort_by_key(|haul| (haul.at, haul.evening));
    let hauled = hauls.iter().map(|haul| (haul.unit.as_str(), haul.to.as_str()));
    let stay = settled.stay.iter().map(|(unit, place)| (unit.as_str(), place.as_str()));
    let stands: BTreeMap<&str, &str> = hauled.chain(stay).collect();
    for (n, unit) in desk.book.equipment.iter().enumerate() {
        if let Some(place) = stands.get(unit.id.as_str()).filter(|place| **place != unit.place) {
            set_place(changes, n, &unit.id, &unit.place, place);
        }
    }
}
