//! The form of a wish, and the dates that answer it.

use std::sync::{Arc, OnceLock};

use askama::Template;
use axum::Extension;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use yardless_ask::{Answered, Which};
use yardless_book::half_day::parse_date;
use yardless_engine::Limits;
use yardless_view::{Block, OfferRow, Told, assumed_on_page};

use crate::book::besides::bases;
use crate::desk::Desk;
use crate::desk::asking::Key;
use crate::desk::standing::Standing;
use crate::desk::wish::Wish;
use crate::gate::room::Place;
use crate::questions::answer::{OFFER, in_turn};
use crate::questions::ask::{AskOutcome, come_to, how_it_stands};
use crate::refusal::Refusal;
use crate::request::sent::{Fields, Sent};
use crate::request::who::{Owns, Who};
use crate::sheets::told;
use crate::shown::frame::{Frame, escaped, html, on_to, written};
use crate::shown::refused::{self, RefusedHere};
use crate::store::token;
use crate::wish::made::{BOOKED, JOB, PATTERN, Wrong, made};

/// Dates that are looked for.
const ROWS: usize = 5;

/// A choice: what is sent, its name, whether it is chosen.
type Choice = (String, String, bool);

#[derive(Template)]
#[template(path = "wish.html")]
struct WishPage {
    frame: Frame,
    sent: Fields,
    patterns: Vec<Choice>,
    jobs: Vec<Choice>,
    /// Jobs of the book that are not over, for which a date may be wanted.
    booked: Vec<Choice>,
    places: Vec<Choice>,
    roads: Vec<Choice>,
    /// From where a drive to a new place is asked for: id and name.
    bases: Vec<(String, String)>,
    wrong: Wrong,
    /// The name under which the wish is laid aside.
    name: String,
    form: String,
    /// Seconds since it is looked for dates, and how many that takes.
    waiting: Option<(u64, u64)>,
    /// What is said of the dates first, and what is to be known of them.
    answer: String,
    notes: String,
    dates: Vec<DateRow>,
    /// What it takes to have gone as planned, in a sentence.
    assumed: Option<String>,
    /// What could not be answered, and what to do.
    refused: Option<RefusedHere>,
    /// Whether a wish was asked that is not kept any more.
    gone: bool,
}

/// A date, and whether it is past the day by which the work is wanted.
struct DateRow {
    of: OfferRow,
    late: bool,
    /// Whether it is the soonest in time for which nothing else moves.
    first: bool,
}

impl WishPage {
    fn new(standing: &Standing, who: &Who, sent: Fields) -> Result<Self, Refusal> {
        let of = |list: &str, begins: &str, chosen: &str| -> Vec<Choice> {
            let all = standing.value[list].as_array().into_iter().flatten();
            let one = |of: &serde_json::Value| {
                let id = of["id"].as_str().unwrap_or_default();
                let value = format!("{begins}{id}");
                let chosen = value == chosen;
                (value, of["name"].as_str().unwrap_or(id).to_owned(), chosen)
            };
            all.map(one).collect()
        };
        let like = sent.get("like");
        Ok(Self {
            frame: Frame::new("A caller: which date?", "/wish", who, Some(standing)),
            patterns: of("patterns", PATTERN, like),
            jobs: of("jobs", JOB, like),
            booked: of("jobs", BOOKED, like).into_iter().filter(|(id, ..)| !over(standing, id)).collect(),
            places: of("places", "", sent.get("place")),
            roads: of("roads", "", sent.get("new_place.road")),
            bases: bases(&standing.value),
            sent,
            wrong: Wrong::default(),
            name: String::new(),
            form: token()?,
            waiting: None,
            answer: String::new(),
            notes: String::new(),
            dates: Vec::new(),
            assumed: None,
            refused: None,
            gone: false,
        })
    }

    /// What is wrong, each with its field.
    fn wrongs(&self) -> Vec<(&str, &str)> {
        let all = self.wrong.fields.iter();
        all.flat_map(|(field, says)| says.iter().map(|says| (field.as_str(), says.as_str()))).collect()
    }

    /// What is wrong with a field.
    fn says(&self, field: &str) -> Vec<String> {
        self.wrong.fields.get(field).cloned().unwrap_or_default()
    }

    /// What was typed for the minutes from a base.
    fn minutes(&self, base: &str) -> &str {
        self.sent.get(&format!("new_place.minutes.{base}"))
    }

    /// Whether more than the address is said of a new place, or something of that is wrong.
    fn open(&self) -> bool {
        let more = ["at", "road"].iter().any(|field| !self.sent.get(&format!("new_place.{field}")).is_empty());
        more || ["new_place.at", "new_place.road"].iter().any(|field| self.wrong.fields.contains_key(*field))
    }
}

/// Whether all steps of a job are done, by its choice.
fn over(standing: &Standing, choice: &str) -> bool {
    let jobs = &standing.book.written.book.jobs;
    let job = jobs.iter().find(|job| Some(job.id.as_str()) == choice.strip_prefix(BOOKED));
    job.is_none_or(|job| job.steps.iter().all(|step| step.done.is_some()))
}

/// A job of the book for which a date is wanted.
#[derive(Default, Deserialize)]
#[serde(default)]
pub struct ForJob {
    job: String,
}

/// The form.
pub async fn form(
    State(desk): State<Arc<Desk>>,
    Owns(who): Owns,
    Query(ForJob { job }): Query<ForJob>,
) -> Result<Response, Refusal> {
    let chosen = if job.is_empty() { Vec::new() } else { vec![("like".to_owned(), format!("{BOOKED}{job}"))] };
    let page = desk.work(move |desk| WishPage::new(&*desk.book()?, &who, Fields::of(chosen)));
    html(&page.await?)
}

/// A wish is laid aside, and dates are looked for; one that is no job comes back with what is wrong.
pub async fn asked(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let page = desk.work(move |desk| {
        let standing = desk.book()?;
        let wrong = made(&fields, &standing.value).wrong(&fields, &standing);
        if wrong.fields.is_empty() && wrong.others.is_empty() {
            let name = token()?;
            desk.wishes.put(who.account.id, name.clone(), Wish { fields: fields.own(), taken: OnceLock::new() });
            return Ok(Err(name));
        }
        Ok(Ok(WishPage { wrong, ..WishPage::new(&standing, &who, fields)? }))
    });
    match page.await? {
        Ok(page) => Ok(written(StatusCode::UNPROCESSABLE_ENTITY, html(&page)?)),
        Err(name) => Ok(on_to(&format!("/wish/{name}"))),
    }
}

/// Whether the search was stopped.
#[derive(Deserialize)]
pub struct Stopped {
    stopped: Option<String>,
}

fn key(who: &Who, name: &str) -> Key {
    (who.account.id, format!("wish {name}"))
}

/// The dates that answer a wish.
pub async fn dates(
    State(desk): State<Arc<Desk>>,
    Owns(who): Owns,
    Path(name): Path<String>,
    Query(Stopped { stopped }): Query<Stopped>,
) -> Result<Response, Refusal> {
    let wish = desk.wishes.get(who.account.id, &name);
    let sent = wish.as_ref().map(|wish| Fields::of(wish.fields.clone())).unwrap_or_default();
    let (of, asker, gone, called) = (sent.clone(), who.clone(), wish.is_none(), name.clone());
    let page = desk.work(move |desk| {
        let standing = desk.book()?;
        Ok((WishPage { name: called, gone, ..WishPage::new(&standing, &asker, of)? }, standing))
    });
    let (mut page, standing) = page.await?;
    if gone || stopped.is_some() {
        return html(&page);
    }
    let (of, asker, fields) = (Arc::clone(&desk), who.clone(), sent.clone());
    let came = come_to(&desk.questions, &key(&who, &name), async move { looked_for(&of, &asker, fields).await }).await;
    match came {
        AskOutcome::NotYet(elapsed) => page.waiting = Some((elapsed, OFFER as u64)),
        AskOutcome::Answer(Ok(answered)) => {
            // The rows stand here with their buttons.
            let words = answered.told.blocks.iter().filter(|block| !matches!(block, Block::Rows(_)));
            let (first, rest) = words.cloned().enumerate().partition::<Vec<_>, _>(|(n, _)| *n == 0);
            let written =
                |blocks: Vec<(usize, Block)>| told(&Told { blocks: blocks.into_iter().map(|of| of.1).collect() });
            (page.answer, page.notes) = (written(first), written(rest));
            let wanted = parse_date(made(&sent, &standing.value).due()).ok();
            let late = |row: &OfferRow| wanted.is_some_and(|wanted| row.end.date() > wanted);
            let best = answered.dates.iter().position(|row| row.moved == 0 && !late(row));
            let row = |(n, of): (usize, &OfferRow)| DateRow { late: late(of), first: Some(n) == best, of: of.clone() };
            page.dates = answered.dates.iter().enumerate().map(row).collect();
            let book = &standing.book.written.book;
            page.assumed = answered.assumed.as_ref().map(|of| assumed_on_page(of, book));
        }
        AskOutcome::Answer(Err(refusal)) => {
            let refusal = refused::told_within(refusal)?;
            page.refused = Some(RefusedHere::of(&refusal, &standing.value));
            return Ok(refused::within(&refusal, html(&page)?));
        }
    }
    html(&page)
}

/// Looks for dates when it is the asker's turn.
async fn looked_for(desk: &Arc<Desk>, who: &Who, fields: Fields) -> Result<Answered, Refusal> {
    in_turn(desk, who, ("wish", true), move |desk, cancel| {
        let standing = desk.book()?;
        let wished = made(&fields, &standing.value);
        let asked = standing.asked_over(wished.with_place(&standing)?, desk.now(&standing))?;
        let job = wished.job().to_string();
        let limits = Limits { cancel, ..Limits::seconds(OFFER) };
        let which = wished.booked().map_or(Which::Text("the wish", job.as_bytes()), Which::OfBook);
        Ok(yardless_ask::offer(&asked, which, ROWS, &limits)?)
    })
    .await
}

/// How the search stands, as it changes.
pub async fn live(
    State(desk): State<Arc<Desk>>,
    Owns(who): Owns,
    Path(name): Path<String>,
    place: Option<Extension<Place>>,
) -> impl IntoResponse {
    how_it_stands(desk.questions.find(&key(&who, &name)), place)
}

/// Stops it.
pub async fn stop(
    State(desk): State<Arc<Desk>>,
    Path(name): Path<String>,
    sent: Sent<Owns>,
) -> Result<Response, Refusal> {
    if let Some(search) = desk.questions.remove(&key(&sent.who.0, &name)) {
        search.stop();
    }
    Ok(on_to(&format!("/wish/{}?stopped=1", escaped(&name))))
}
