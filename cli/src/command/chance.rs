//! `yardless chance`: how likely each date is to be kept.

use std::path::Path;

use yardless_solver::answer::{Seasons, chances, varies};

use crate::answer::Answer;
use crate::args::ChanceArgs;
use crate::trouble::Trouble;
use crate::{asked, view};

/// Runs the plan given out through seasons.
pub fn run(book: &Path, args: &ChanceArgs) -> Result<Answer, Trouble> {
    let asked = asked::read(book, &args.ask)?;
    if !varies(&asked.shop.book) {
        return Err(Trouble::input(
            "chance::nothing",
            "the book gives neither spread nor climate, so that there is no chance to work out",
            "give steps a `spread`, or the book a `chance` with `low`, `high` and `climate` (RULES.md, S1 and S2)",
        ));
    }
    let given = asked.given()?;
    let seasons = Seasons { count: args.seasons, seed: args.seed };
    let found = chances(&asked.shop, &given.plan, seasons).ok_or_else(|| {
        Trouble::ours("chance::plan", "the plan could not be run", "`yardless check` says whether it holds")
    })?;
    let text = if args.ask.json { view::chances_json(&found) } else { view::chances(&asked.shop, &found).text() };
    Ok(Answer::new(text))
}
