//! The frame around every page, and the layer around every route: request ids, limits, heads, logs, refusals.

use std::convert::Infallible;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use askama::Template;
use axum::extract::{FromRequestParts, MatchedPath, Request, State};
use axum::http::header::{ALLOW, CACHE_CONTROL, CONTENT_SECURITY_POLICY, REFERRER_POLICY, X_CONTENT_TYPE_OPTIONS};
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Redirect, Response};
use chrono_tz::Tz;
use tokio::time::timeout;
use tracing::Instrument;

use super::assets::{SCRIPT, SIGN, STYLE};
use super::desk::Desk;
use super::line::Answering;
use super::refusal::Refusal;
use super::room::Place;
use super::sent::with_few;
use super::standing::Standing;
use super::under_way;
use super::who::{Who, is_signed_in};
use crate::store::Wrong;

/// How long a request may take, its body included; and a change that has begun besides, which is kept or not whatever is
/// answered.
const MOST_TIME: Duration = Duration::from_secs(45);
const MORE_TIME: Duration = Duration::from_secs(60);
/// Asked by programs that watch: answered whoever else asks too much.
const HEALTH: &str = "/health";
/// The one route that goes on as long as somebody listens.
pub const LIVE: &str = "/api/planning/live";
/// Everything comes from here, nothing is drawn elsewhere.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; \
    form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// What the head of every page needs.
pub struct Frame {
    /// What the page is.
    pub title: String,
    /// The shop's name.
    pub shop: String,
    /// Who is signed in.
    pub name: String,
    /// Whether all is theirs to change.
    pub owns: bool,
    /// The crew whose sheet is all they see.
    pub crew: Option<String>,
    /// Wrong passwords that were given for their name, in a sentence.
    pub wrong: Option<String>,
    /// What every form carries.
    pub key: String,
    /// The page's address, which the head marks.
    pub here: &'static str,
    /// The address of the style.
    pub style: String,
    /// The address of the script.
    pub script: String,
    /// The address of the sign.
    pub sign: String,
}

impl Frame {
    /// For somebody who is signed in.
    pub fn new(title: impl Into<String>, here: &'static str, who: &Who, standing: Option<&Standing>) -> Self {
        Self {
            title: title.into(),
            shop: standing.map_or_else(|| "Yardless".to_owned(), |of| of.book.written.book.shop.name.clone()),
            name: who.account.name.clone(),
            owns: who.owns(),
            crew: who.crew().map(str::to_owned),
            wrong: who.account.wrong.map(|wrong| wrong_passwords(wrong, zone(standing))),
            key: who.key.clone(),
            here,
            style: STYLE.path(),
            script: SCRIPT.path(),
            sign: SIGN.path(),
        }
    }

    /// For nobody yet.
    pub fn bare(title: &str) -> Self {
        Self {
            title: title.to_owned(),
            shop: "Yardless".to_owned(),
            name: String::new(),
            owns: false,
            crew: None,
            wrong: None,
            key: String::new(),
            here: "",
            style: STYLE.path(),
            script: SCRIPT.path(),
            sign: SIGN.path(),
        }
    }
}

/// The shop's time zone: times are told by its clock.
pub fn zone(standing: Option<&Standing>) -> Tz {
    standing.and_then(|of| of.book.written.book.shop.time_zone.parse().ok()).unwrap_or(Tz::UTC)
}

fn wrong_passwords(Wrong { count, since }: Wrong, zone: Tz) -> String {
    let (what, were) = if count == 1 { ("wrong password", "was") } else { ("wrong passwords", "were") };
    let since = since.with_timezone(&zone).format("%a %-d %b %Y %H:%M");
    format!("{count} {what} {were} given for your name since {since}.")
}

/// The places that the head leads to: address and name.
pub const OF_READER: [(&str, &str); 10] = [
    ("/", "Week"),
    ("/season", "Season"),
    ("/crews", "Crews"),
    ("/jobs", "Jobs"),
    ("/people", "People, trucks"),
    ("/equipment", "Equipment"),
    ("/places", "Places, roads"),
    ("/prices", "Prices"),
    ("/weather", "Weather"),
    ("/questions", "Questions"),
];
/// And of the owner besides.
pub const OF_OWNER: [(&str, &str); 3] = [("/plan", "Plan again"), ("/changes", "Changes"), ("/sign-ins", "Sign-ins")];

impl Frame {
    /// Where the head leads to, and whether that is here.
    pub fn ways(&self) -> Vec<(&'static str, &'static str, bool)> {
        if self.name.is_empty() || self.crew.is_some() {
            return Vec::new();
        }
        let more: &[_] = if self.owns { &OF_OWNER } else { &[] };
        OF_READER.iter().chain(more).map(|(address, name)| (*address, *name, *address == self.here)).collect()
    }
}

/// A page from its template.
pub fn html(page: &impl Template) -> Result<Response, Refusal> {
    match page.render() {
        Ok(html) => Ok(Html(html).into_response()),
        Err(e) => Err(Refusal::ours("web::template", e)),
    }
}

/// On to another page after a form was taken.
pub fn on_to(address: &str) -> Response {
    Redirect::to(address).into_response()
}

/// A text as part of an address.
pub fn escaped(text: &str) -> String {
    form_urlencoded::byte_serialize(text.as_bytes()).collect::<String>().replace('+', "%20")
}

/// Any address that is none of ours.
pub async fn not_there() -> Refusal {
    Refusal::missing("There is no such page.")
}

/// Where a request comes from.
#[derive(Clone, Copy, Debug)]
pub struct Address(pub IpAddr);

impl FromRequestParts<Arc<Desk>> for Address {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, desk: &Arc<Desk>) -> Result<Self, Infallible> {
        Ok(address(&parts.headers, parts.extensions.get().copied(), desk.settings.proxied))
    }
}

/// The peer; where a server of ours stands in front, whom that names last.
fn address(headers: &HeaderMap, peer: Option<Address>, proxied: bool) -> Address {
    let named = headers.get_all("x-forwarded-for").iter().next_back().and_then(|value| value.to_str().ok());
    let named = named.and_then(|value| value.rsplit(',').next()).and_then(of_text);
    match named.filter(|_| proxied) {
        Some(named) => Address(named),
        None => peer.unwrap_or(Address(IpAddr::V4(Ipv4Addr::UNSPECIFIED))),
    }
}

/// An address as it is written in a head: of the newer sort in brackets or not, with a port or not.
fn of_text(text: &str) -> Option<IpAddr> {
    let text = text.trim().trim_matches('"');
    let bare = text.strip_prefix('[').and_then(|text| text.strip_suffix(']')).unwrap_or(text);
    bare.parse().ok().or_else(|| text.parse().ok().map(|at: SocketAddr| at.ip()))
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
        response = told(&refusal, &method, &path, response.headers());
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
        let says = format!("This took more than {} s; nothing was kept.", MOST_TIME.as_secs());
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

fn told(refusal: &Refusal, method: &Method, path: &str, headers: &HeaderMap) -> Response {
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
    refusal.page()
}

fn head(headers: &mut HeaderMap, id: &str) {
    let fixed = HeaderValue::from_static;
    headers.remove("x-written");
    headers.insert(CONTENT_SECURITY_POLICY, fixed(POLICY));
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

/// Marks a page that tells itself what is wrong, with its own status.
pub fn written(status: StatusCode, mut response: Response) -> Response {
    *response.status_mut() = status;
    response.headers_mut().insert("x-written", HeaderValue::from_static("1"));
    response
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
    fn address_that_others_can_write_counts_only_behind_a_server_of_ours() {
        let peer = Some(Address(IpAddr::from([127, 0, 0, 1])));
        let mut headers = HeaderMap::new();
        headers.insert("x-forwarded-for", HeaderValue::from_static("192.0.2.7, 198.51.100.9"));
        assert_eq!(address(&headers, peer, false).0, IpAddr::from([127, 0, 0, 1]));
        assert_eq!(address(&headers, peer, true).0, IpAddr::from([198, 51, 100, 9]));
        for (named, expected) in [
            ("198.51.100.9:5678", "198.51.100.9"),
            ("192.0.2.7:1, [2001:db8::1]:443", "2001:db8::1"),
            ("[2001:db8::1]", "2001:db8::1"),
            ("2001:db8::1", "2001:db8::1"),
            ("nobody", "127.0.0.1"),
            ("198.51.100.9:99999", "127.0.0.1"),
        ] {
            headers.insert("x-forwarded-for", HeaderValue::from_static(named));
            assert_eq!(address(&headers, peer, true).0.to_string(), expected, "{named}");
        }
    }

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
