//! The page of a planned step, which the sheet shows beside the drawing too.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::response::Response;
use serde::Deserialize;
use yardless_book::half_day::HalfDay;
use yardless_view::{Reached, half, list, span};

use crate::desk::Desk;
use crate::desk::standing::Standing;
use crate::refusal::Refusal;
use crate::request::who::{Reads, Who};
use crate::shown::frame::{Frame, escaped, html};
use crate::shown::refused::{self, RefusedHere};
use crate::step::planned::{Planned, counted_in, crew_name, how_far, whole};
use crate::store::{Kind, Revision, token};

/// How far a step is, as far as it decides what may be told of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Not yet to begin, or not planned.
    Ahead,
    /// Planned for today or before.
    Due,
    /// Begun.
    Begun,
    /// Done.
    Done,
}

impl Stage {
    fn of(planned: &Planned, now: HalfDay) -> Self {
        match (&planned.step.done, &planned.step.progress) {
            (Some(_), _) => Self::Done,
            (None, Some(_)) => Self::Begun,
            (None, None) if planned.rows.first().is_some_and(|row| row.start.date() <= now.date()) => Self::Due,
            (None, None) => Self::Ahead,
        }
    }
}

/// What the page of a step, and that of moving it, say of it.
pub struct Opened {
    /// Its page.
    pub address: String,
    /// Its job's id.
    pub job: String,
    /// Its id within the job.
    pub step: String,
    /// `Air seal attic, Birch attic`.
    pub name: String,
    /// When it is planned, and who does it: a row a span.
    pub rows: Vec<(String, String)>,
    /// The half-day in which it is planned to begin.
    pub start: Option<HalfDay>,
    /// The crew that is planned to do it: id and name.
    pub crew: Option<(String, String)>,
    /// How far it is.
    pub state: String,
    /// How far that is.
    pub stage: Stage,
    /// Whether it can be asked what holds it there: it is planned, and the plan given out holds.
    pub asks: bool,
    /// What is left of it, else all of it, as it is counted; none: it cannot be told so.
    pub left: Option<f64>,
    /// It is counted in these.
    pub unit: &'static str,
    /// What of it is fixed, in words; empty: nothing.
    pub fixed: String,
    /// The place, and its address.
    pub place: (String, String),
    /// The place's coordinates, as a map takes them.
    pub geo: Option<String>,
    /// How the customer is reached.
    pub reached: Option<Reached>,
}

impl Opened {
    /// Of a step.
    pub fn of(standing: &Standing, planned: &Planned) -> Self {
        let book = &standing.book.written.book;
        let (job, step) = (planned.job, planned.step);
        let names = |crew: &str, with: &[String]| {
            let all = std::iter::once(crew).chain(with.iter().map(String::as_str));
            list(&all.map(|id| crew_name(book, id).to_owned()).collect::<Vec<_>>())
        };
        let unit = counted_in(step, planned.way());
        let fixed = step.fixed.as_ref().map_or_else(Vec::new, |fixed| {
            let start = fixed.start.map(|start| format!("to begin {}", half(start)));
            let crew = fixed.crew.as_ref().map(|crew| format!("by {}", crew_name(book, crew)));
            start.into_iter().chain(crew).collect()
        });
        let place = planned.place;
        let name = place.and_then(|of| of.name.clone()).unwrap_or_else(|| job.place.clone());
        Self {
            address: format!("/step/{}/{}", escaped(&job.id), escaped(&step.id)),
            job: job.id.clone(),
            step: step.id.clone(),
            name: planned.name(),
            rows: planned.rows.iter().map(|row| (span(row.start, row.end), names(&row.crew, &row.with))).collect(),
            start: planned.rows.first().map(|row| row.start),
            crew: planned.rows.first().map(|row| (row.crew.clone(), crew_name(book, &row.crew).to_owned())),
            state: how_far(book, job, step, unit),
            asks: !planned.rows.is_empty() && step.done.is_none() && standing.holds(),
            stage: Stage::of(planned, standing.now),
            left: step.progress.as_ref().map(|of| of.left).or_else(|| whole(step, planned.way())),
            unit,
            fixed: fixed.join(" "),
            geo: place.and_then(|of| of.at).map(|[lat, lon]| format!("geo:{lat},{lon}")),
            place: (name, place.and_then(|of| of.address.clone()).unwrap_or_default()),
            reached: job.contact.as_deref().map(Reached::of),
        }
    }

    /// When it begins, in words; empty: it is not planned.
    pub fn begins(&self) -> String {
        self.start.map_or_else(String::new, half)
    }

    /// Whether it may be told of.
    pub fn near(&self) -> bool {
        self.stage >= Stage::Due
    }

    /// Whether it is begun, or done.
    pub fn begun(&self) -> bool {
        self.stage >= Stage::Begun
    }

    /// Whether it is done.
    pub fn done(&self) -> bool {
        self.stage == Stage::Done
    }

    /// The week in which it begins.
    pub fn week(&self) -> String {
        self.start.map_or_else(|| "/".to_owned(), |start| format!("/week/{}", start.date()))
    }
}

/// Most characters of what was typed that are shown again.
const LONGEST: usize = 12;

#[derive(Template)]
#[template(path = "step.html")]
struct StepPage {
    frame: Frame,
    of: Opened,
    form: String,
    /// The change that was just kept of it.
    kept: Option<Revision>,
    /// What was told and could not be kept, and what to do.
    refused: Option<RefusedHere>,
    /// What was typed of what is left.
    typed: String,
}

/// What was just kept.
#[derive(Deserialize)]
pub struct JustKept {
    kept: Option<i64>,
}

/// The page.
pub async fn show(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Path((job, step)): Path<(String, String)>,
    Query(JustKept { kept }): Query<JustKept>,
) -> Result<Response, Refusal> {
    let page = desk.work(move |desk| shown(desk, &who, (&job, &step), kept));
    html(&page.await?)
}

/// The page of a step that tells why something was not kept.
pub fn told_again(
    desk: &Desk,
    who: &Who,
    of: (&str, &str),
    refusal: &Refusal,
    typed: &str,
) -> Result<Response, Refusal> {
    let typed = typed.chars().take(LONGEST).collect();
    let page =
        StepPage { refused: Some(RefusedHere::of(refusal, &desk.book()?.value)), typed, ..shown(desk, who, of, None)? };
    Ok(refused::within(refusal, html(&page)?))
}

fn shown(desk: &Desk, who: &Who, (job, step): (&str, &str), kept: Option<i64>) -> Result<StepPage, Refusal> {
    let standing = desk.book()?;
    let planned = Planned::find(&standing, job, step)?;
    let of = Opened::of(&standing, &planned);
    let kept = match kept.filter(|_| who.owns()) {
        Some(number) => desk.store.revisions(Kind::Book, number.checked_add(1), 1)?.into_iter().next(),
        None => None,
    };
    Ok(StepPage {
        frame: Frame::new(of.name.clone(), "/", who, Some(&standing)),
        of,
        form: token()?,
        kept,
        refused: None,
        typed: String::new(),
    })
}
