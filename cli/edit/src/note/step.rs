//! A step that is done, in progress, or to be planned again.

use serde_json::Value;
use yardless_book::{Book, DoneStep, Extra, Job, Parked, Path, Progress, Step};

use super::fill::Fill;
use super::parked::{self, HowFar};
use super::subject::StepAt;
use super::{NoteContext, helpers, word};
use crate::Changes;
use crate::changes::{BookChange, FilledIn, StepStatus};
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

/// How far a step is.
fn status(book: &Book, job: &Job, step: &Step) -> StepStatus {
    if let Some(done) = &step.done {
        let DoneStep { crew, with, way, start, end, .. } = done.clone();
        return StepStatus::Done { crew, with, way, start, end };
    }
    let Some(progress) = &step.progress else {
        return StepStatus::NotStarted { as_of: word::said_at(&step.extra) };
    };
    let Progress { crew, with, way, start, left, units, extra } = progress.clone();
    let hours = in_hours(step, way.as_deref());
    let place = book.places.iter().find(|place| place.id == job.place);
    let between = step.between_spans(place.and_then(|place| place.power_from));
    let (as_of, units) = (word::said_at(&extra), (!between).then_some(units));
    StepStatus::InProgress { crew, with, way, start, left, hours, as_of, units }
}

/// Whether the way is counted in labor hours.
pub fn in_hours(step: &Step, way: Option<&str>) -> bool {
    match &step.ways {
        None => step.labor_hours.is_some(),
        Some(ways) => step.way(way).is_some_and(|way| ways[way].labor_hours.is_some()),
    }
}

/// Writes that the step is done.
pub fn set_done(changes: &mut Changes, at: StepAt, book: &Book, done: DoneStep, filled_in: Option<FilledIn>) {
    let (step, _) = step(book, at);
    if step.progress.is_some() {
        changes.edits.push(Edit::Remove(path(at).field("progress")));
    }
    begun(changes, at, step);
    changes.edits.push(Edit::Set(path(at).field("done"), value(&done)));
    let now = Step { done: Some(done), progress: None, ..step.clone() };
    tell(changes, at, book, &now, filled_in);
}

/// Writes that the step is in progress.
pub fn set_progress(changes: &mut Changes, at: StepAt, book: &Book, progress: Progress, filled_in: Option<FilledIn>) {
    let (step, _) = step(book, at);
    if step.done.is_some() {
        changes.edits.push(Edit::Remove(path(at).field("done")));
    }
    begun(changes, at, step);
    changes.edits.push(Edit::Set(path(at).field("progress"), value(&progress)));
    let now = Step { done: None, progress: Some(progress), ..step.clone() };
    tell(changes, at, book, &now, filled_in);
}

/// Tells what becomes of a step.
fn tell(changes: &mut Changes, at: StepAt, book: &Book, now: &Step, filled_in: Option<FilledIn>) {
    let (was, name) = step(book, at);
    let status = |step: &Step| status(book, &book.jobs[at.job], step);
    changes.tell(BookChange::Step { step: name, was: status(was), is: status(now), filled_in });
}

/// A step that has begun was not said not to have any more.
fn begun(changes: &mut Changes, at: StepAt, step: &Step) {
    if step.extra.contains_key(word::SAID) {
        changes.edits.push(Edit::Remove(path(at).field(word::SAID)));
    }
}

/// Who helps a crew with a step (W11): as it is said, else as the book has it, else as the plan has it; nobody where another
/// crew does it.
fn helped(context: &NoteContext, at: StepAt, crew: &str) -> Result<Vec<String>, Trouble> {
    let (step, name) = step(context.book, at);
    if let Some(given) = &context.request.with {
        return helpers::named(context.book, &name, crew, given);
    }
    let recorded = step.progress.iter().map(|p| (&p.crew, &p.with)).chain(step.done.iter().map(|d| (&d.crew, &d.with)));
    let job = &context.book.jobs[at.job].id;
    let rows = context.kept.as_ref().map_or_else(Vec::new, |kept| kept.rows(job, &step.id));
    let planned = rows.first().map(|row| (&row.crew, &row.with));
    let by = recorded.chain(planned).next();
    Ok(by.filter(|(by, _)| *by == crew).map_or_else(Vec::new, |(_, with)| with.clone()))
}

/// `JOB/STEP done`.
pub fn done(context: &NoteContext, at: StepAt) -> Result<Changes, Trouble> {
    let (step, name) = step(context.book, at);
    let mut fill = Fill::new(context, at);
    let (crew, way, start, end) = (fill.crew(), fill.way(), fill.start(), fill.end());
    let filled_in = fill.settled(&name)?;
    let (Some(crew), Some(start), Some(end)) = (crew, start, end) else { return Ok(Changes::default()) };
    if end < start {
        return Err(OfNote::Order { step: name, start, end }.into());
    }
    let mut changes = Changes::default();
    let with = helped(context, at, &crew)?;
    let extra = step.done.as_ref().map_or_else(Extra::new, |done| done.extra.clone());
    let done = DoneStep { crew, with, way, start, end, extra };
    set_done(&mut changes, at, context.book, done, filled_in);
    let mut far = HowFar::of(&context.book.jobs[at.job]);
    far.begun.push(at.step);
    if step.done.is_none() {
        far.done.push(at.step);
    }
    let units = parked::name(context, at.job, &far, &mut changes)?;
    stand(context, at, &units, &mut changes);
    Ok(changes)
}

/// `JOB/STEP left N`.
pub fn left(context: &NoteContext, at: StepAt, left: f64) -> Result<Changes, Trouble> {
    let (step, name) = step(context.book, at);
    let mut fill = Fill::new(context, at);
    let (crew, way, start, mut units) = (fill.crew(), fill.way(), fill.start(), fill.units());
    let filled_in = fill.settled(&name)?;
    let (Some(crew), Some(start), Some(held)) = (crew, start, &mut units) else { return Ok(Changes::default()) };
    let mut changes = Changes::default();
    let with = helped(context, at, &crew)?;
    let extra = word::said(step.progress.as_ref().map_or(&Extra::new(), |progress| &progress.extra), context.now);
    let progress = Progress { crew, with, way, start, left, units: held.clone(), extra };
    set_progress(&mut changes, at, context.book, progress, filled_in);
    let mut far = HowFar::of(&context.book.jobs[at.job]);
    far.begun.push(at.step);
    far.done.retain(|done| *done != at.step);
    held.extend(parked::name(context, at.job, &far, &mut changes)?);
    stand(context, at, held, &mut changes);
    Ok(changes)
}

/// `JOB/STEP again`. Where the plan has it begun, the book keeps that it was said not to have.
pub fn again(context: &NoteContext, at: StepAt) -> Changes {
    let of = step(context.book, at).0;
    let job = &context.book.jobs[at.job];
    let rows = context.kept.as_ref().map_or_else(Vec::new, |kept| kept.rows(&job.id, &of.id));
    let mut now = Step { done: None, progress: None, ..of.clone() };
    let mut changes = Changes::default();
    changes.edits.push(Edit::Remove(path(at).field("done")));
    changes.edits.push(Edit::Remove(path(at).field("progress")));
    if rows.first().is_some_and(|row| row.start <= context.now) {
        now.extra = word::said(&of.extra, context.now);
        changes.edits.push(Edit::Set(path(at).field(word::SAID), Value::from(context.now.to_string())));
    } else {
        now.extra.remove(word::SAID);
        changes.edits.push(Edit::Remove(path(at).field(word::SAID)));
    }
    tell(&mut changes, at, context.book, &now, None);
    let none_begun = job.steps.iter().enumerate().all(|(n, other)| n == at.step || !other.started());
    let begins = |need: &Parked| none_begun || need.from.as_ref() == Some(&of.id);
    for (n, need) in job.parked.iter().enumerate().filter(|(_, need)| !need.units.is_empty() && begins(need)) {
        let at = Path::default().field("jobs").index(at.job).field("parked").index(n).field("units");
        changes.edits.push(Edit::Remove(at));
        let (kind, was) = (need.kind.clone(), need.units.clone());
        changes.tell(BookChange::Parked { job: job.id.clone(), kind, was, is: Vec::new(), by: None });
    }
    changes
}

/// Units that are held at a job stand at its place.
fn stand(context: &NoteContext, at: StepAt, units: &[String], changes: &mut Changes) {
    let place = &context.book.jobs[at.job].place;
    for (n, unit) in context.book.equipment.iter().enumerate().filter(|(_, unit)| units.contains(&unit.id)) {
        if unit.place != *place {
            set_place(changes, n, &unit.id, &unit.place, place);
        }
    }
}

/// Writes where a unit stands.
pub fn set_place(changes: &mut Changes, unit: usize, id: &str, was: &str, place: &str) {
    let at = Path::default().field("equipment").index(unit).field("place");
    changes.edits.push(Edit::Set(at, Value::from(place)));
    changes.tell(BookChange::Place { unit: id.to_owned(), was: was.to_owned(), is: place.to_owned() });
}
