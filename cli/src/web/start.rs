//! Where there is no book yet: the demo, a small one to begin with, or one's own.

use std::sync::Arc;

use askama::Template;
use axum::extract::State;
use axum::response::Response;

use super::desk::Desk;
use super::page::{Frame, html, on_to};
use super::refusal::Refusal;
use super::sent::Sent;
use super::standing::BOOK;
use super::who::Owns;
use crate::book_file;
use crate::store::{Added, Kind};

/// An invented shop with everything in it.
const DEMO: &str = include_str!("../../../data/demo.json");
/// A small one to put one's own into.
const SMALL: &str = include_str!("../../../data/new.json");

#[derive(Template)]
#[template(path = "start.html")]
struct Page {
    frame: Frame,
}

/// The choice.
pub async fn page(State(desk): State<Arc<Desk>>, Owns(who): Owns) -> Result<Response, Refusal> {
    if desk.work(|desk| Ok(desk.standing()?.is_some())).await? {
        return Ok(on_to("/"));
    }
    html(&Page { frame: Frame::new("A book to begin with", "/start", &who, None) })
}

/// The first revision.
pub async fn begin(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let begun = desk.change(move |desk| {
        let (what, text) = match (fields.get("with"), fields.files("book").next()) {
            ("file", Some(file)) => (format!("Began with {}", file.name), file.bytes.clone()),
            ("demo", _) => ("Began with the demo book".to_owned(), DEMO.as_bytes().to_vec()),
            ("small", _) => ("Began with a small book".to_owned(), SMALL.as_bytes().to_vec()),
            _ => return Err(Refusal::input("web::no-file", "No book was chosen.", "Choose one of the three.")),
        };
        let book = book_file::of_bytes(BOOK.to_owned(), text)?;
        match desk.store.add(Kind::Book, None, &who.account.name, &what, book.text(), fields.form())? {
            Added::Kept(_) | Added::Twice => Ok(()),
            Added::Stale => Err(Refusal::stale("There is a book already.")),
        }
    });
    begun.await?;
    Ok(on_to("/"))
}
