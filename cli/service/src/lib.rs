//! The service: pages and an API over one stored book and the plan given out.
//!
//! A handler reads or keeps through the [`Desk`], and a template writes what it found. [`app`] is the whole of it without
//! a port; [`serve()`] listens.

mod accounts;
mod api;
mod asking;
mod assets;
mod book;
mod changes;
mod cookies;
mod crews;
mod desk;
mod escape;
mod form;
mod formula;
mod given_out;
mod jobs;
mod keep;
mod lacks;
mod line;
mod lists;
mod measures;
mod merge;
mod one_core;
mod page;
mod planning;
mod questions;
mod queue;
mod refusal;
mod room;
mod sent;
mod serve;
mod sheets;
mod sign_in;
mod standing;
mod start;
pub mod store;
mod throttle;
mod turns;
mod under_way;
mod weather;
mod who;
mod words;

pub use desk::{Desk, Settings};
pub use serve::serve;
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
        .route("/crews", get(crews::list))
        .route("/crews/{crew}", get(crews::sheet).post(crews::note))
        .route("/jobs", get(lists::jobs))
        .route("/jobs.csv", get(jobs::out).post(jobs::into))
        .route("/people", get(lists::people))
        .route("/equipment", get(lists::equipment))
        .route("/places", get(lists::places))
        .route("/prices", get(lists::prices))
        .route("/book/{part}", get(book::one).post(book::keep_one))
        .route("/book/{part}/new", get(book::new).post(book::keep_new))
        .route("/book/{part}/of/{key}", get(book::member).post(book::keep_member))
        .route("/book/{part}/of/{key}/remove", post(book::remove))
        .route("/weather", get(weather::page))
        .route("/weather/storm", post(weather::storm))
        .route("/weather/report", post(weather::report))
        .route("/weather/alerts", post(weather::alerts))
        .route("/weather/accept", post(weather::accept))
        .route("/plan", get(planning::page::show))
        .route("/plan/start", post(planning::page::start))
        .route("/plan/stop", post(planning::page::stop))
        .route("/plan/discard", post(planning::page::discard))
        .route("/plan/went", post(planning::went::went))
        .route("/plan/give-out", post(planning::page::give_out))
        .route("/given-out/{number}", get(given_out::page))
        .route("/questions", get(questions::page))
        .route("/questions/{question}", get(questions::answer))
        .route("/questions/{question}/live", get(asking::live))
        .route("/questions/{question}/stop", post(asking::stop))
        .route("/changes", get(changes::list))
        .route("/changes/{number}", get(changes::one))
        .route("/changes/{number}/undo", post(changes::undo))
        .route("/changes/plan/{number}/give-out", post(changes::give_out))
        .route("/start", get(start::page).post(start::begin))
        .route("/sign-in", get(sign_in::page).post(sign_in::sign_in))
        .route("/sign-out", post(sign_in::sign_out))
        .route("/link/{token}", get(sign_in::link_page).post(sign_in::use_link))
        .route("/sign-ins", get(accounts::page).post(accounts::add))
        .route("/sign-ins/{id}/link", post(accounts::link))
        .route("/sign-ins/{id}/close", post(accounts::close))
        .route("/me", get(accounts::me).post(accounts::password))
        .route("/me/seen", post(accounts::seen));
    let bare = Router::new()
        .route("/health", get(measures::health))
        .route("/metrics", get(measures::metrics))
        .route("/static/{version}/{name}", get(assets::file));
    pages
        .merge(bare)
        .merge(api::routes())
        .fallback(page::not_there)
        // Each body is bounded where it is read.
        .layer(DefaultBodyLimit::disable())
        .layer(middleware::from_fn_with_state(Arc::clone(&desk), page::around))
        .with_state(desk)
}
