//! Jobs as a table (CSV): out of the book and into it, with plain columns or with every field.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::Value;

use crate::book::keep::Change;
use crate::book::table::{full, plain, plain_read, rows};
use crate::desk::Desk;
use crate::refusal::Refusal;
use crate::request::sent::Sent;
use crate::request::who::{Owns, Reads};
use crate::shown::frame::on_to;
use crate::store::Kind;

/// Which columns.
#[derive(Default, Deserialize)]
#[serde(default)]
pub struct Columns {
    /// `all`: every field, by the book's own names.
    columns: String,
}

/// The jobs as a table.
pub async fn out(
    State(desk): State<Arc<Desk>>,
    Reads(_): Reads,
    Query(Columns { columns }): Query<Columns>,
) -> Result<Response, Refusal> {
    let text = desk.work(move |desk| {
        let standing = desk.book()?;
        if columns == "all" { full::table(&standing.value) } else { plain::table(&standing.value) }
    });
    let head = [(CONTENT_TYPE, "text/csv; charset=utf-8"), (CONTENT_DISPOSITION, "attachment; filename=\"jobs.csv\"")];
    Ok((head, text.await?).into_response())
}

/// A table of jobs into the book: a job that is there gets what the table says, a new one is added, others stay.
pub async fn into(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let done = desk.change(move |desk| {
        let file = fields.files("table").next().ok_or_else(|| {
            Refusal::input("web::no-file", "No table was chosen.", "Choose a file with the columns of jobs.csv.")
        })?;
        let base = fields.base()?;
        let book = at(desk, base)?;
        let (wanted, many) = taken_in(&book, &file.bytes)?;
        let what = format!(
            "Took {} in from {}",
            if many == 1 { "a job".to_owned() } else { format!("{many} jobs") },
            file.name
        );
        let change = Change { who: &who.account.name, what: &what, form: fields.form() };
        desk.keep(&change, base, |_| wanted.clone())?.or_refuse()
    });
    done.await?;
    Ok(on_to("/jobs#kept"))
}

/// The book with the jobs of a table, and how many these are.
fn taken_in(book: &Value, bytes: &[u8]) -> Result<(Value, usize), Refusal> {
    if rows::is_plain(bytes)? {
        return plain_read::with(book, bytes);
    }
    let jobs = full::read(bytes)?;
    Ok((full::with(book, &jobs), jobs.len()))
}

/// The book as it was at the revision that a page is of.
fn at(desk: &Desk, number: i64) -> Result<Value, Refusal> {
    let standing = desk.book()?;
    if standing.revision.number == number {
        return Ok(standing.value.clone());
    }
    let found = desk.store.revision(Kind::Book, number)?;
    let (_, text) = found.ok_or_else(|| Refusal::stale("The page is of a revision that the book never had."))?;
    Ok(serde_json::from_str(&text).unwrap_or_default())
}
