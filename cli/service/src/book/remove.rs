//! A member of a list that goes, or is still in use.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use serde_json::Value;
use yardless_edit::spoken::place;
use yardless_edit::trouble::{Faulty, Trouble};

use crate::book::form::BookPart;
use crate::book::keep::{Change, ChangeOutcome};
use crate::book::{find, position, sentence};
use crate::desk::Desk;
use crate::refusal::Refusal;
use crate::request::sent::Sent;
use crate::request::who::Owns;
use crate::shown::frame::on_to;

/// A member of a list that goes.
pub async fn remove(
    State(desk): State<Arc<Desk>>,
    Path((field, key)): Path<(String, String)>,
    sent: Sent<Owns>,
) -> Result<Response, Refusal> {
    let part = find(&field, true)?;
    let Sent { who: Owns(who), fields } = sent;
    let done = desk.change(move |desk| {
        let base = fields.base()?;
        let standing = desk.book()?;
        let was = position(&standing.value, part, &key).map(|n| &standing.value[part.field][n]);
        let what = sentence::removed(part, was.unwrap_or(&Value::Null));
        let change = Change { who: &who.account.name, what: &what, form: fields.form() };
        let without = |book: &Value| {
            let mut book = book.clone();
            if let (Some(n), Value::Array(list)) = (position(&book, part, &key), &mut book[part.field]) {
                list.remove(n);
            }
            book
        };
        match desk.keep(&change, base, without)? {
            ChangeOutcome::Faults(Trouble::Faults(faulty)) => {
                Err(still_used(&faulty, was.unwrap_or(&Value::Null), part))
            }
            outcome => outcome.or_refuse(),
        }
    });
    done.await?;
    Ok(on_to(&format!("{}#kept", part.page)))
}

/// Most places that are told where something is named.
const MOST_PLACES: usize = 20;

/// What cannot go, because of all that names it.
fn still_used(faulty: &Faulty, was: &Value, part: BookPart) -> Refusal {
    let name = was["name"].as_str().or(was["id"].as_str()).unwrap_or(part.one);
    let says = format!("{name} is still in use, so that it cannot go; nothing was saved.");
    let help = "First take it out of what is named here.";
    let book = faulty.book();
    let mut places: Vec<String> = faulty.faults.iter().map(|(fault, _)| place(&book, &fault.path)).collect();
    places.truncate(MOST_PLACES);
    Refusal::input("book::faults", says, help).with_faults(faulty, places)
}
