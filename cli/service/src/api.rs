//! The API: the same book, plans and questions as JSON, with the same rules, described by OpenAPI from this code.
//!
//! Who asks is known by the same cookie as on the pages; what changes anything carries the session's key in the head
//! `x-key`. Refusals are problem details (RFC 9457).

mod book;
mod document;
mod keyed;
mod loads;
mod planning;
mod questions;

use std::sync::Arc;

use axum::routing::get;
use axum::{Json, Router};
use serde_json::json;

use crate::around::LIVE;
use crate::desk::Desk;
use crate::request::cookies::SESSION;
use document::Routes;

/// The routes below `/api`.
pub fn routes() -> Router<Arc<Desk>> {
    let routes = Routes::new()
        .at("get", "/api/me", "Who is signed in, and the key for what changes anything", book::me)
        .at("get", "/api/book", "The book as it stands", book::read)
        .at("put", "/api/book", "Keeps a book: what others changed since its base stays", book::keep)
        .at("get", "/api/book/revisions", "What was changed, the last one first", book::revisions)
        .at("get", "/api/book/revisions/{number}", "The book as it was", book::revision)
        .at("post", "/api/book/revisions/{number}/undo", "Takes a change back", book::undo)
        .at("post", "/api/notes", "Notes what happened, in the words of `yardless note`", book::note)
        .at("post", "/api/storms", "Marks a storm, or takes one back", book::storm)
        .at("get", "/api/plan", "The plan given out, and what of it no longer holds", planning::read)
        .at("put", "/api/plan", "Gives a plan out that holds for the book", planning::keep)
        .at("get", "/api/planning", "How planning stands", planning::seen)
        .at("post", "/api/planning", "Plans again, in the background", planning::begin)
        .at("delete", "/api/planning", "Stops planning with the best plan so far", planning::stop)
        .at("get", "/api/planning/found", "The plan found, not given out yet", planning::found)
        .at("post", "/api/planning/give-out", "Gives the plan found out", planning::give_out)
        .at("get", "/api/loads", "What is put on which truck, to the end of a week", loads::lists)
        .at("get", "/api/where", "Where a thing is", loads::thing)
        .at("get", "/api/questions/free", "When units of a kind are free together", questions::free)
        .at("get", "/api/questions/offer", "The dates to offer for a job", questions::offer)
        .at("get", "/api/questions/why", "What holds a job", questions::why)
        .at("get", "/api/questions/worth", "What one more would save", questions::worth)
        .at("get", "/api/questions/chance", "How likely each date is to be kept", questions::chance);
    let info = json!({
        "title": "Yardless",
        "description": "The sheets, forms and questions of one shop as JSON. What changes anything carries the session's \
            key, which /api/me tells, in the head `x-key`; planning can be followed at /api/planning/live as server-sent \
            events.",
        "version": env!("CARGO_PKG_VERSION"),
    });
    let says = "The session's cookie, from signing in at /sign-in.";
    let cookie = json!({ "type": "apiKey", "in": "cookie", "name": SESSION, "description": says });
    let (routes, document) = routes.finish(&info, ("session", &cookie));
    let document = Arc::new(document);
    let document = move || {
        let document = Arc::clone(&document);
        async move { Json(document.as_ref().clone()) }
    };
    // A stream of events, which OpenAPI has no words for.
    routes.route(LIVE, get(planning::live)).route("/api/openapi.json", get(document))
}
