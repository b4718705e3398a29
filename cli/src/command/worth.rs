//! `yardless worth`: what one more would save.

use std::path::Path;

use yardless_solver::answer::{all_more, worth};

use crate::answer::Answer;
use crate::args::WorthArgs;
use crate::trouble::Trouble;
use crate::{asked, search, view};

/// Seconds of search where nothing else is asked for.
const SECONDS: f64 = 20.0;

/// Each kind, crew and so on once more, as many as rows are asked for.
pub fn run(book: &Path, args: &WorthArgs) -> Result<Answer, Trouble> {
    let asked = asked::read(book, &args.ask)?;
    let given = asked.given()?;
    let mut more = all_more(&asked.shop);
    more.truncate(usize::from(args.rows));
    let limits = search::limits(args.effort.seconds, args.effort.steps, SECONDS);
    let (base, rows) = worth(&given, &more, &limits)
        .ok_or_else(|| Trouble::ours("worth::book", "the book cannot be planned from now on", "plan it again first"))?;
    Ok(Answer::new(if args.ask.json { view::worth_json(&base, &rows) } else { view::worth(&given, &base, &rows) }))
}
