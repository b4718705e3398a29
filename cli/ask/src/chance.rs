//! How likely each date is to be kept.

use yardless_answer::{Seasons, chances, varies};
use yardless_edit::trouble::Trouble;

use super::Answered;
use crate::asked::Asked;

/// Runs the plan given out through seasons.
pub fn chance(asked: &Asked, seasons: Seasons) -> Result<Answered, Trouble> {
    if !varies(&asked.shop.book) {
        return Err(Trouble::input(
            "chance::nothing",
            "the book gives neither spread nor climate, so that there is no chance to work out",
            "give steps a `spread`, or the book a `chance` with `low`, `high` and `climate` (RULES.md, S1 and S2)",
        ));
    }
    let given = asked.given()?;
    let found = chances(&asked.shop, &given.plan, seasons).ok_or_else(|| {
        Trouble::ours("chance::plan", "the plan could not be run", "`yardless check` says whether it holds")
    })?;
    Ok(Answered { told: yardless_view::chances(&asked.shop, &found), json: yardless_view::chances_json(&found) })
}
