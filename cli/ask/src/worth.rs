//! What one more would save.

use yardless_answer::{all_more, worth as asked_of};
use yardless_edit::trouble::{OfQuestion, Trouble};
use yardless_engine::Limits;

use super::Answered;
use crate::asked::Asked;

/// Each kind, crew and so on once more, up to so many rows.
pub fn worth(asked: &Asked, rows: usize, limits: &Limits) -> Result<Answered, Trouble> {
    let given = asked.given()?;
    let mut more = all_more(&asked.shop);
    more.truncate(rows);
    let (base, rows) = asked_of(&given, &more, limits).ok_or(OfQuestion::NotPlanned)?;
    Ok(Answered::new(
        yardless_view::worth(&given, &base, &rows),
        yardless_view::worth_json(&given, &base, &rows),
        asked.assumed.as_ref(),
    ))
}
