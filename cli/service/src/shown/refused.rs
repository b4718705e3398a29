//! How people are told what is refused: on a page of its own, or on the one that they came from.

use askama::Template;
use axum::response::{Html, IntoResponse, Response};
use serde_json::Value;
use yardless_edit::spoken::{capital, sentence_of};

use crate::refusal::Refusal;
use crate::shown::frame::{Frame, written};

#[derive(Template)]
#[template(path = "refusal.html")]
struct RefusalPage<'a> {
    refusal: &'a Refusal,
    /// What is wrong and what to do, as they are read.
    says: String,
    help: String,
    frame: Frame,
}

/// On a page of its own. The frame names nobody: who is refused may not be signed in.
pub fn page(refusal: &Refusal, book: &Value) -> Response {
    let (says, help) = spoken(refusal, book);
    let page = RefusalPage { refusal, says, help, frame: Frame::bare("Not done") };
    let mut response = match page.render() {
        Ok(html) => (refusal.status, Html(html)).into_response(),
        Err(_) => (refusal.status, refusal.problem.detail.clone()).into_response(),
    };
    refusal.head(&mut response);
    response
}

/// What is wrong and what to do, as they are read. `book`: whose things are said by their names.
fn spoken(refusal: &Refusal, book: &Value) -> (String, String) {
    let read = |text: &str| {
        let says = capital(sentence_of(book, text).trim());
        if says.is_empty() || says.ends_with(['.', '!', '?']) { says } else { says + "." }
    };
    (read(&refusal.problem.detail), read(&refusal.problem.help))
}

/// What a page tells that was refused where it was sent from.
pub struct RefusedHere {
    /// What is wrong.
    pub says: String,
    /// What to do about it.
    pub help: String,
    /// The faults that a book would have.
    pub faults: Vec<String>,
    /// The field that is wrong, by its id on the page; empty: none by itself.
    pub at: &'static str,
}

impl RefusedHere {
    /// `book`: whose things are said by their names.
    pub fn of(refusal: &Refusal, book: &Value) -> Self {
        let (says, help) = spoken(refusal, book);
        let faults = refusal.problem.faults.iter().map(|fault| fault.spoken.clone()).collect();
        Self { says, help, faults, at: refusal.at }
    }
}

/// Whether the page that one came from tells it; a fault of the service that waiting does not mend has a page of its own.
pub fn told_within(refusal: Refusal) -> Result<Refusal, Refusal> {
    if refusal.status.is_server_error() && refusal.wait.is_none() { Err(refusal) } else { Ok(refusal) }
}

/// On a page that tells it itself.
pub fn within(refusal: &Refusal, page: Response) -> Response {
    let mut response = written(refusal.status, page);
    refusal.head(&mut response);
    response
}
