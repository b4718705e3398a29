//! A step that is done, in progress, or to be planned again.

use serde_json::Value;
use yardless_book::{Book, DoneStep, Extra, Job, Path, Progress, Step};

use super::fill::Fill;
use super::subject::StepAt;
use super::{Desk, parked, word};
use crate::Changes;
use crate::trouble::{OfNote, Trouble};
use crate::{Edit, value};

/// The step's path in the book.
pub fn path(at: StepAt) -> Path {
    Path::default().field("jobs").index(at.job).field("steps").index(at.step)
}

/// The step and its name, `job/step`.
pub fn step(book: &Book, at: StepAt) -> (&Step, String) {
    let job = &book.jobs[at.job];
    let step = &job.steps[at.step];
    (step, format!("{}/{}", job.id, step.id))
}

/// How far a step is, in words.
fn state(book: &Book, job: &Job, step: &Step) -> String {
    let way = |way: &Option<String>| way.as_ref().map_or(String::new(), |way| format!(" ({way})"));
    match (&step.done, &step.progress) {
        (Some(done), _) => {
            let to = if done.end == done.start { String::new() } else { format!(" to {}", done.end) };
            format!("done by {}{}, {}{to}", done.crew, way(&done.way), done.start)
        }
        (None, Some(progress)) => {
            let Progress { crew, start, left, .. } = progress;
            let left = word::amount(*left, in_hours(step, progress.way.as_deref()));
            let as_of = word::said_at(&progress.extra).map_or(String::new(), |at| format!(" as of {at}"));
            let place = book.places.iter().find(|place| place.id == job.place);
            let with = if step.between_spans(place.and_then(|place| place.power_from)) {
                ", holding nothing until its crew comes back to it".to_owned()
            } else if progress.units.is_empty() {
                String::new()
            } else {
                format!(", with {}", progress.units.join(", "))
            };
            format!("in progress by {crew}{} since {start}, {left} left{as_of}{with}", way(&progress.way))
        }
        (None, None) => {
            word::said_at(&step.extra).map_or("not started".to_owned(), |at| format!("not started as of {at}"))
        }
    }
}

/// Whether the way is counted in labor hours.
pub fn in_hours(step: &Step, way: Option<&str>) -> bool {
    match &step.ways {
        None => step.labor_hours.is_some(),
        Some(ways) => step.way(way).is_some_and(|way| ways[way].labor_hours.is_some()),
    }
}

/// Writes that the step is done.
pub fn set_done(changes: &mut Changes, at: StepAt, book: &Book, done: DoneStep, source: &str) {
    let (step, _) = step(book, at);
    if step.progress.is_some() {
        changes.edits.push(Edit::Remove(path(at).field("progress")));
    }
    begun(changes, at, step);
    changes.edits.push(Edit::Set(path(at).field("done"), value(&done)));
    let now = Step { done: Some(done), progress: None, ..step.clone() };
    tell(changes, at, book, &now, source);
}

/// Writes that the step is in progress.
pub fn set_progress(changes: &mut Changes, at: StepAt, book: &Book, progress: Progress, source: &str) {
    let (step, _) = step(book, at);
    if step.done.is_some() {
        changes.edits.push(Edit::Remove(path(at).field("done")));
    }
    begun(changes, at, step);
    changes.edits.push(Edit::Set(path(at).field("progress"), value(&progress)));
    let now = Step { done: None, progress: Some(progress), ..step.clone() };
    tell(changes, at, book, &now, source);
}

/// Tells what becomes of a step.
fn tell(changes: &mut Changes, at: StepAt, book: &Book, now: &Step, source: &str) {
    let (was, name) = step(book, at);
    let state = |step: &Step| state(book, &book.jobs[at.job], step);
    changes.tell(&name, &state(was), &format!("{}{source}", state(now)));
}

/// A step that has begun was not said not to have any more.
fn begun(changes: &mut Changes, at: StepAt, step: &Step) {
    if step.extra.contains_key(word::SAID) {
        changes.edits.push(Edit::Remove(path(at).field(word::SAID)));
    }
}

/// `JOB/STEP done`.
pub fn done(desk: &Desk, at: StepAt) -> Result<Changes, Trouble> {
    let (step, name) = step(desk.book, at);
    let mut fill = Fill::new(desk, at);
    let (crew, way, start, end) = (fill.crew(), fill.way(), fill.start(), fill.end());
    let source = fill.settled(&name)?;
    let (Some(crew), Some(start), Some(end)) = (crew, start, end) else { return Ok(Changes::default()) };
    if end < start {
        return Err(OfNote::Order { step: name, start, end }.into());
    }
    let mut changes = Changes::default();
    let extra = step.done.as_ref().map_or_else(Extra::new, |done| done.extra.clone());
    let done = DoneStep { crew, way, start, end, extra };
    set_done(&mut changes, at, desk.book, done, &source);
    let steps = &desk.book.jobs[at.job].steps;
    let over = steps.iter().enumerate().all(|(n, other)| n == at.step || other.done.is_some());
    let units = parked::name(desk, at.job, over, &mut changes)?;
    stand(desk, at, &units, &mut changes);
    Ok(changes)
}

/// `JOB/STEP left N`.
pub fn left(desk: &Desk, at: StepAt, left: f64) -> Result<Changes, Trouble> {
    let (step, name) = step(desk.book, at);
    let mut fill = Fill::new(desk, at);
    let (crew, way, start, mut units) = (fill.crew(), fill.way(), fill.start(), fill.units());
    let source = fill.settled(&name)?;
    let (Some(crew), Some(start), Some(held)) = (crew, start, &mut units) else { return Ok(Changes::default()) };
    let mut changes = Changes::default();
    let extra = word::said(step.progress.as_ref().map_or(&Extra::new(), |progress| &progress.extra), desk.now);
    let progress = Progress { crew, way, start, left, units: held.clone(), extra };
    set_progress(&mut changes, at, desk.book, progress, &source);
    held.extend(parked::name(desk, at.job, false, &mut changes)?);
    stand(desk, at, held, &mut changes);
    Ok(changes)
}

/// `JOB/STEP again`. Where the plan has it begun, the book keeps that it was said not to have.
pub fn again(desk: &Desk, at: StepAt) -> Changes {
    let of = step(desk.book, at).0;
    let job = &desk.book.jobs[at.job];
    let rows = desk.kept.as_ref().map_or_else(Vec::new, |kept| kept.rows(&job.id, &of.id));
    let mut now = Step { done: None, progress: None, ..of.clone() };
    let mut changes = Changes::default();
    changes.edits.push(Edit::Remove(path(at).field("done")));
    changes.edits.push(Edit::Remove(path(at).field("progress")));
    if rows.first().is_some_and(|row| row.start <= desk.now) {
        now.extra = word::said(&of.extra, desk.now);
        changes.edits.push(Edit::Set(path(at).field(word::SAID), Value::from(desk.now.to_string())));
    } else {
        now.extra.remove(word::SAID);
        changes.edits.push(Edit::Remove(path(at).field(word::SAID)));
    }
    tell(&mut changes, at, desk.book, &now, "");
    if job.steps.iter().enumerate().all(|(n, other)| n == at.step || !other.started()) {
        for (n, need) in job.parked.iter().enumerate().filter(|(_, need)| !need.units.is_empty()) {
            let at = Path::default().field("jobs").index(at.job).field("parked").index(n).field("units");
            changes.edits.push(Edit::Remove(at));
            changes.tell(&format!("parked at {}, {}", job.id, need.kind), &need.units.join(", "), "not named");
        }
    }
    changes
}

/// Units that are held at a job stand at its place.
fn stand(desk: &Desk, at: StepAt, units: &[String], changes: &mut Changes) {
    let place = &desk.book.jobs[at.job].place;
    for (n, unit) in desk.book.equipment.iter().enumerate().filter(|(_, unit)| units.contains(&unit.id)) {
        if unit.place != *place {
            set_place(changes, n, &unit.id, &unit.place, place);
        }
    }
}

/// Writes where a unit stands.
pub fn set_place(changes: &mut Changes, unit: usize, id: &str, was: &str, place: &str) {
    let at = Path::default().field("equipment").index(unit).field("place");
    changes.edits.push(Edit::Set(at, Value::from(place)));
    changes.tell(id, &format!("at {was}"), &format!("at {place}"));
}
