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

/// A page that the head leads to.
struct Way {
    address: &'static str,
    name: &'static str,
    /// Whether it is the owner's alone.
    owns: bool,
}

const fn way(address: &'static str, name: &'static str) -> Way {
    Way { address, name, owns: false }
}

const fn own(address: &'static str, name: &'static str) -> Way {
    Way { address, name, owns: true }
}

/// What the head leads to: the five things that one comes for, each with its pages, the first of which it opens.
const HEAD: [(&str, &[Way]); 5] = [
    ("Week", &[way("/", "Sheet"), way("/season", "All weeks"), way("/crews", "Crews"), own("/plan", "Plan again")]),
    ("Jobs", &[way("/jobs", "Jobs"), own("/wish", "A caller: which date?")]),
    ("Ask", &[way("/questions", "Questions")]),
    ("Weather", &[way("/weather", "Weather")]),
    (
        "Shop",
        &[
            way("/people", "People, trucks"),
            way("/equipment", "Equipment"),
            way("/places", "Places, roads"),
            way("/prices", "Prices"),
            own("/matters", "What matters to you?"),
            own("/changes", "Changes"),
            own("/sign-ins", "Sign-ins"),
        ],
    ),
];

impl Frame {
    /// Where the head leads to: address, name, and whether that is here.
    pub fn ways(&self) -> Vec<(&'static str, &'static str, bool)> {
        if self.name.is_empty() || self.crew.is_some() {
            return Vec::new();
        }
        HEAD.iter().map(|(name, pages)| (pages[0].address, *name, self.is_within(pages))).collect()
    }

    /// The pages beside this one, where there are any: of the same thing.
    pub fn beside(&self) -> Vec<(&'static str, &'static str, bool)> {
        let within = HEAD.iter().find(|(_, pages)| pages.len() > 1 && self.is_within(pages));
        let pages = within.filter(|_| !self.ways().is_empty()).map_or(&[][..], |(_, pages)| pages);
        let seen = pages.iter().filter(|way| self.owns || !way.owns);
        seen.map(|way| (way.address, way.name, way.address == self.here)).collect()
    }

    fn is_within(&self, pages: &[Way]) -> bool {
        pages.iter().any(|way| way.address == self.here)
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
