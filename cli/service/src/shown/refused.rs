//! How people are told what is refused: on a page of its own, or on the one that they came from.

use askama::Template;
use axum::response::{Html, IntoResponse, Response};
use yardless_edit::spoken::sentence;

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
pub fn page(refusal: &Refusal) -> Response {
    let (says, help) = spoken(refusal);
    let page = RefusalPage { refusal, says, help, frame: Frame::bare("Not done") };
    let mut response = match page.render() {
        Ok(html) => (refusal.status, Html(html)).into_response(),
        Err(_) => (refusal.status, refusal.problem.detail.clone()).into_response(),
    };
    refusal.head(&mut response);
    response
}

/// What is wrong and what to do, as they are read.
pub fn spoken(refusal: &Refusal) -> (String, String) {
    (sentence(&refusal.problem.detail), sentence(&refusal.problem.help))
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
