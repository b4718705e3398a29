//! All went as planned until now, but for what people said: they are listed first, and each may be taken back.

use std::sync::Arc;

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use yardless_book::Book;
use yardless_edit::note::{Request, Says};
use yardless_view::half;

use crate::crews::keep;
use crate::desk::Desk;
use crate::desk::standing::kept;
use crate::refusal::Refusal;
use crate::request::sent::Sent;
use crate::request::who::Owns;
use crate::shown::frame::{Frame, html, on_to};
use crate::store::token;

#[derive(Template)]
#[template(path = "went.html")]
struct WentPage {
    frame: Frame,
    now: String,
    rows: Vec<Otherwise>,
    /// What by that cannot have begun.
    held_back: Vec<(String, String)>,
    form: String,
}

/// What somebody said that the plan has otherwise.
struct Otherwise {
    of: String,
    name: String,
    said: String,
    planned: String,
}

/// Notes what the plan given out has before now. Where people said otherwise, that is shown first, and stands where it is
/// not ticked.
pub async fn went(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let page = desk.change(move |desk| {
        let standing = desk.book()?;
        let now = desk.now(&standing);
        let over = fields.all("over").map(str::to_owned).collect();
        let request = Request::new(Says::AsPlanned { until: now, over }, desk.settings.now);
        if !fields.ticked("seen") {
            let noted = request.noted(&standing.book, kept(&standing))?;
            let book = &standing.book.written.book;
            let row = |of: &yardless_edit::note::Stands| Otherwise {
                of: of.of.clone(),
                name: name(book, &of.of),
                said: of.said(half),
                planned: of.planned(half),
            };
            let rows: Vec<Otherwise> = noted.stands.iter().map(row).collect();
            if !rows.is_empty() {
                return Ok(Some(WentPage {
                    frame: Frame::new("As planned until now", "/plan", &who, Some(&standing)),
                    now: half(now),
                    rows,
                    held_back: noted.held_back.into_iter().map(|(of, why)| (name(book, &of), why.says())).collect(),
                    form: token()?,
                }));
            }
        }
        keep(desk, &who, &request, &format!("Noted that all went as planned before {now}"), fields.form())?;
        Ok(None)
    });
    match page.await? {
        Some(page) => html(&page),
        None => Ok(on_to("/plan#kept")),
    }
}

/// `Hill dense pack, Take down`.
fn name(book: &Book, of: &str) -> String {
    let steps = book.jobs.iter().flat_map(|job| job.steps.iter().map(move |step| (job, step)));
    let found = steps.into_iter().find(|(job, step)| format!("{}/{}", job.id, step.id) == of);
    found.map_or_else(
        || of.to_owned(),
        |(job, step)| format!("{}, {}", job.name.as_ref().unwrap_or(&job.id), step.name.as_ref().unwrap_or(&step.id)),
    )
}
