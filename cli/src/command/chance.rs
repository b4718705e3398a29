//! `yardless chance`: how likely each date is to be kept.

use std::path::Path;

use yardless_answer::Seasons;
use yardless_ask::asked;
use yardless_edit::trouble::Trouble;

use crate::answer::Answer;
use crate::args::ChanceArgs;

/// Runs the plan given out through seasons.
pub fn run(book: &Path, args: &ChanceArgs) -> Result<Answer, Trouble> {
    let asked = asked::read(book, args.ask.plan.as_deref(), args.ask.now)?;
    let seasons = Seasons { count: args.seasons, seed: args.seed };
    Ok(Answer::of(&yardless_ask::chance(&asked, seasons)?, &args.ask))
}
