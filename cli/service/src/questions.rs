//! Questions asked of the plan given out: when is it free, what date can I offer, why not sooner, what is one more worth.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, Query, RawQuery, State};
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use yardless_answer::Seasons;
use yardless_ask::{Answered, Wanted, Which};
use yardless_book::half_day::{HalfDay, parse_date};
use yardless_engine::Limits;

use super::asking::{Came, ask};
use super::desk::Desk;
use super::form::plain;
use super::one_core::on_one_core;
use super::page::{Frame, html};
use super::refusal::Refusal;
use super::sheets::told;
use super::standing::Standing;
use super::turns::Gone;
use super::who::{Reads, Who};

/// How long an answer may be searched for, in seconds.
const OFFER: f64 = 5.0;
const WORTH: f64 = 20.0;
/// Seasons that the plan is run through.
const SEASONS: Seasons = Seasons { count: 10_000, seed: 1 };
/// Rounds of search for each plan that `why` asks for.
const WHY: u64 = 60;

/// What a question asks, as the address has it.
#[derive(Clone, Debug, Default, Deserialize, schemars::JsonSchema)]
#[serde(default)]
pub struct Asks {
    /// The kind of equipment, by its id or name.
    pub kind: String,
    /// How many together, 1 to 1000.
    #[schemars(with = "Option<u32>")]
    pub count: String,
    /// For how many half-days, 1 to 1000.
    #[schemars(with = "Option<u32>")]
    pub half_days: String,
    /// Where, a place by its id or name.
    pub at: String,
    /// The job, by its id or name.
    pub job: String,
    /// Why not by the end of this date.
    #[schemars(with = "Option<chrono::NaiveDate>")]
    pub sooner: String,
    /// How many rows at most, 1 to 20.
    #[schemars(with = "Option<u8>")]
    pub rows: String,
}

#[derive(Template)]
#[template(path = "questions.html")]
struct Page {
    frame: Frame,
    /// What may be chosen: id and name.
    kinds: Vec<(String, String)>,
    jobs: Vec<(String, String)>,
    places: Vec<(String, String)>,
    asks: Asks,
    answer: String,
    /// A question that is still being answered.
    waiting: Option<Waiting>,
    /// What could not be answered, and what to do.
    refused: Option<(String, String)>,
    no_plan: bool,
}

/// A question that is still being answered.
struct Waiting {
    question: String,
    /// What it asks.
    says: &'static str,
    /// Seconds since it was asked, and how many it takes at most; 0: not known.
    elapsed: u64,
    seconds: u64,
    /// Where it is told how it goes.
    live: String,
}

impl Waiting {
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

fn shown(standing: &Standing, who: &Who, asks: Asks) -> Page {
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
    Page {
        frame: Frame::new("Questions", "/questions", who, Some(standing)),
        kinds,
        jobs: of("jobs"),
        places: of("places"),
        asks,
        answer: String::new(),
        waiting: None,
        refused: None,
        no_plan: standing.plan.is_none(),
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
        _ => Came::Answer(answered(&desk, &who, &question, &asks).await.map(Arc::new)),
    };
    let standing = desk.work(super::desk::Desk::book).await?;
    let mut page = shown(&standing, &who, asks);
    let answered = match came {
        Came::Answer(answered) => answered,
        Came::NotYet(elapsed) => {
            page.waiting = Some(Waiting::new(question, &query.unwrap_or_default(), elapsed));
            return html(&page);
        }
    };
    match answered {
        Ok(answered) => {
            page.answer = told(&answered.told);
            html(&page)
        }
        Err(refusal) if [StatusCode::NOT_FOUND, StatusCode::INTERNAL_SERVER_ERROR].contains(&refusal.status) => {
            Err(refusal)
        }
        Err(refusal) => {
            let says = format!("{}.", refusal.problem.detail.trim_end_matches('.'));
            page.refused = Some((says, refusal.problem.help.clone()));
            Ok(refusal.written(html(&page)?))
        }
    }
}

/// The answer; questions that search wait for one another, and leave a core to everybody else. One that nobody waits for
/// any more ends.
pub async fn answered(desk: &Arc<Desk>, who: &Who, question: &str, asks: &Asks) -> Result<Answered, Refusal> {
    let (of, asks, question) = (Arc::clone(desk), asks.clone(), question.to_owned());
    let long = match question.as_str() {
        "free" | "why" | "chance" => false,
        "offer" | "worth" => true,
        other => return Err(Refusal::missing(format!("There is no question `{other}`."))),
    };
    let turn = desk.turns.turn(who.into(), long).await?;
    tracing::info!(question, "a question has its turn");
    let gone = Gone::default();
    let cancel = Arc::clone(&gone.0);
    let until = move |limits: Limits| Limits { cancel, ..limits };
    on_one_core(move || {
        let _turn = turn;
        let standing = of.book()?;
        let now = of.now(&standing);
        match question.as_str() {
            "free" => free(&standing, now, &asks),
            "why" => {
                let asked = standing.asked(now)?;
                let sooner = match asks.sooner.trim() {
                    "" => None,
                    text => Some(parse_date(text).map_err(|_| {
                        Refusal::input("usage::sooner", format!("`{text}` is no date."), "Give one as 2026-12-09.")
                    })?),
                };
                Ok(yardless_ask::why(&asked, named(&asks.job, "job")?, sooner, &until(Limits::steps(WHY)))?)
            }
            "chance" => Ok(yardless_ask::chance(&standing.asked(now)?, SEASONS)?),
            "offer" => {
                let asked = standing.asked(now)?;
                let rows = number(&asks.rows, "rows", 5, 20)? as usize;
                Ok(yardless_ask::offer(
                    &asked,
                    Which::OfBook(named(&asks.job, "job")?),
                    rows,
                    &until(Limits::seconds(OFFER)),
                )?)
            }
            _ => {
                let asked = standing.asked(now)?;
                let rows = number(&asks.rows, "rows", 8, 20)? as usize;
                Ok(yardless_ask::worth(&asked, rows, &until(Limits::seconds(WORTH)))?)
            }
        }
    })
    .await?
}

fn free(standing: &Standing, now: HalfDay, asks: &Asks) -> Result<Answered, Refusal> {
    let wanted = Wanted {
        kind: named(&asks.kind, "kind")?.to_owned(),
        count: number(&asks.count, "count", 1, 1_000)?,
        half_days: number(&asks.half_days, "half_days", 1, 1_000)?,
        at: Some(asks.at.trim()).filter(|at| !at.is_empty()).map(str::to_owned),
        now: None,
    };
    Ok(yardless_ask::free_now(&standing.asked(now)?, &wanted)?)
}

fn named<'t>(text: &'t str, what: &str) -> Result<&'t str, Refusal> {
    let says = || Refusal::input("usage::missing", format!("No {what} is named."), format!("Name one with `{what}`."));
    Some(text.trim()).filter(|text| !text.is_empty()).ok_or_else(says)
}

fn number(text: &str, name: &str, or: u32, most: u32) -> Result<u32, Refusal> {
    match text.trim() {
        "" => Ok(or),
        text => text.parse().ok().filter(|n| (1..=most).contains(n)).ok_or_else(|| {
            Refusal::input("usage::number", format!("`{name}` is `{text}`."), format!("Give 1 to {most}."))
        }),
    }
}
