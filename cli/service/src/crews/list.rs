//! All crews of a week: where each goes, and each one's sheet.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Query, State};
use axum::response::Response;
use chrono::NaiveDate;
use yardless_check::fact::Touched;
use yardless_plan::Plan;
use yardless_plan::shop::Shop;
use yardless_view::{CrewRoute, CrewSheet, routes};

use super::OfWeek;
use crate::desk::Desk;
use crate::refusal::Refusal;
use crate::request::who::Reads;
use crate::sheets::{Holds, around, week_of};
use crate::shown::frame::{Frame, sheet};

#[derive(Template)]
#[template(path = "crews.html")]
struct List {
    frame: Frame,
    /// `None`: no plan was given out yet.
    routes: Option<Vec<CrewRoute>>,
    /// Each crew's sheet, of those that have something to do.
    sheets: Vec<CrewSheet>,
    holds: Holds,
    monday: String,
    before: Option<NaiveDate>,
    after: Option<NaiveDate>,
}

/// All crews, each by its way through the week.
pub async fn page(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Query(OfWeek { week }): Query<OfWeek>,
) -> Result<Response, Refusal> {
    let page = desk.work(move |desk| {
        let standing = desk.book()?;
        let frame = Frame::new("Crews", "/crews", &who, Some(&standing));
        let Some(drawn) = standing.drawn()? else {
            return Ok(List {
                frame,
                routes: None,
                sheets: Vec::new(),
                holds: Holds::default(),
                monday: String::new(),
                before: None,
                after: None,
            });
        };
        let week = week_of(desk, &standing, drawn, week)?;
        let (monday, before, after) = around(drawn, week);
        Ok(List {
            frame: frame.on_paper(&format!("crews, week of {}", monday.format("%a %-d %b %Y")), &standing),
            sheets: crew_sheets(&drawn.shop, &drawn.plan, &drawn.broken, week),
            routes: Some(routes(&drawn.shop, &drawn.plan, &drawn.broken, week)),
            holds: Holds::of(drawn),
            monday: monday.format("%a %-d %b %Y").to_string(),
            before,
            after,
        })
    });
    let page = page.await?;
    sheet(&page, &page.frame)
}

/// The week's sheets of the crews that do or haul anything.
pub fn crew_sheets(shop: &Shop, plan: &Plan, broken: &Touched, week: usize) -> Vec<CrewSheet> {
    shop.crews.ids().map(|crew| CrewSheet::new(shop, plan, broken, crew, week)).filter(|sheet| !sheet.idle).collect()
}
