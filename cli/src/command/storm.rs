//! `yardless storm`: a storm written into the book's weather, or taken back.

use std::path::Path;

use yardless_book::half_day::Range;
use yardless_edit::book_file;
use yardless_edit::storm::{Storm, changes};
use yardless_edit::trouble::{OfStorm, Trouble};

use crate::answer::Answer;
use crate::args::StormArgs;
use crate::written::make;

/// Appends the report, or takes one back.
pub fn run(path: &Path, args: &StormArgs) -> Result<Answer, Trouble> {
    let storm = Storm {
        on: range(&args.on)?,
        at: args.at.clone(),
        no_travel: args.no_travel,
        covered: args.covered,
        gust: args.gust,
        clear: args.clear,
        now: args.now,
    };
    let file = book_file::read(path)?;
    make(&changes(&file, &storm)?, path, &file, args.dry_run)
}

/// The range in words.
fn range(words: &[String]) -> Result<Range, Trouble> {
    Ok(words.join(" ").parse().map_err(OfStorm::Range)?)
}
