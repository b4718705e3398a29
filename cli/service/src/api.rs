//! The API: the same book, plans and questions as JSON, with the same rules, described by OpenAPI from this code.
//!
//! Who asks is known by the same cookie as on the pages; what changes anything carries the session's key in the head
//! `x-key`. Refusals are problem details (RFC 9457).

mod book;
mod keyed;
mod planning;
mod questions;

use std::sync::Arc;

use aide::axum::ApiRouter;
use aide::axum::routing::{delete_with, get_with, post_with, put_with};
use aide::openapi::{ApiKeyLocation, Info, OpenApi, SecurityScheme};
use aide::transform::{TransformOpenApi, TransformOperation};
use axum::response::IntoResponse;
use axum::routing::get;
use axum::{Extension, Json, Router};

use crate::around::LIVE;
use crate::desk::Desk;
use crate::refusal::Refusal;

/// The routes below `/api`.
pub fn routes() -> Router<Arc<Desk>> {
    let mut api = OpenApi { info: Info { title: "Yardless".to_owned(), ..Info::default() }, ..OpenApi::default() };
    let routes = ApiRouter::new()
        .api_route("/api/me", get_with(book::me, said("Who is signed in, and the key for what changes anything")))
        .api_route("/api/book", get_with(book::read, said("The book as it stands")))
        .api_route("/api/book", put_with(book::keep, said("Keeps a book: what others changed since its base stays")))
        .api_route("/api/book/revisions", get_with(book::revisions, said("What was changed, the last one first")))
        .api_route("/api/book/revisions/{number}", get_with(book::revision, said("The book as it was")))
        .api_route("/api/book/revisions/{number}/undo", post_with(book::undo, said("Takes a change back")))
        .api_route("/api/notes", post_with(book::note, said("Notes what happened, in the words of `yardless note`")))
        .api_route("/api/storms", post_with(book::storm, said("Marks a storm, or takes one back")))
        .api_route("/api/plan", get_with(planning::read, said("The plan given out, and what of it no longer holds")))
        .api_route("/api/plan", put_with(planning::keep, said("Gives a plan out that holds for the book")))
        .api_route("/api/planning", get_with(planning::seen, said("How planning stands")))
        .api_route("/api/planning", post_with(planning::begin, said("Plans again, in the background")))
        .api_route("/api/planning", delete_with(planning::stop, said("Stops planning with the best plan so far")))
        .api_route("/api/planning/found", get_with(planning::found, said("The plan found, not given out yet")))
        .api_route("/api/planning/give-out", post_with(planning::give_out, said("Gives the plan found out")))
        .api_route("/api/questions/free", get_with(questions::free, said("When units of a kind are free together")))
        .api_route("/api/questions/offer", get_with(questions::offer, said("The dates to offer for a job")))
        .api_route("/api/questions/why", get_with(questions::why, said("What holds a job")))
        .api_route("/api/questions/worth", get_with(questions::worth, said("What one more would save")))
        .api_route("/api/questions/chance", get_with(questions::chance, said("How likely each date is to be kept")))
        .finish_api_with(&mut api, described);
    let api = Arc::new(api);
    let document = move || {
        let api = Arc::clone(&api);
        async move { Json(api.as_ref().clone()).into_response() }
    };
    // A stream of events, which OpenAPI has no words for.
    routes.route(LIVE, get(planning::live)).route("/api/openapi.json", get(document)).layer(Extension(()))
}

/// What an operation is, and that it may be refused.
fn said(summary: &'static str) -> impl for<'t> FnOnce(TransformOperation<'t>) -> TransformOperation<'t> {
    move |operation| operation.summary(summary).default_response::<Refusal>()
}

fn described(api: TransformOpenApi) -> TransformOpenApi {
    let cookie = SecurityScheme::ApiKey {
        location: ApiKeyLocation::Cookie,
        name: crate::request::cookies::SESSION.to_owned(),
        description: Some("The session's cookie, from signing in at /sign-in.".to_owned()),
        extensions: std::iter::empty().collect(),
    };
    api.version(env!("CARGO_PKG_VERSION"))
        .description(
            "The sheets, forms and questions of one shop as JSON. What changes anything carries the session's key, which \
             /api/me tells, in the head `x-key`; planning can be followed at /api/planning/live as server-sent events.",
        )
        .security_scheme("session", cookie)
        .security_requirement("session")
}
