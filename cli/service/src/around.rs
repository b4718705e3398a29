//! The layer around every route: request ids, limits, heads, logs, refusals.

use std::net::IpAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use axum::extract::{MatchedPath, Request, State};
use axum::http::header::{ALLOW, CACHE_CONTROL, CONTENT_SECURITY_POLICY, REFERRER_POLICY, X_CONTENT_TYPE_OPTIONS};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use serde_json::Value;
use tokio::time::timeout;
use tracing::Instrument;

use crate::desk::{Desk, under_way};
use crate::gate::line::Answering;
use crate::gate::room::Place;
use crate::refusal::Refusal;
use crate::request::address::{Address, address};
use crate::request::sent::with_few;
use crate::request::who::is_signed_in;
use crate::shown::frame::{escaped, on_to};
use crate::shown::{policy, refused};

/// How long a request may take, its body included; and a change that has begun besides, which is kept or not whatever is
/// answered.
const MOST_TIME: Duration = Duration::from_secs(45);
const MORE_TIME: Duration = Duration::from_secs(60);
/// Asked by programs that watch: answered whoever else asks too much.
const HEALTH: &str = "/health";
/// The one route that goes on as long as somebody listens.
pub const LIVE: &str = "/api/planning/live";
/// Any address that is none of ours.
pub async fn not_there() -> Refusal {
    Refusal::missing("There is no such page.")
}

/// The layer around every route.
pub async fn around(State(desk): State<Arc<Desk>>, request: Request, next: Next) -> Response {
    let began = Instant::now();
    let id = request_id();
    // The address itself may hold a secret; the route does not.
    let route =
        request.extensions().get::<MatchedPath>().map_or_else(|| "none".to_owned(), |path| path.as_str().to_owned());
    let path = request.uri().path().to_owned();
    let method = request.method().clone();
    let span = tracing::info_span!("request", id, %method, route);
    let Address(from) = address(request.headers(), request.extensions().get().copied(), desk.settings.proxied);
    let place = request.extensions().get::<Place>().cloned();
    let (mut response, under_way) = match place.map(|place| place.begins(from)).transpose() {
        Ok(under_way) => (answered(&desk, from, request, next, &route).instrument(span.clone()).await, under_way),
        Err(refusal) => (refusal.into_response(), None),
    };
    if let Some(refusal) = refusal_of(&mut response) {
        response = told(&desk, &refusal, &method, &path, response.headers());
    }
    head(response.headers_mut(), &id);
    let (status, took) = (response.status(), began.elapsed());
    desk.measures.ended(&route, status, took);
    span.in_scope(|| tracing::info!(status = status.as_u16(), milliseconds = took.as_secs_f64() * 1e3, "answered"));
    match under_way {
        Some(under_way) => response.map(|body| Answering::body(body, under_way)),
        None => response,
    }
}

async fn answered(desk: &Arc<Desk>, from: IpAddr, request: Request, next: Next, route: &str) -> Response {
    let (parts, body) = request.into_parts();
    // Who is signed in is throttled by account, whoever else is greedy at the same address.
    if route != HEALTH
        && let Err(refusal) = desk.throttle.address(from)
        && !is_signed_in(&parts, desk).await
    {
        return refusal.into_response();
    }
    let request = Request::from_parts(parts, body);
    if !request.method().is_safe() && !comes_from_here(request.headers(), desk.settings.proxied) {
        return Refusal::not_allowed("This was sent from a page of another site.").into_response();
    }
    if route == LIVE {
        return next.run(request).await;
    }
    let of = Arc::new(under_way::Request::default());
    let answer = of.within(async {
        match with_few(desk, request).await {
            Ok(request) => next.run(request).await,
            Err(refusal) => refusal.into_response(),
        }
    });
    let mut answer = std::pin::pin!(answer);
    if let Ok(response) = timeout(MOST_TIME, &mut answer).await {
        return response;
    }
    if !of.has_begun() {
        let says = format!("This took more than {} s; nothing was saved.", MOST_TIME.as_secs());
        let help = "Send it again, or ask for less.";
        return Refusal::new(StatusCode::REQUEST_TIMEOUT, "web::too-slow", says, help).into_response();
    }
    timeout(MORE_TIME, answer).await.unwrap_or_else(|_| {
        let says = format!("This took more than {} s, and may be kept yet.", (MOST_TIME + MORE_TIME).as_secs());
        let help = "Look under Changes before you send it again.";
        Refusal::new(StatusCode::GATEWAY_TIMEOUT, "web::unknown", says, help).into_response()
    })
}

/// Whether a browser that says where a form comes from says here.
fn comes_from_here(headers: &HeaderMap, proxied: bool) -> bool {
    let text = |name: &str| headers.get(name).and_then(|value: &HeaderValue| value.to_str().ok());
    if headers.get("sec-fetch-site").is_some_and(|site| site == "cross-site") {
        return false;
    }
    let named = text("x-forwarded-host").filter(|_| proxied).or(text("host"));
    match (text("origin"), named) {
        (Some(origin), Some(host)) => origin.split_once("://").is_some_and(|(_, of)| of == host),
        _ => true,
    }
}

/// What was refused, by a handler or before any came to work.
fn refusal_of(response: &mut Response) -> Option<Refusal> {
    let refusal = response.extensions_mut().remove::<Refusal>();
    let status = response.status();
    let written = response.headers().contains_key("x-written");
    if refusal.is_some() || written || !(status.is_client_error() || status.is_server_error()) {
        return refusal;
    }
    let says = match status {
        StatusCode::METHOD_NOT_ALLOWED => "This address takes no such request.",
        StatusCode::NOT_FOUND => "There is no such page.",
        _ => "The request could not be read.",
    };
    Some(Refusal::new(status, "web::request", says, "Go back, or on from the week sheet."))
}

fn told(desk: &Desk, refusal: &Refusal, method: &Method, path: &str, headers: &HeaderMap) -> Response {
    if path.starts_with("/api/") {
        let mut response = refusal.json();
        if let Some(allow) = headers.get(ALLOW) {
            response.headers_mut().insert(ALLOW, allow.clone());
        }
        return response;
    }
    if refusal.sign_in && method == Method::GET {
        return on_to(&format!("/sign-in?then={}", escaped(path)));
    }
    // Who is not signed in is told of nothing in the book.
    let standing = if refusal.sign_in { None } else { desk.known_if_any() };
    refused::page(refusal, standing.as_ref().map_or(&Value::Null, |standing| &standing.value))
}

fn head(headers: &mut HeaderMap, id: &str) {
    let fixed = HeaderValue::from_static;
    headers.remove("x-written");
    headers.entry(CONTENT_SECURITY_POLICY).or_insert_with(policy::usual);
    headers.insert(X_CONTENT_TYPE_OPTIONS, fixed("nosniff"));
    headers.insert(REFERRER_POLICY, fixed("same-origin"));
    headers.insert("cross-origin-opener-policy", fixed("same-origin"));
    headers.insert("permissions-policy", fixed("camera=(), geolocation=(), microphone=()"));
    // What pages hold of customers and crews is kept by nobody, the browser's own store included.
    headers.entry(CACHE_CONTROL).or_insert(fixed("no-store"));
    if let Ok(id) = HeaderValue::from_str(id) {
        headers.insert("x-request-id", id);
    }
}

/// Differs from every other of this run, and all but surely from those of other runs.
fn request_id() -> String {
    static NEXT: AtomicU64 = AtomicU64::new(0);
    static RUN: std::sync::LazyLock<u64> = std::sync::LazyLock::new(|| getrandom::u64().unwrap_or_default());
    format!("{:08x}{:08x}", *RUN >> 32, NEXT.fetch_add(1, Ordering::Relaxed))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn form_of_another_site_is_known_by_what_the_browser_says() {
        let headers = |pairs: &[(&'static str, &'static str)]| {
            pairs.iter().map(|(name, value)| (name.parse().expect("a name"), HeaderValue::from_static(value))).collect()
        };
        assert!(comes_from_here(&headers(&[("host", "a:1"), ("origin", "http://a:1")]), false));
        assert!(comes_from_here(&headers(&[("host", "a:1")]), false));
        assert!(!comes_from_here(&headers(&[("host", "a:1"), ("origin", "http://b:1")]), false));
        assert!(!comes_from_here(&headers(&[("host", "a:1"), ("origin", "null")]), false));
        assert!(!comes_from_here(&headers(&[("host", "a:1"), ("sec-fetch-site", "cross-site")]), false));
        let behind =
            [("host", "127.0.0.1:1"), ("x-forwarded-host", "plans.example"), ("origin", "https://plans.example")];
        assert!(comes_from_here(&headers(&behind), true) && !comes_from_here(&headers(&behind), false));
    }
}
