//! A crew's steps, and how far each is by the book.

use chrono::NaiveDate;
use yardless_book::half_day::HalfDay;
use yardless_book::{Book, Step};
use yardless_view::span;

use crate::desk::standing::Standing;
use crate::step::planned::{counted_in, how_far};

/// A step of the crew, and how far it is.
pub struct StepRow {
    /// What names it: `job/step`.
    pub of: String,
    /// Job and step.
    pub name: String,
    /// From when to when.
    pub planned: String,
    /// How far it is.
    pub state: String,
    /// Whether it is done.
    pub done: bool,
    /// Whether it is begun.
    pub begun: bool,
    /// Whether it can be told of: it is planned for today or before, or begun.
    pub due: bool,
    /// What is left is counted in these.
    pub unit: &'static str,
    /// What was typed and could not be kept.
    pub typed: String,
    /// Who may have helped: id, name, and whether it did by the book, else by the plan.
    pub helpers: Vec<(String, String, bool)>,
    /// Those that do, in words.
    pub helped: String,
}

/// Whether a crew does a step, or helps with it.
pub fn works(row: &yardless_plan::StepRow, crew: &str) -> bool {
    row.crew == crew || row.with.iter().any(|helper| helper == crew)
}

/// The crew's steps that touch a range by the plan, and those that it has begun.
pub fn steps(standing: &Standing, crew: &str, (first, last): (HalfDay, HalfDay), today: NaiveDate) -> Vec<StepRow> {
    let book = &standing.book.written.book;
    let Some(given) = &standing.plan else { return Vec::new() };
    let rows = given.file.plan.steps.iter().filter(|row| works(row, crew) && row.end >= first && row.start <= last);
    let mut rows: Vec<_> = rows.collect();
    rows.sort_by_key(|row| row.start);
    rows.into_iter()
        .filter_map(|row| {
            let job = book.jobs.iter().find(|job| job.id == row.job)?;
            let step = job.steps.iter().find(|step| step.id == row.step)?;
            let name = |id: &str, name: &Option<String>| name.clone().unwrap_or_else(|| id.to_owned());
            let unit = counted_in(step, &row.way);
            let state = how_far(book, job, step, unit);
            let helpers = helpers(book, step, row);
            let helped: Vec<String> =
                helpers.iter().filter(|(_, _, does)| *does).map(|(_, name, _)| name.clone()).collect();
            Some(StepRow {
                of: format!("{}/{}", row.job, row.step),
                name: format!("{}, {}", name(&job.id, &job.name), name(&step.id, &step.name)),
                planned: span(row.start, row.end),
                state,
                done: step.done.is_some(),
                begun: step.progress.is_some(),
                due: row.start.date() <= today || step.started(),
                unit,
                typed: String::new(),
                helpers,
                helped: if helped.is_empty() { "nobody".to_owned() } else { yardless_view::list(&helped) },
            })
        })
        .collect()
}

/// The crews that may have helped with a step; none where the book has no other crew of its own.
fn helpers(book: &Book, step: &Step, row: &yardless_plan::StepRow) -> Vec<(String, String, bool)> {
    let progress = step.progress.as_ref().map(|of| (&of.crew, &of.with));
    let (crew, with) = progress.unwrap_or((&row.crew, &row.with));
    let others = book.crews.iter().filter(|of| of.own && of.id != *crew);
    others.map(|of| (of.id.clone(), of.name.clone().unwrap_or_else(|| of.id.clone()), with.contains(&of.id))).collect()
}
