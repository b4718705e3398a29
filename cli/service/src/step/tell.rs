//! What the owner tells of a step by one click, and where it is to stay.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use yardless_view::half;

use crate::book::keep::Change;
use crate::crews::told;
use crate::desk::Desk;
use crate::refusal::Refusal;
use crate::request::sent::{Fields, Sent};
use crate::request::who::{Owns, Who};
use crate::shown::frame::{escaped, on_to};
use crate::step::fixed::fixed;
use crate::step::page::told_again;
use crate::step::planned::{Planned, crew_name, whole};
use crate::store::Kind;

/// Back to the step, with what was kept; else with why it was not, and what was typed.
async fn kept(
    desk: Arc<Desk>,
    who: Who,
    (job, step): (String, String),
    fields: Fields,
    keeps: impl FnOnce(&Desk, &Who, &Planned, &Fields) -> Result<(), Refusal> + Send + 'static,
) -> Result<Response, Refusal> {
    let address = format!("/step/{}/{}", escaped(&job), escaped(&step));
    let done = desk.change(move |desk| {
        let before = desk.store.number(Kind::Book)?;
        let standing = desk.book()?;
        let planned = Planned::find(&standing, &job, &step)?;
        match keeps(desk, &who, &planned, &fields) {
            Err(refusal) if refusal.status.is_client_error() => {
                Ok(Err(told_again(desk, &who, (&job, &step), &refusal, fields.get("left"))?))
            }
            kept => kept.and_then(|()| Ok(Ok(Some(desk.store.number(Kind::Book)?).filter(|now| *now > before)))),
        }
    });
    Ok(match done.await? {
        Ok(Some(number)) => on_to(&format!("{address}?kept={number}")),
        Ok(None) => on_to(&address),
        Err(page) => page,
    })
}

/// Done, begun, left or not begun after all: told as the crew tells it.
pub async fn note(
    State(desk): State<Arc<Desk>>,
    Path(of): Path<(String, String)>,
    sent: Sent<Owns>,
) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let keeps = |desk: &Desk, who: &Who, planned: &Planned, fields: &Fields| {
        let row = planned.rows.first().ok_or_else(|| {
            Refusal::input("web::note", "That step is not planned, and nothing is told of it here.", "Plan it first.")
        })?;
        let (mut says, mut left) = (fields.get("says").to_owned(), fields.get("left").to_owned());
        if says == "begun" {
            // Begun is all of it left.
            let all = whole(planned.step, planned.way()).ok_or_else(|| {
                let says = "A visit within one half-day is done or not.";
                Refusal::input("web::note", says, "Say `done` when it is.")
            })?;
            (says, left) = ("left".to_owned(), all.to_string());
        }
        let of = [("step", planned.of()), ("says", says), ("left", left)];
        let fields = fields.rewritten(|_| of.map(|(name, value)| (name.to_owned(), value)).to_vec());
        told(desk, who, &row.crew, &fields)
    };
    kept(desk, who, of, fields, keeps).await
}

/// Fixed to when it is planned, by who is planned too, or let go.
pub async fn fix(
    State(desk): State<Arc<Desk>>,
    Path(of): Path<(String, String)>,
    sent: Sent<Owns>,
) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let keeps = |desk: &Desk, who: &Who, planned: &Planned, fields: &Fields| {
        let standing = desk.book()?;
        let row = planned.rows.first();
        let book = &standing.book.written.book;
        let (what, start, crew) = match (fields.get("as"), row) {
            ("free", _) => (format!("Let {} move", planned.name()), None, None),
            (how @ ("date" | "crew"), Some(row)) if !planned.step.started() => {
                let crew = (how == "crew").then_some(row.crew.as_str());
                let by = crew.map_or(String::new(), |crew| format!(" by {}", crew_name(book, crew)));
                (format!("Fixed {} to begin {}{by}", planned.name(), half(row.start)), Some(row.start), crew)
            }
            ("date" | "crew", _) => {
                let says = "Only what is planned and not begun is fixed to where it is.";
                return Err(Refusal::input("web::fix", says, "Plan it first, or move it to a half-day."));
            }
            _ => return Err(missing(fields)),
        };
        let of = (planned.job.id.as_str(), planned.step.id.as_str());
        let change = Change { who: &who.account.name, what: &what, form: fields.form() };
        desk.keep(&change, standing.revision.number, |book| fixed(book, of, start, crew))?.or_refuse()
    };
    kept(desk, who, of, fields, keeps).await
}

fn missing(fields: &Fields) -> Refusal {
    let says = format!("`{}` does not say how it is fixed.", fields.get("as"));
    Refusal::input("web::fix", says, "Say `date`, `crew` or `free`.")
}
