//! `yardless offer`: the dates by which a job can be finished.

use std::path::Path;

use serde_json::Value;
use yardless_solver::answer::offers;
use yardless_solver::book::{self, Faults, Job, Path as BookPath};

use crate::answer::Answer;
use crate::args::OfferArgs;
use crate::book_file::BookFile;
use crate::edit::{self, Edit};
use crate::trouble::Trouble;
use crate::{asked, search, view};

/// Seconds of search where nothing else is asked for.
const SECONDS: f64 = 5.0;

/// Answers for a job of the book, or for one in a file of its own.
pub fn run(book: &Path, args: &OfferArgs) -> Result<Answer, Trouble> {
    let asked = asked::read(book, &args.ask)?;
    let job = match (&args.file, &args.job) {
        (Some(file), _) => from_file(&asked.file, file)?,
        (None, Some(job)) => {
            let job = asked.job(job)?;
            if job.steps.iter().all(|step| step.done.is_some()) {
                let says = format!("`{}` is done: there is no date to offer", job.id);
                return Err(Trouble::input("offer::done", says, "`yardless note JOB/STEP again` plans a step again"));
            }
            job.clone()
        }
        (None, None) => {
            return Err(Trouble::input(
                "usage::job",
                "no job is named",
                "name a job of the book, or a file with --job FILE",
            ));
        }
    };
    let given = asked.given()?;
    let limits = search::limits(args.effort.seconds, args.effort.steps, SECONDS);
    let found = offers(&given, &job, usize::from(args.rows), &limits).ok_or_else(|| {
        Trouble::input("offer::job", format!("the book with `{}` has a fault", job.id), "`yardless plan` names it")
    })?;
    let text = if args.ask.json { view::offers_json(&job, &found) } else { view::offers(&given, &job, &found) };
    Ok(Answer::new(text))
}

/// A job from a file, judged as if it were the last of the book.
fn from_file(of: &BookFile, file: &Path) -> Result<Job, Trouble> {
    let name = file.display().to_string();
    let help = "write one job as the book has it: `{ \"id\": ..., \"place\": ..., \"steps\": [...] }`";
    let text = std::fs::read(file)
        .map_err(|e| Trouble::input("offer::unreadable", format!("the job `{name}` cannot be read: {e}"), help))?;
    let job: Value = serde_json::from_slice(&text)
        .map_err(|e| Trouble::input("offer::not-json", format!("`{name}` is not JSON: {e}"), help))?;
    let with_it = edit::apply(of.text(), &[Edit::Append(BookPath::default().field("jobs"), job)])
        .map_err(|_| Trouble::input("offer::job", format!("`{name}` cannot be put into the book"), help))?;
    match book::read(with_it.as_bytes()) {
        Ok(written) => {
            written.book.jobs.last().cloned().ok_or_else(|| Trouble::input("offer::job", "there is no job", help))
        }
        Err(Faults { all }) => {
            Err(Trouble::Book { file: format!("{} with {name}", of.name()), bytes: with_it.into_bytes(), faults: all })
        }
    }
}
