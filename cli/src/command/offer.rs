//! `yardless offer`: the dates by which a job can be finished.

use std::path::Path;

use yardless_ask::Which;
use yardless_ask::asked;
use yardless_book::MOST_BYTES;
use yardless_edit::file::read;
use yardless_edit::trouble::{OfQuestion, Trouble};

use crate::answer::Answer;
use crate::args::OfferArgs;
use crate::search;

/// Seconds of search where nothing else is asked for.
const SECONDS: f64 = 5.0;

/// Answers for a job of the book, or for one in a file of its own.
pub fn run(book: &Path, args: &OfferArgs) -> Result<Answer, Trouble> {
    let asked = asked::read(book, args.ask.plan.as_deref(), args.ask.now)?;
    let limits = search::limits(args.effort.seconds, args.effort.steps, SECONDS);
    let rows = usize::from(args.rows);
    let answered = match (&args.file, &args.job) {
        (Some(file), _) => {
            let name = file.display().to_string();
            let text = read(file, MOST_BYTES)
                .map_err(|e| OfQuestion::JobUnreadable { name: name.clone(), why: e.to_string() })?;
            yardless_ask::offer(&asked, Which::Text(&name, &text), rows, &limits)?
        }
        (None, Some(job)) => yardless_ask::offer(&asked, Which::OfBook(job), rows, &limits)?,
        (None, None) => return Err(OfQuestion::NoJob.into()),
    };
    Ok(Answer::of(&answered, &args.ask))
}
