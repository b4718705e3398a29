//! `yardless chance`: how likely each date is to be kept.

use std::path::Path;

use yardless_answer::Seasons;

use crate::answer::Answer;
use crate::args::ChanceArgs;
use crate::trouble::Trouble;
use crate::{asked, question};

/// Runs the plan given out through seasons.
pub fn run(book: &Path, args: &ChanceArgs) -> Result<Answer, Trouble> {
    let asked = asked::read(book, args.ask.plan.as_deref(), args.ask.now)?;
    let seasons = Seasons { count: args.seasons, seed: args.seed };
    Ok(Answer::of(question::chance(&asked, seasons)?, args.ask.json))
}
