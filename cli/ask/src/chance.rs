//! How likely each date is to be kept.

use yardless_answer::{Seasons, chances, varies};
use yardless_edit::trouble::{OfQuestion, Trouble};

use super::Answered;
use crate::asked::Asked;

/// Runs the plan given out through seasons.
pub fn chance(asked: &Asked, seasons: Seasons) -> Result<Answered, Trouble> {
    if !varies(&asked.shop.book) {
        return Err(OfQuestion::NoChance.into());
    }
    let given = asked.given()?;
    let found = chances(&asked.shop, &given.plan, seasons).ok_or(OfQuestion::NotRun)?;
    Ok(Answered::new(
        yardless_view::chances(&asked.shop, &found),
        yardless_view::chances_json(&found),
        asked.assumed.as_ref(),
    ))
}
