//! `note --until`: everything in the kept plan before a half-day went as planned.

mod left;

use std::collections::BTreeMap;

use yardless_solver::book::{DoneStep, Extra, Progress, Step, USUAL};
use yardless_solver::half_day::HalfDay;
use yardless_solver::shop::Shop;

use super::kept::{Kept, Stage, held, stage};
use super::step::{set_done, set_place, set_progress, step};
use super::subject::StepAt;
use super::{Desk, parked};
use crate::edit::Changes;
use crate::trouble::Trouble;
use left::{Left, left};

/// Steps that ended are done, steps that began are in progress with what is left of them, and units stand where the
/// hauls before then have left them. What the book says is done already stays as it is.
pub fn until(desk: &Desk, until: HalfDay) -> Result<Changes, Trouble> {
    let Some(kept) = &desk.kept else {
        return Err(Trouble::input(
            "note::missing",
            "there is no kept plan: no plan.json beside the book",
            "name the plan that the crews work by with --kept PLAN",
        ));
    };
    let mut changes = Changes::default();
    if until > desk.now {
        changes.notes.push(format!("{until} is still to come: it is {} now", desk.now));
    }
    steps(desk, kept, until, &mut changes)?;
    places(desk, kept, until, &mut changes);
    if changes.lines.is_empty() {
        changes.notes.push(format!("the plan `{}` has nothing before {until} that the book does not have", kept.name));
    }
    Ok(changes)
}

fn steps(desk: &Desk, kept: &Kept, until: HalfDay, changes: &mut Changes) -> Result<(), Trouble> {
    let mut shop: Option<Shop> = None;
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
            if at_stage == Stage::Waits {
                over = false;
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
            if shop.is_none() {
                shop = Some(desk.file.shop_of(&desk.file.before(None).0, kept.horizon, 0, Some(&[]))?);
            }
            let Some(shop) = &shop else { continue };
            let asked = Left { desk, kept, shop, at, crew: &crew, way: way.as_deref(), rows: &rows, until };
            let (left, doubt) = left(&asked)?;
            changes.notes.extend(doubt.map(|doubt| format!("{name}: {doubt}")));
            let fresh = kept.plan.book_digest == desk.file.written.digest;
            let units = held(at_stage, &rows, known, fresh).unwrap_or_default();
            let extra = known.map_or_else(Extra::new, |known| known.extra.clone());
            set_progress(changes, at, desk.book, Progress { crew, way, start, left, units, extra }, "");
        }
        if begun && !over {
            parked::name(desk, number, false, changes)?;
        }
    }
    gone(desk, kept, until, changes);
    Ok(())
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
fn places(desk: &Desk, kept: &Kept, until: HalfDay, changes: &mut Changes) {
    let mut hauls: Vec<_> = kept.plan.hauls.iter().filter(|haul| haul.at < until).collect();
    hauls.sort_by_key(|haul| (haul.at, haul.evening));
    let stands: BTreeMap<&str, &str> = hauls.iter().map(|haul| (haul.unit.as_str(), haul.to.as_str())).collect();
    for (n, unit) in desk.book.equipment.iter().enumerate() {
        if let Some(place) = stands.get(unit.id.as_str()).filter(|place| **place != unit.place) {
            set_place(changes, n, &unit.id, &unit.place, place);
        }
    }
}
