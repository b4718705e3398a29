//! The table with plain columns, written: what a plain row cannot say is named at its end.

use serde_json::Value;
use yardless_edit::spoken::label;

use super::columns::{ALSO, Column, JOB, OF_JOB, OF_STEP, STEP};
use super::formula::guarded;
use super::words::{Names, called, members};
use crate::refusal::Refusal;

/// The table of a book.
pub fn table(book: &Value) -> Result<Vec<u8>, Refusal> {
    let failed = |e: csv::Error| Refusal::ours("web::csv", e);
    let mut out = csv::Writer::from_writer(Vec::new());
    let heads = OF_JOB.iter().map(|column| column.head);
    let of_steps = OF_STEP.iter().map(|column| column.head);
    out.write_record([JOB].into_iter().chain(heads).chain([STEP]).chain(of_steps).chain([ALSO])).map_err(failed)?;
    let jobs = members(&book["jobs"]);
    for job in book["jobs"].as_array().into_iter().flatten() {
        let names = Names { book, steps: members(&job["steps"]) };
        let job_name = called(&jobs, job["id"].as_str().unwrap_or_default());
        for (n, step) in job["steps"].as_array().into_iter().flatten().enumerate() {
            let cell = |column: &Column, of: &Value| guarded(&names.says(column.written, &of[column.field]));
            // What is said of the job is said once.
            let of_job = OF_JOB.iter().map(|column| if n == 0 { cell(column, job) } else { String::new() });
            let of_step = OF_STEP.iter().map(|column| cell(column, step));
            let more_of_job = if n == 0 { also("Job", job, &OF_JOB) } else { Vec::new() };
            let also = [more_of_job, also("Step", step, &OF_STEP)].concat().join("; ");
            let step_name = called(&names.steps, step["id"].as_str().unwrap_or_default());
            let row = [guarded(job_name)].into_iter().chain(of_job).chain([guarded(step_name)]).chain(of_step);
            out.write_record(row.chain([also])).map_err(failed)?;
        }
    }
    out.into_inner().map_err(|e| Refusal::ours("web::csv", e))
}

/// What is said of something that no column says, in the words of the forms.
fn also(of: &str, value: &Value, columns: &[Column]) -> Vec<String> {
    let known =
        |name: &str| ["id", "name", "steps"].contains(&name) || columns.iter().any(|column| column.field == name);
    let fields = value.as_object().into_iter().flatten();
    let more = fields.filter(|(name, _)| !known(name) && !name.starts_with("x_"));
    more.map(|(name, _)| label(of, name).to_lowercase()).collect()
}
