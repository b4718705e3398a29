//! The questions' page, with the answer to one of them.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, Query, RawQuery, State};
use axum::http::StatusCode;
use axum::response::Response;
use yardless_view::assumed_on_page;

use crate::book::form::plain;
use crate::desk::Desk;
use crate::desk::standing::Standing;
use crate::questions::answer::{Asks, OFFER, WORTH, answered};
use crate::questions::ask::{AskOutcome, ask};
use crate::refusal::Refusal;
use crate::request::who::{Reads, Who};
use crate::sheets::told;
use crate::shown::frame::{Frame, html};
use crate::shown::refused::{self, RefusedHere};

#[derive(Template)]
#[template(path = "questions.html")]
struct QuestionsPage {
    frame: Frame,
    /// What may be chosen: id and name.
    kinds: Vec<(String, String)>,
    jobs: Vec<(String, String)>,
    places: Vec<(String, String)>,
    asks: Asks,
    answer: String,
    /// What it takes to have gone as planned, in a sentence.
    assumed: Option<String>,
    /// A question that is still being answered.
    waiting: Option<Unanswered>,
    /// What could not be answered, and what to do.
    refused: Option<RefusedHere>,
    no_plan: bool,
    /// The job for which dates were found, where who asks may take one.
    dated: Option<String>,
}

/// A question that is still being answered.
struct Unanswered {
    question: String,
    /// What it asks.
    says: &'static str,
    /// Seconds since it was asked, and how many it takes at most; 0: not known.
    elapsed: u64,
    seconds: u64,
    /// Where it is told how it goes.
    live: String,
}

impl Unanswered {
    /// `query`: what it asks, as the address has it.
    fn new(question: String, query: &str, elapsed: u64) -> Self {
        let (says, seconds) = match question.as_str() {
            "offer" => ("What date can I offer?", OFFER as u64),
            "worth" => ("What is one more worth?", WORTH as u64),
            _ => ("Why not sooner?", 0),
        };
        let live = format!("/questions/{question}/live?{query}");
        Self { question, says, elapsed, seconds, live }
    }
}

/// The id of a job by that or its name.
fn job_id(standing: &Standing, asked: &str) -> Option<String> {
    let mut jobs = standing.book.written.book.jobs.iter();
    let is = |of: &&yardless_book::Job| of.id == asked || of.name.as_deref() == Some(asked);
    jobs.find(is).map(|job| job.id.clone())
}

fn shown(standing: &Standing, who: &Who, asks: Asks) -> QuestionsPage {
    let of = |list: &str| -> Vec<(String, String)> {
        let members = standing.value[list].as_array().into_iter().flatten();
        members
            .map(|of| (plain(&of["id"]), of["name"].as_str().map_or_else(|| plain(&of["id"]), str::to_owned)))
            .collect()
    };
    let mut kinds = of("kinds");
    for kind in standing.book.written.book.equipment.iter().flat_map(|unit| &unit.kinds) {
        if !kinds.iter().any(|(id, _)| id == kind) {
            kinds.push((kind.clone(), kind.clone()));
        }
    }
    QuestionsPage {
        frame: Frame::new("Questions", "/questions", who, Some(standing)),
        kinds,
        jobs: of("jobs"),
        places: of("places"),
        asks,
        answer: String::new(),
        assumed: None,
        waiting: None,
        refused: None,
        no_plan: standing.plan.is_none(),
        dated: None,
    }
}

/// The questions.
pub async fn page(State(desk): State<Arc<Desk>>, Reads(who): Reads) -> Result<Response, Refusal> {
    let page = desk.work(move |desk| Ok(shown(&*desk.book()?, &who, Asks::default())));
    html(&page.await?)
}

/// One of them, answered.
pub async fn answer(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Path(question): Path<String>,
    Query(asks): Query<Asks>,
    RawQuery(query): RawQuery,
) -> Result<Response, Refusal> {
    let came = match question.as_str() {
        "why" | "offer" | "worth" => ask(&desk, &who, &question, &asks).await,
        _ => AskOutcome::Answer(answered(&desk, &who, &question, &asks).await.map(Arc::new)),
    };
    let standing = desk.work(Desk::book).await?;
    let mut page = shown(&standing, &who, asks);
    let answered = match came {
        AskOutcome::Answer(answered) => answered,
        AskOutcome::NotYet(elapsed) => {
            page.waiting = Some(Unanswered::new(question, &query.unwrap_or_default(), elapsed));
            return html(&page);
        }
    };
    match answered {
        Ok(answered) => {
            page.answer = told(&answered.told);
            let may = page.frame.owns && !answered.dates.is_empty();
            page.dated = may.then(|| job_id(&standing, &page.asks.job)).flatten();
            let book = &standing.book.written.book;
            page.assumed = answered.assumed.as_ref().map(|of| assumed_on_page(of, book));
            html(&page)
        }
        Err(refusal) if [StatusCode::NOT_FOUND, StatusCode::INTERNAL_SERVER_ERROR].contains(&refusal.status) => {
            Err(refusal)
        }
        Err(refusal) => {
            page.refused = Some(RefusedHere::of(&refusal, &standing.value));
            Ok(refused::within(&refusal, html(&page)?))
        }
    }
}
