//! Questions that take long, asked on a page: each is told as it goes and stopped at will.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::Extension;
use axum::extract::{Path, Query, State};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use serde_json::json;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::IntervalStream;
use yardless_ask::Answered;

use crate::desk::Desk;
use crate::desk::asking::{Answer, Asking, Key, Question, TICK};
use crate::gate::room::Place;
use crate::questions::answer::{Asks, answered};
use crate::refusal::Refusal;
use crate::request::sent::Sent;
use crate::request::who::{Reads, Who};
use crate::shown::frame::on_to;

/// How long a page waits for an answer before it shows how far it is.
const AT_ONCE: Duration = Duration::from_secs(1);

/// What comes of asking.
pub enum AskOutcome<T> {
    /// The answer.
    Answer(Answer<T>),
    /// Not yet: seconds since it was asked.
    NotYet(u64),
}

fn key(who: &Who, question: &str, asks: &Asks) -> Key {
    (who.account.id, format!("{question} {asks:?}"))
}

/// One of the page's questions.
pub async fn ask(desk: &Arc<Desk>, who: &Who, question: &str, asks: &Asks) -> AskOutcome<Answered> {
    let key = key(who, question, asks);
    let (of, who, question, asks) = (Arc::clone(desk), who.clone(), question.to_owned(), asks.clone());
    come_to(&desk.questions, &key, async move { answered(&of, &who, &question, &asks).await }).await
}

/// The answer to a question, if it comes at once; else it goes on, and whoever asks the same again gets it.
pub async fn come_to<T: Send + Sync + 'static>(
    asking: &Asking<T>,
    key: &Key,
    answer: impl Future<Output = Result<T, Refusal>> + Send + 'static,
) -> AskOutcome<T> {
    let found = asking.find_or_begin(key, || Question::begin(answer));
    found.touch();
    let mut came = found.came();
    let answer = match tokio::time::timeout(AT_ONCE, came.wait_for(Option::is_some)).await {
        Ok(Ok(answer)) => answer.clone(),
        // Stopped meanwhile by another page.
        Ok(Err(_)) => Some(Err(Refusal::stale("The question was stopped."))),
        Err(_) => None,
    };
    let Some(answer) = answer else { return AskOutcome::NotYet(found.elapsed()) };
    asking.remove(key);
    AskOutcome::Answer(answer)
}

/// How a question stands, as it changes.
pub async fn live(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Path(question): Path<String>,
    Query(asks): Query<Asks>,
    place: Option<Extension<Place>>,
) -> impl IntoResponse {
    how_it_stands(desk.questions.find(&key(&who, &question, &asks)), place)
}

/// How a question stands, as it changes, until it is over.
pub fn how_it_stands<T: Send + Sync + 'static>(
    found: Option<Arc<Question<T>>>,
    place: Option<Extension<Place>>,
) -> impl IntoResponse + use<T> {
    if let Some(Extension(place)) = place {
        place.listens();
    }
    let mut over = false;
    let seen = IntervalStream::new(tokio::time::interval(TICK)).map_while(move |_| {
        if over {
            return None;
        }
        let running = found.as_ref().filter(|of| of.running());
        over = running.is_none();
        let seen = running.map_or_else(
            || json!({ "state": "over" }),
            |of| {
                of.touch();
                json!({ "state": "running", "elapsed": of.elapsed() })
            },
        );
        Some(Ok::<_, Infallible>(Event::default().data(seen.to_string())))
    });
    Sse::new(seen).keep_alive(KeepAlive::default())
}

/// Stops a question.
pub async fn stop(
    State(desk): State<Arc<Desk>>,
    Path(question): Path<String>,
    sent: Sent<Reads>,
) -> Result<Response, Refusal> {
    let Sent { who: Reads(who), fields } = sent;
    let of = |name: &str| fields.get(name).to_owned();
    let asks = Asks { job: of("job"), sooner: of("sooner"), rows: of("rows"), ..Asks::default() };
    if let Some(question) = desk.questions.remove(&key(&who, &question, &asks)) {
        question.stop();
    }
    Ok(on_to("/questions#stopped"))
}
