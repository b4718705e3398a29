//! The load lists of the plan given out, and where things are, as `yardless load` and `yardless where` tell with `--json`.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Query, State};
use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Deserialize;
use serde_json::Value;
use yardless_book::half_day::HalfDay;
use yardless_edit::named::position;
use yardless_edit::trouble::{Noun, OfQuestion, Trouble};

use crate::desk::Desk;
use crate::refusal::Refusal;
use crate::request::who::Reads;

/// Of which week.
#[derive(Debug, Deserialize, JsonSchema)]
pub struct OfWeek {
    /// The week that holds this date; where none is given, this week.
    week: Option<NaiveDate>,
}

/// The lists, to the end of a week.
pub async fn lists(
    State(desk): State<Arc<Desk>>,
    Reads(_): Reads,
    Query(of): Query<OfWeek>,
) -> Result<Json<Value>, Refusal> {
    desk.work(move |desk| {
        let standing = desk.book()?;
        let drawn = standing.drawn()?.ok_or_else(Refusal::no_plan)?;
        let horizon = drawn.shop.horizon;
        let asked = of.week.unwrap_or_else(|| desk.now(&standing).date());
        let (date, first, last) = (asked, horizon.monday(), horizon.last_date());
        let outside = || Trouble::from(OfQuestion::WeekOutside { date, first, last });
        let week = horizon.index(HalfDay::am(asked)).ok_or_else(outside)? / 14;
        Ok(Json(yardless_view::load_json(&drawn.shop, &drawn.plan, week)))
    })
    .await
}

/// What is looked for, and when.
#[derive(Debug, Deserialize, JsonSchema)]
pub struct Sought {
    /// The thing, by its id or name.
    thing: String,
    /// In which half-day; where none is given, now.
    at: Option<HalfDay>,
}

/// Where a thing is.
pub async fn thing(
    State(desk): State<Arc<Desk>>,
    Reads(_): Reads,
    Query(of): Query<Sought>,
) -> Result<Json<Value>, Refusal> {
    desk.work(move |desk| {
        let standing = desk.book()?;
        let drawn = standing.drawn()?.ok_or_else(Refusal::no_plan)?;
        let things = &drawn.shop.book.things;
        let all: Vec<(&str, &str)> = things.iter().map(|thing| (thing.id.as_str(), thing.called())).collect();
        let number = position(Noun::Thing, &of.thing, &all).map_err(Trouble::from)?;
        let at = of.at.unwrap_or_else(|| desk.now(&standing));
        let h = drawn.shop.horizon.index(at).unwrap_or(drawn.shop.now);
        Ok(Json(yardless_view::where_json(&drawn.shop, &drawn.plan, number, h)))
    })
    .await
}
