//! The page of the choices: one at a time, then the prices.

use std::sync::Arc;

use askama::Template;
use axum::Extension;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use serde_json::Value;
use yardless_answer::matters::{Answers, QUESTIONS, Weighing};
use yardless_ask::matters::{ROUNDS, name, weighing};
use yardless_book::Book;
use yardless_engine::Limits;
use yardless_view::matters::{no_question, plan_names, price_rows, price_set, question_rows, same_in_all};

use crate::desk::Desk;
use crate::desk::asking::Key;
use crate::desk::standing::Standing;
use crate::desk::weighed::WeighedOf;
use crate::gate::room::Place;
use crate::matters::asked::Sent as Answered;
use crate::questions::answer::in_turn;
use crate::questions::ask::{AskOutcome, come_to, how_it_stands};
use crate::refusal::Refusal;
use crate::request::sent::Sent;
use crate::request::who::{Owns, Who};
use crate::shown::frame::{Frame, html, on_to};
use crate::shown::refused::{self, RefusedHere};
use crate::store::token;

#[derive(Template)]
#[template(path = "matters.html")]
struct MattersPage {
    frame: Frame,
    /// The revisions that the answers are of.
    of: String,
    /// The answers so far, a letter each.
    answers: String,
    /// Seconds since plans to choose between are looked for.
    waiting: Option<u64>,
    question: Option<Choosing>,
    prices: Option<Prices>,
    /// Why nothing can be asked.
    nothing: Option<&'static str>,
    /// What no two plans differ in.
    same: Option<String>,
    no_plan: bool,
    /// What could not be asked, and what to do.
    refused: Option<RefusedHere>,
    form: String,
}

/// A question.
struct Choosing {
    /// Which of how many.
    number: usize,
    all: usize,
    /// What the two plans are called, and what they differ in.
    names: [String; 2],
    rows: Vec<[String; 3]>,
}

/// The prices by the answers.
struct Prices {
    rows: Vec<[String; 4]>,
    /// What is set: the field of its form, its value, and what that changes in words.
    set: Vec<(String, String, String)>,
    /// How many choices were made.
    chosen: usize,
}

impl MattersPage {
    fn new(standing: &Standing, who: &Who) -> Result<Self, Refusal> {
        Ok(Self {
            frame: Frame::new("What matters to you?", "/matters", who, Some(standing)),
            of: revisions(standing),
            answers: String::new(),
            waiting: None,
            question: None,
            prices: None,
            nothing: None,
            same: None,
            no_plan: standing.plan.is_none(),
            refused: None,
            form: token()?,
        })
    }

    /// The answers without the last.
    fn before(&self) -> Option<&str> {
        let last = self.answers.char_indices().next_back()?.0;
        Some(&self.answers[..last])
    }

    fn shows(&mut self, book: &Book, weighing: &Weighing, answers: &Answers) {
        self.same = same_in_all(book, &weighing.same_in_all());
        self.nothing = weighing.nothing().map(no_question);
        if self.nothing.is_some() {
            return;
        }
        if let Some(question) = &answers.next {
            let (names, rows) = (plan_names(question), question_rows(book, question));
            self.question = Some(Choosing { number: answers.chosen + 1, all: QUESTIONS, names, rows });
        } else {
            let set = answers.prices.iter().filter(|set| set.is != set.was);
            let set = set.map(|set| (name(&set.at), set.is.0.to_string(), price_set(book, set))).collect();
            self.prices = Some(Prices { rows: price_rows(book, answers), set, chosen: answers.chosen });
        }
    }
}

fn revisions(standing: &Standing) -> String {
    let (book, plan) = standing.numbers();
    format!("{book}-{plan}")
}

fn of(desk: &Desk, standing: &Standing) -> WeighedOf {
    (standing.numbers(), desk.now(standing))
}

fn key(who: &Who, (numbers, now): WeighedOf) -> Key {
    (who.account.id, format!("matters {numbers:?} {now}"))
}

/// What is asked, once it is asked for; the prices when all was answered.
pub async fn page(
    State(desk): State<Arc<Desk>>,
    Owns(who): Owns,
    Query(sent): Query<Answered>,
) -> Result<Response, Refusal> {
    let (at, asker) = (Arc::clone(&desk), who.clone());
    let first = desk.work(move |_| {
        let standing = at.book()?;
        let known = at.weighed.get(of(&at, &standing));
        Ok((MattersPage::new(&standing, &asker)?, of(&at, &standing), known, standing))
    });
    let (mut page, of, known, standing) = first.await?;
    if sent.of.is_empty() || sent.stopped.is_some() || page.no_plan {
        return html(&page);
    }
    let choices = match sent.choices() {
        Ok(choices) if sent.of == page.of => choices,
        Ok(_) => {
            let says = "The book or the plan given out has changed since: begin again.";
            return refused(page, Refusal::stale(says), &standing.value);
        }
        Err(refusal) => return refused(page, refusal, &standing.value),
    };
    page.answers = sent.letters();
    let came = match known {
        Some(known) => AskOutcome::Answer(Ok(known)),
        None => looked_for(&desk, &who, of).await,
    };
    match came {
        AskOutcome::NotYet(elapsed) => page.waiting = Some(elapsed),
        AskOutcome::Answer(Ok(weighing)) => {
            desk.weighed.put(of, Arc::clone(&weighing));
            let shown = desk.work(move |_| {
                page.shows(&standing.book.written.book, &weighing, &weighing.after(&choices));
                Ok(page)
            });
            return html(&shown.await?);
        }
        AskOutcome::Answer(Err(refusal)) => return refused(page, refusal, &standing.value),
    }
    html(&page)
}

fn refused(mut page: MattersPage, refusal: Refusal, book: &Value) -> Result<Response, Refusal> {
    let refusal = refused::told_within(refusal)?;
    page.refused = Some(RefusedHere::of(&refusal, book));
    Ok(refused::within(&refusal, html(&page)?))
}

/// Looks for the plans when it is the asker's turn.
async fn looked_for(desk: &Arc<Desk>, who: &Who, of: WeighedOf) -> AskOutcome<Weighing> {
    let (at, asker) = (Arc::clone(desk), who.clone());
    let search = async move {
        in_turn(&at, &asker, ("matters", true), move |desk, cancel| {
            let standing = desk.book()?;
            let limits = Limits { cancel, ..Limits::steps(ROUNDS) };
            Ok(weighing(&standing.asked(desk.now(&standing))?, &limits)?)
        })
        .await
    };
    let came: AskOutcome<Weighing> = come_to(&desk.matters, &key(who, of), search).await;
    came
}

/// How the search stands, as it changes.
pub async fn live(
    State(desk): State<Arc<Desk>>,
    Owns(who): Owns,
    place: Option<Extension<Place>>,
) -> impl IntoResponse {
    let found = desk.standing_if_any().and_then(|standing| desk.matters.find(&key(&who, of(&desk, &standing))));
    how_it_stands(found, place)
}

/// Stops it.
pub async fn stop(State(desk): State<Arc<Desk>>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let standing = desk.work(Desk::book).await?;
    if let Some(search) = desk.matters.remove(&key(&sent.who.0, of(&desk, &standing))) {
        search.stop();
    }
    Ok(on_to("/matters?stopped=1#stopped"))
}
