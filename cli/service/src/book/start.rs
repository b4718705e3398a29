//! Where there is no book yet: the demo, a small one to begin with, or one's own.

use std::sync::Arc;

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use yardless_edit::book_file;
use yardless_edit::trouble::Faulty;

use crate::desk::Desk;
use crate::desk::standing::BOOK;
use crate::refusal::Refusal;
use crate::request::sent::Sent;
use crate::request::who::Owns;
use crate::shown::frame::{Frame, html, on_to};
use crate::store::{Added, Kind};

/// An invented shop with everything in it.
const DEMO: &str = include_str!("../../../../data/demo.json");
/// A small one to put one's own into.
const SMALL: &str = include_str!("../../../../data/new.json");

#[derive(Template)]
#[template(path = "start.html")]
struct StartPage {
    frame: Frame,
    /// The book's file that may be taken over, and what is in it, or why it cannot be.
    beside: Option<(String, Result<String, Vec<String>>)>,
}

/// What the page says of the file that may be taken over.
fn beside(desk: &Desk) -> Option<(String, Result<String, Vec<String>>)> {
    let path = desk.settings.beside.as_ref()?;
    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
    let read = book_file::read(path).map(|file| file.counts()).map_err(|trouble| match trouble.told() {
        Ok(of) => vec![of.says()],
        Err(Faulty { faults, .. }) => {
            faults.iter().map(|(fault, _)| format!("{}: {}", fault.path, fault.says)).collect()
        }
    });
    Some((name, read))
}

/// The choice.
pub async fn page(State(desk): State<Arc<Desk>>, Owns(who): Owns) -> Result<Response, Refusal> {
    let found = desk.work(|desk| Ok(if desk.standing()?.is_some() { None } else { Some(beside(desk)) })).await?;
    let Some(beside) = found else { return Ok(on_to("/")) };
    html(&StartPage { frame: Frame::new("A book to begin with", "/start", &who, None), beside })
}

/// The first revision.
pub async fn begin(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let begun = desk.change(move |desk| {
        let (what, text) = match (fields.get("with"), fields.files("book").next()) {
            ("file", Some(file)) => (format!("Began with {}", file.name), file.bytes.clone()),
            ("beside", _) => {
                let missing =
                    || Refusal::input("web::no-file", "There is no book to take over.", "Choose another one.");
                let path = desk.settings.beside.as_ref().ok_or_else(missing)?;
                (format!("Took over {}", path.display()), book_file::read(path)?.text().as_bytes().to_vec())
            }
            ("demo", _) => ("Began with the demo book".to_owned(), DEMO.as_bytes().to_vec()),
            ("small", _) => ("Began with a small book".to_owned(), SMALL.as_bytes().to_vec()),
            _ => return Err(Refusal::input("web::no-file", "No book was chosen.", "Choose one of those shown.")),
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
