//! `yardless chance`: how likely each date is to be kept.

use std::path::Path;

use yardless_answer::Seasons;

use crate::answer::Answer;
use crate::args::ChanceArgs;
use crate::trouble::Trouble;
use crate::{asked, question};

/// Runs the plan given out through seasons.
pub fn run(book: &Path, args: &ChanceArgs) -> Result<Answer, Trouble> {
    let asked = asked::read(book, &args.ask)?;
    let seasons = Seasons { count: args.seasons, seed: args.seed };
    Ok(question::chance(&asked, seasons)?.answer(args.ask.json))
}
