//! Whether all is well, and what is counted, for programs that watch.

use std::net::IpAddr;
use std::sync::Arc;

use axum::extract::State;
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};

use crate::desk::Desk;
use crate::refusal::Refusal;
use crate::request::address::Address;
use crate::shown::frame::written;
use crate::store::Kind;

/// Whether the service can serve. Asked aside from all queues.
pub async fn health(State(desk): State<Arc<Desk>>) -> Response {
    let says = match desk.is_well().await {
        Ok(()) => return (StatusCode::OK, "well\n").into_response(),
        Err(says) => says,
    };
    written(StatusCode::SERVICE_UNAVAILABLE, format!("{says}\n").into_response())
}

/// The counters in the Prometheus text format, for programs on the same machine only.
pub async fn metrics(
    State(desk): State<Arc<Desk>>,
    Address(address): Address,
    headers: HeaderMap,
) -> Result<Response, Refusal> {
    let forwarded = headers.contains_key("x-forwarded-for") || headers.contains_key("forwarded");
    if forwarded || !is_here(address) {
        return Err(Refusal::not_allowed("Measures are for programs on the same machine."));
    }
    let counted = |desk: &Desk| {
        let revisions = desk.store.number(Kind::Book)?;
        desk.measures.text(revisions).map_err(|e| Refusal::ours("web::metrics", e))
    };
    let text = desk.work(counted).await?;
    let kind = "application/openmetrics-text; version=1.0.0; charset=utf-8";
    Ok(([(CONTENT_TYPE, kind)], text).into_response())
}

fn is_here(address: IpAddr) -> bool {
    address.to_canonical().is_loopback()
}
