//! What was given out, and who must be told of it: reached from every plan that was given out.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, State};
use axum::response::Response;
use chrono::Timelike;
use chrono_tz::Tz;
use yardless_book::half_day::HalfDay;
use yardless_edit::plan_file::{self, PlanFile};
use yardless_edit::trouble::words::Called;
use yardless_plan::Plan;
use yardless_plan::shop::Shop;
use yardless_view::{ReadOn, ToTell, changed, crews_to_tell, customers_to_tell, not_planned, told_otherwise};

use crate::desk::Desk;
use crate::desk::standing::Standing;
use crate::refusal::Refusal;
use crate::request::who::Owns;
use crate::sheets::told;
use crate::shown::frame::{Frame, html, zone};
use crate::store::{Kind, Revision};

#[derive(Template)]
#[template(path = "given-out.html")]
struct GivenOutPage {
    frame: Frame,
    revision: Revision,
    zone: Tz,
    /// The plan in force.
    latest: i64,
    /// The weeks that it covers.
    weeks: String,
    /// The jobs that it leaves out, and why.
    not_planned: Vec<(String, String)>,
    crews: Vec<ToTell>,
    customers: Vec<ToTell>,
    /// What it changes against the plan given out before; empty: there was none.
    changes: String,
}

/// Where the page of a plan given out is.
pub fn address(number: i64) -> String {
    format!("/given-out/{number}")
}

/// The page.
pub async fn page(
    State(desk): State<Arc<Desk>>,
    Owns(who): Owns,
    Path(number): Path<i64>,
) -> Result<Response, Refusal> {
    let page = desk.work(move |desk| {
        let standing = desk.book()?;
        let missing = || Refusal::missing(format!("There is no plan {number}."));
        let (revision, file) = plan(desk, number)?.ok_or_else(missing)?;
        let before = before(desk, number)?;
        let shop = as_of(&standing, &revision, &file, before.as_ref())?;
        let horizon = file.horizon;
        Ok(GivenOutPage {
            frame: Frame::new(format!("Plan {number}, given out"), "/", &who, Some(&standing)),
            zone: zone(Some(&standing)),
            latest: desk.store.number(Kind::Plan)?,
            weeks: format!("{} to {}", horizon.monday().format("%-d %b"), horizon.last_date().format("%-d %b %Y")),
            not_planned: not_planned(&shop, &file.plan),
            crews: crews_to_tell(&shop, &file.plan, before.as_ref()),
            customers: customers_to_tell(&shop, &file.plan, before.as_ref())
                .into_iter()
                .chain(told_otherwise(&shop, &file.plan, before.as_ref()))
                .collect(),
            changes: before.map_or_else(String::new, |before| told(&changed(&shop, &before, &file.plan, ReadOn::Page))),
            revision,
        })
    });
    html(&page.await?)
}

fn plan(desk: &Desk, number: i64) -> Result<Option<(Revision, PlanFile)>, Refusal> {
    let Some((revision, text)) = desk.store.revision(Kind::Plan, number)? else { return Ok(None) };
    match plan_file::of_bytes(&Called::GivenOut, text.as_bytes()) {
        Ok(file) => Ok(Some((revision, file))),
        Err(why) => Err(Refusal::unread(&format!("Plan {number}"), &revision, &why)),
    }
}

/// The last plan given out before that reads.
fn before(desk: &Desk, number: i64) -> Result<Option<Plan>, Refusal> {
    for number in (1..number).rev() {
        match plan(desk, number) {
            Err(why) if why.to_changes => {}
            found => return Ok(found?.map(|(_, file)| file.plan)),
        }
    }
    Ok(None)
}

/// The book made ready from when the plan was given out, or where it begins later, from then on.
fn as_of(standing: &Standing, given: &Revision, file: &PlanFile, before: Option<&Plan>) -> Result<Shop, Refusal> {
    let at = given.at.with_timezone(&zone(Some(standing))).naive_local();
    let given = if at.hour() < 12 { HalfDay::am(at.date()) } else { HalfDay::pm(at.date()) };
    let begins = file.plan.now.unwrap_or_else(|| file.horizon.half_day(0));
    let now = file.horizon.index(given.max(begins)).or_else(|| file.horizon.index(begins)).unwrap_or(0);
    let then = file.before(&standing.book, file.horizon.half_day(now));
    Ok(standing.book.shop_of(&then, file.horizon, now, before.map(Plan::kept).as_deref())?)
}
