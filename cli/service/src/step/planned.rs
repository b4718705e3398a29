//! A step of the book, and what the plan given out says of it.

use yardless_book::{Book, Job, Place, Step};
use yardless_plan::StepRow;

use crate::desk::standing::Standing;
use crate::refusal::Refusal;

/// A step, and its rows.
pub struct Planned<'s> {
    /// Its job.
    pub job: &'s Job,
    /// The step.
    pub step: &'s Step,
    /// Where the job is.
    pub place: Option<&'s Place>,
    /// Its rows in the plan given out, the first span before the second; none: it is not planned.
    pub rows: Vec<&'s StepRow>,
}

impl<'s> Planned<'s> {
    /// By the ids of job and step.
    pub fn find(standing: &'s Standing, job: &str, step: &str) -> Result<Self, Refusal> {
        let book = &standing.book.written.book;
        let missing = || Refusal::missing(format!("The book has no step `{job}/{step}`."));
        let found = book.jobs.iter().find(|of| of.id == job).ok_or_else(missing)?;
        let of = found.steps.iter().find(|of| of.id == step).ok_or_else(missing)?;
        let rows = standing.plan.iter().flat_map(|given| &given.file.plan.steps);
        let mut rows: Vec<&StepRow> = rows.filter(|row| row.job == job && row.step == step).collect();
        rows.sort_by_key(|row| row.start);
        let place = book.places.iter().find(|place| place.id == found.place);
        Ok(Self { job: found, step: of, place, rows })
    }

    /// `Air seal attic, Birch attic`.
    pub fn name(&self) -> String {
        let (step, job) = (self.step.name.as_ref(), self.job.name.as_ref());
        format!("{}, {}", step.unwrap_or(&self.step.id), job.unwrap_or(&self.job.id))
    }

    /// `birch-attic/seal`.
    pub fn of(&self) -> String {
        format!("{}/{}", self.job.id, self.step.id)
    }

    /// The way in which it is planned; empty: it is not.
    pub fn way(&self) -> &str {
        self.rows.first().map_or("", |row| row.way.as_str())
    }
}

/// A crew's name, by its id.
pub fn crew_name<'b>(book: &'b Book, id: &'b str) -> &'b str {
    book.crews.iter().find(|crew| crew.id == id).and_then(|crew| crew.name.as_deref()).unwrap_or(id)
}

/// Labor hours and half-days that a step takes in a way.
fn amounts(step: &Step, way: &str) -> (Option<f64>, Option<u32>) {
    let found = step.way(Some(way)).and_then(|n| step.ways.as_ref()?.get(n));
    found.map_or((step.labor_hours, step.half_days), |way| (way.labor_hours, way.half_days))
}

/// What is left of a step is counted in these.
pub fn counted_in(step: &Step, way: &str) -> &'static str {
    if amounts(step, way).0.is_some() { "labor hours" } else { "half-days" }
}

/// All of a step, as it is counted; `None`: a stop.
pub fn whole(step: &Step, way: &str) -> Option<f64> {
    let (hours, half_days) = amounts(step, way);
    hours.or(half_days.map(f64::from))
}

/// How far a step is, in words.
pub fn how_far(book: &Book, job: &Job, step: &Step, unit: &str) -> String {
    match (&step.done, &step.progress) {
        (Some(_), _) => "done".to_owned(),
        (None, Some(progress)) => {
            let place = book.places.iter().find(|place| place.id == job.place);
            let away = step.between_spans(place.and_then(|place| place.power_from));
            format!("begun, {} {unit} left{}", progress.left, if away { ", to be come back to" } else { "" })
        }
        (None, None) => "planned".to_owned(),
    }
}
