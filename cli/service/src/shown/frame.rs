//! The frame around every page, and what every page is answered with.

use askama::Template;
use axum::http::{HeaderValue, StatusCode};
use axum::response::{Html, IntoResponse, Redirect, Response};
use chrono_tz::Tz;

use crate::desk::standing::Standing;
use crate::refusal::Refusal;
use crate::request::who::Who;
use crate::shown::assets::{SCRIPT, SIGN, STYLE};
use crate::shown::paper::{Foot, Paper, now};
use crate::shown::policy::with_style;
use crate::store::Wrong;

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
    /// The style of its printed pages, where it is a sheet.
    pub paper: Option<String>,
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
            paper: None,
        }
    }

    /// Of a sheet: its printed pages have a foot.
    pub fn on_paper(mut self, what: &str, standing: &Standing) -> Self {
        let plan = standing.plan.as_ref().map_or_else(String::new, |given| format!("plan {}", given.revision.number));
        let at = now(zone(Some(standing)));
        self.paper = Some(Foot { shop: &self.shop, what, plan: &plan, at }.style(Paper::Any));
        self
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
            paper: None,
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
    Ok(Html(page.render()?).into_response())
}

/// A sheet from its template, with the style of its printed pages.
pub fn sheet(page: &impl Template, frame: &Frame) -> Result<Response, Refusal> {
    let response = html(page)?;
    Ok(match &frame.paper {
        Some(style) => with_style(style, response),
        None => response,
    })
}

/// On to another page after a form was taken.
pub fn on_to(address: &str) -> Response {
    Redirect::to(address).into_response()
}

/// A text as part of an address.
pub fn escaped(text: &str) -> String {
    form_urlencoded::byte_serialize(text.as_bytes()).collect::<String>().replace('+', "%20")
}

/// Marks a page that tells itself what is wrong, with its own status.
pub fn written(status: StatusCode, mut response: Response) -> Response {
    *response.status_mut() = status;
    response.headers_mut().insert("x-written", HeaderValue::from_static("1"));
    response
}
