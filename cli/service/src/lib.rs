//! The service: pages and an API over one stored book and the plan given out.
//!
//! A handler reads or keeps through the [`Desk`], and a template writes what it found. [`app`] is the whole of it without
//! a port; [`serve()`] listens.
//!
//! From below: `store` and `refusal`; `gate` (who may come in); `desk` (what is kept, and whose turn it is); `request` (who
//! sends what); `shown` (the frame of a page); then the pages by topic, and `around`, the layer around every route.

mod accounts;
mod api;
mod around;
mod book;
mod changes;
mod crews;
mod desk;
pub mod file;
mod gate;
mod given_out;
mod health;
mod matters;
mod one_core;
mod plan;
mod questions;
mod refusal;
mod request;
mod serve;
mod sheets;
mod shown;
mod sign_in;
mod step;
pub mod store;
mod wish;
mod words;

pub use desk::{Desk, Settings};
pub use serve::serve;
pub use shown::paper::Paper;
pub use sign_in::owner_link;

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware;
use axum::routing::{get, post};

/// Every route, without a port.
pub fn app(desk: Arc<Desk>) -> Router {
    let pages = Router::new()
        .route("/", get(sheets::home))
        .route("/week/{monday}", get(sheets::week))
        .route("/season", get(sheets::season))
        .route("/crews", get(crews::list::page))
        .route("/crews/{crew}", get(crews::one).post(crews::note))
        .route("/crews/{crew}/tell", post(crews::tell::tell))
        .route("/told/{id}/taken", post(crews::tell::taken))
        .route("/jobs", get(book::lists::jobs))
        .route("/jobs.csv", get(book::jobs::out).post(book::jobs::into))
        .route("/people", get(book::lists::people))
        .route("/equipment", get(book::lists::equipment))
        .route("/places", get(book::lists::places))
        .route("/prices", get(book::lists::prices))
        .route("/book/{part}", get(book::one).post(book::keep_one))
        .route("/book/{part}/new", get(book::new).post(book::keep_new))
        .route("/book/{part}/of/{key}", get(book::member).post(book::keep_member))
        .route("/book/{part}/of/{key}/history", get(book::history::page))
        .route("/book/{part}/of/{key}/remove", post(book::remove::remove))
        .route("/weather", get(book::weather::page))
        .route("/weather/storm", post(book::weather::storm))
        .route("/weather/report", post(book::weather::report))
        .route("/weather/alerts", post(book::weather::alerts))
        .route("/weather/accept", post(book::weather::accept))
        .route("/plan", get(plan::page::show))
        .route("/plan/start", post(plan::page::start))
        .route("/plan/stop", post(plan::page::stop))
        .route("/plan/discard", post(plan::page::discard))
        .route("/plan/went", post(plan::went::went))
        .route("/plan/give-out", post(plan::page::give_out))
        .route("/given-out/{number}", get(given_out::page))
        .route("/questions", get(questions::page::page))
        .route("/questions/{question}", get(questions::page::answer))
        .route("/questions/{question}/live", get(questions::ask::live))
        .route("/questions/{question}/stop", post(questions::ask::stop))
        .route("/step/{job}/{step}", get(step::page::show))
        .route("/step/{job}/{step}/note", post(step::tell::note))
        .route("/step/{job}/{step}/fix", post(step::tell::fix))
        .route("/step/{job}/{step}/move", get(step::elsewhere::show).post(step::decided::do_it))
        .route("/step/{job}/{step}/move/live", get(step::elsewhere::live))
        .route("/step/{job}/{step}/move/stop", post(step::elsewhere::stop))
        .route("/wish", get(wish::page::form).post(wish::page::asked))
        .route("/wish/{name}", get(wish::page::dates))
        .route("/wish/{name}/live", get(wish::page::live))
        .route("/wish/{name}/stop", post(wish::page::stop))
        .route("/wish/{name}/take", post(wish::take::take))
        .route("/matters", get(matters::page::page))
        .route("/matters/live", get(matters::page::live))
        .route("/matters/stop", post(matters::page::stop))
        .route("/matters/keep", post(matters::keep::keep))
        .route("/changes", get(changes::list))
        .route("/changes/{number}", get(changes::one))
        .route("/changes/{number}/undo", post(changes::undo))
        .route("/changes/plan/{number}/give-out", post(changes::give_out))
        .route("/start", get(book::start::page).post(book::start::begin))
        .route("/sign-in", get(sign_in::page).post(sign_in::sign_in))
        .route("/sign-out", post(sign_in::sign_out))
        .route("/link/{token}", get(sign_in::link_page).post(sign_in::use_link))
        .route("/sign-ins", get(accounts::page).post(accounts::add))
        .route("/sign-ins/{id}/link", post(accounts::link))
        .route("/sign-ins/{id}/close", post(accounts::close))
        .route("/me", get(accounts::me).post(accounts::password))
        .route("/me/seen", post(accounts::seen));
    let bare = Router::new()
        .route("/health", get(health::health))
        .route("/metrics", get(health::metrics))
        .route("/static/{version}/{name}", get(shown::assets::file));
    pages
        .merge(bare)
        .merge(api::routes())
        .fallback(around::not_there)
        // Each body is bounded where it is read.
        .layer(DefaultBodyLimit::disable())
        .layer(middleware::from_fn_with_state(Arc::clone(&desk), around::around))
        .with_state(desk)
}
