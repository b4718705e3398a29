//! `note --until`: everything in the kept plan before a half-day went as planned.

use std::collections::BTreeMap;

use yardless_book::half_day::HalfDay;
use yardless_book::{DoneStep, Extra, Progress};
use yardless_plan::StepRow;

use super::kept::{Kept, Stage};
use super::left::left;
use super::parked::{self, HowFar};
use super::stands::{Settled, settle};
use super::step::{set_done, set_place, set_progress, step};
use super::subject::StepAt;
use super::up_to::{ByWhom, UpTo, by_whom};
use super::word::{self, Outcome};
use super::{NoteContext, Noted, ranges};
use crate::Changes;
use crate::changes::Remark;
use crate::trouble::{OfNote, Trouble};

/// Steps that ended are done, steps that began are in progress with what is left of them, and units stand where the
/// hauls before then have left them. What a person said stands: what is done already, what is left, what has not begun;
/// and what by that cannot have begun is left as it is.
pub fn until(context: &NoteContext, until: HalfDay, over: &[String]) -> Result<Noted, Trouble> {
    let Some(kept) = &context.kept else {
        return Err(OfNote::NoPlan.into());
    };
    let mut changes = Changes::default();
    if until > context.now {
        changes.remarks.push(Remark::StillToCome { until, now: context.now });
    }
    let up_to = UpTo::new(context, kept, until);
    let settled = settle(&up_to, over)?;
    jobs(&up_to, &settled, &mut changes)?;
    gone(context, kept, until, &mut changes);
    places(context, kept, until, &settled, &mut changes);
    let held_back = settled.held_back.iter().map(|(at, why)| (step(context.book, *at).1, why.clone()));
    Ok(Noted { changes, held_back: held_back.collect(), stands: settled.stands, agreed: settled.agreed })
}

fn jobs(up_to: &UpTo, settled: &Settled, changes: &mut Changes) -> Result<(), Trouble> {
    for (number, job) in up_to.context.book.jobs.iter().enumerate() {
        let mut far = HowFar::of(job);
        for index in 0..job.steps.len() {
            let went = went(up_to, StepAt { job: number, step: index }, settled, changes)?;
            far.begun.extend(went.begun.then_some(index));
            far.done.extend((went.over && !far.done.contains(&index)).then_some(index));
        }
        if !far.begun.is_empty() && far.done.len() < job.steps.len() {
            parked::name(up_to.context, number, &far, changes)?;
        }
    }
    Ok(())
}

/// How a step went.
struct Went {
    /// Whether it is done.
    over: bool,
    /// Whether it has begun as planned.
    begun: bool,
}

/// Writes how far a step is.
fn went(up_to: &UpTo, at: StepAt, settled: &Settled, changes: &mut Changes) -> Result<Went, Trouble> {
    let of = step(up_to.context.book, at).0;
    if of.done.is_some() {
        return Ok(Went { over: true, begun: false });
    }
    let rows = up_to.rows(at);
    let at_stage = up_to.stage(&rows, of.progress.is_some());
    if at_stage == Stage::Waits || settled.held_back.contains_key(&at) {
        return Ok(Went { over: false, begun: false });
    }
    if let Some(is) = settled.outcomes.get(&at) {
        let units = up_to.held(at, at_stage, &rows);
        as_said(up_to.context, (at, *is), units, up_to.until, changes);
        return Ok(Went { over: matches!(is, Outcome::Done(_)), begun: false });
    }
    let over = as_planned(up_to, at, at_stage, &rows, changes)?;
    Ok(Went { over, begun: true })
}

/// Writes how far a step is by the plan; whether it is done.
fn as_planned(
    up_to: &UpTo,
    at: StepAt,
    at_stage: Stage,
    rows: &[&StepRow],
    changes: &mut Changes,
) -> Result<bool, Trouble> {
    let (book, until) = (up_to.context.book, up_to.until);
    let (of, name) = step(book, at);
    let (first, last) = (rows[0], rows[rows.len() - 1]);
    let known = of.progress.as_ref();
    let ByWhom { crew, with, way } = by_whom(of, first);
    let (crew, with, way) = (crew.clone(), with.to_vec(), way.cloned());
    let start = known.map_or(first.start, |known| known.start);
    if last.end < until {
        set_done(changes, at, book, DoneStep { crew, with, way, start, end: last.end, extra: Extra::new() }, None);
        return Ok(true);
    }
    let (left, almost) = left(&up_to.left(at, rows)?)?;
    changes.remarks.extend(almost.then_some(Remark::AlmostDone(name)));
    let units = up_to.held(at, at_stage, rows);
    let extra = match known {
        Some(known) if (known.left - left).abs() < 1e-9 && word::is_planned(&known.extra) => known.extra.clone(),
        known => word::planned(known.map_or(&Extra::new(), |known| &known.extra), until),
    };
    set_progress(changes, at, book, Progress { crew, with, way, start, left, units, extra }, None);
    Ok(false)
}

/// Writes what a step is by what a person said of it, with the units that it then holds.
fn as_said(
    context: &NoteContext,
    (at, is): (StepAt, Outcome),
    units: Vec<String>,
    until: HalfDay,
    changes: &mut Changes,
) {
    let Some(known) = &step(context.book, at).0.progress else { return };
    match is {
        Outcome::Done(end) => {
            let Progress { crew, with, way, start, .. } = known.clone();
            set_done(changes, at, context.book, DoneStep { crew, with, way, start, end, extra: Extra::new() }, None);
        }
        Outcome::Left(left) if left < known.left || units != known.units => {
            let extra = word::said(&known.extra, ranges::before(until));
            set_progress(changes, at, context.book, Progress { left, extra, units, ..known.clone() }, None);
        }
        Outcome::Left(_) | Outcome::NotBegun => {}
    }
}

/// Steps that the book no longer has.
fn gone(context: &NoteContext, kept: &Kept, until: HalfDay, changes: &mut Changes) {
    for row in kept.plan.steps.iter().filter(|row| row.start < until) {
        let job = context.book.jobs.iter().find(|job| job.id == row.job);
        if job.is_none_or(|job| job.steps.iter().all(|step| step.id != row.step)) {
            changes.remarks.push(Remark::NotInBook(format!("{}/{}", row.job, row.step)));
        }
    }
}

/// A haul at the start of a half-day or in its evening is over when the next one begins, also one over a long road (H5).
/// What is held at a job that the plan is ahead of has not been hauled away.
fn places(context: &NoteContext, kept: &Kept, until: HalfDay, settled: &Settled, changes: &mut Changes) {
    let mut hauls: Vec<_> = kept.plan.hauls.iter().filter(|haul| haul.at < until).collect();
    hauls.sort_by_key(|haul| (haul.at, haul.evening));
    let hauled = hauls.iter().map(|haul| (haul.unit.as_str(), haul.to.as_str()));
    let stay = settled.stay.iter().map(|(unit, place)| (unit.as_str(), place.as_str()));
    let stands: BTreeMap<&str, &str> = hauled.chain(stay).collect();
    for (n, unit) in context.book.equipment.iter().enumerate() {
        if let Some(place) = stands.get(unit.id.as_str()).filter(|place| **place != unit.place) {
            set_place(changes, n, &unit.id, &unit.place, place);
        }
    }
}
