//! The dates by which a job can be finished.

use serde_json::Value;
use yardless_answer::offers;
use yardless_book::{Faults, Job, Path as BookPath};
use yardless_edit::Edit;
use yardless_edit::book_file::BookFile;
use yardless_edit::trouble::{Faulty, OfQuestion, Trouble};
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
                return Err(OfQuestion::OfferDone { job: job.id.clone() }.into());
            }
            job.clone()
        }
    };
    let given = asked.given()?;
    let found = offers(&given, &job, rows, limits);
    let mut found = found.ok_or_else(|| OfQuestion::JobFaulty { job: job.id.clone() })?;
    for row in &mut found.rows {
        row.plan.so_far.clone_from(&asked.so_far);
    }
    let dates = yardless_view::offer_rows(&given, &job, &found);
    let answered = Answered::new(
        yardless_view::offers(&given, &job, &found, &dates),
        yardless_view::offers_json(&job, &found),
        asked.assumed.as_ref(),
    );
    Ok(Answered { dates, ..answered })
}

/// A job from its text, judged as if it were the last of the book.
fn from_text(of: &BookFile, name: &str, text: &[u8]) -> Result<Job, Trouble> {
    let job: Value = serde_json::from_slice(text)
        .map_err(|e| OfQuestion::JobNotJson { name: name.to_owned(), why: e.to_string() })?;
    let with_it = yardless_edit::apply(of.text(), &[Edit::Append(BookPath::default().field("jobs"), job)])
        .map_err(|_| OfQuestion::JobNotPut { name: name.to_owned() })?;
    match yardless_book::read(with_it.as_bytes()) {
        Ok(written) => Ok(written.book.jobs.last().cloned().ok_or(OfQuestion::JobMissing)?),
        Err(Faults { all }) => {
            let file = format!("{} with {name}", of.name());
            Err(Faulty { file, bytes: with_it.into_bytes(), faults: all }.into())
        }
    }
}
