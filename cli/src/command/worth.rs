//! `yardless worth`: what one more would save.

use std::path::Path;

use yardless_ask::asked;
use yardless_edit::trouble::Trouble;

use crate::answer::Answer;
use crate::args::WorthArgs;
use crate::search;

/// Seconds of search where nothing else is asked for.
const SECONDS: f64 = 20.0;

/// Each kind, crew and so on once more, as many as rows are asked for.
pub fn run(book: &Path, args: &WorthArgs) -> Result<Answer, Trouble> {
    let asked = asked::read(book, args.ask.plan.as_deref(), args.ask.now)?;
    let limits = search::limits(args.effort.seconds, args.effort.steps, SECONDS);
    Ok(Answer::of(&yardless_ask::worth(&asked, usize::from(args.rows), &limits)?, &args.ask))
}
