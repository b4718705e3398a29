//! The questions, answered as the commands answer them with `--json`.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Query, State};
use serde_json::Value;

use crate::desk::Desk;
use crate::questions::answer::{Asks, answered};
use crate::refusal::Refusal;
use crate::request::who::{Reads, Who};

async fn answer(desk: Arc<Desk>, who: &Who, question: &str, asks: Asks) -> Result<Json<Value>, Refusal> {
    Ok(Json(answered(&desk, who, question, &asks).await?.json))
}

/// `free`.
pub async fn free(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Query(asks): Query<Asks>,
) -> Result<Json<Value>, Refusal> {
    answer(desk, &who, "free", asks).await
}
/// `offer`.
pub async fn offer(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Query(asks): Query<Asks>,
) -> Result<Json<Value>, Refusal> {
    answer(desk, &who, "offer", asks).await
}
/// `why`.
pub async fn why(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Query(asks): Query<Asks>,
) -> Result<Json<Value>, Refusal> {
    answer(desk, &who, "why", asks).await
}
/// `worth`.
pub async fn worth(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Query(asks): Query<Asks>,
) -> Result<Json<Value>, Refusal> {
    answer(desk, &who, "worth", asks).await
}
/// `chance`.
pub async fn chance(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Query(asks): Query<Asks>,
) -> Result<Json<Value>, Refusal> {
    answer(desk, &who, "chance", asks).await
}
