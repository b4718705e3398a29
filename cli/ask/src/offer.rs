//! The dates by which a job can be finished.

use serde_json::Value;
use yardless_answer::offers;
use yardless_book::{Faults, Job, Path as BookPath};
use yardless_edit::Edit;
use yardless_edit::book_file::BookFile;
use yardless_edit::trouble::Trouble;
use yardless_engine::Limits;

use super::Answered;
use crate::asked::Asked;

/// The job asked about.
#[derive(Clone, Copy, Debug)]
pub enum Which<'a> {
    /// One of the book, by its id or name.
    OfBook(&'a str),
    /// One that is not in the book yet: the name of what it was read from, and its text.
    Text(&'a str, &'a [u8]),
}

/// Up to so many dates.
pub fn offer(asked: &Asked, which: Which, rows: usize, limits: &Limits) -> Result<Answered, Trouble> {
    let job = match which {
        Which::Text(name, text) => from_text(&asked.file, name, text)?,
        Which::OfBook(job) => {
            let job = asked.job(job)?;
            if job.steps.iter().all(|step| step.done.is_some()) {
                let says = format!("`{}` is done: there is no date to offer", job.id);
                return Err(Trouble::input("offer::done", says, "`yardless note JOB/STEP again` plans a step again"));
            }
            job.clone()
        }
    };
    let given = asked.given()?;
    let found = offers(&given, &job, rows, limits).ok_or_else(|| {
        Trouble::input("offer::job", format!("the book with `{}` has a fault", job.id), "`yardless plan` names it")
    })?;
    Ok(Answered { told: yardless_view::offers(&given, &job, &found), json: yardless_view::offers_json(&job, &found) })
}

/// A job from its text, judged as if it were the last of the book.
fn from_text(of: &BookFile, name: &str, text: &[u8]) -> Result<Job, Trouble> {
    let help = "write one job as the book has it: `{ \"id\": ..., \"place\": ..., \"steps\": [...] }`";
    let job: Value = serde_json::from_slice(text)
        .map_err(|e| Trouble::input("offer::not-json", format!("`{name}` is not JSON: {e}"), help))?;
    let with_it = yardless_edit::apply(of.text(), &[Edit::Append(BookPath::default().field("jobs"), job)])
        .map_err(|_| Trouble::input("offer::job", format!("`{name}` cannot be put into the book"), help))?;
    match yardless_book::read(with_it.as_bytes()) {
        Ok(written) => {
            written.book.jobs.last().cloned().ok_or_else(|| Trouble::input("offer::job", "there is no job", help))
        }
        Err(Faults { all }) => {
            Err(Trouble::Book { file: format!("{} with {name}", of.name()), bytes: with_it.into_bytes(), faults: all })
        }
    }
}
