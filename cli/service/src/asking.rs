//! Questions that take long, asked on a page: each goes on in the background, is told as it goes and stopped at will, and
//! ends by itself once nobody looks any more.

use std::collections::BTreeMap;
use std::convert::Infallible;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use axum::Extension;
use axum::extract::{Path, Query, State};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use serde_json::json;
use tokio::sync::watch;
use tokio::task::AbortHandle;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::IntervalStream;
use yardless_ask::Answered;

use super::desk::Desk;
use super::page::on_to;
use super::questions::{Asks, answered};
use super::refusal::Refusal;
use super::room::Place;
use super::sent::Sent;
use super::who::{Reads, Who};

/// How long a page waits for an answer before it shows how far it is.
const AT_ONCE: Duration = Duration::from_secs(1);
/// How often that is told, and looked whether anybody still asks.
const TICK: Duration = Duration::from_millis(500);
/// Without a page that asks for so long, a question ends, and an answer that nobody fetched is forgotten.
const LEFT: Duration = Duration::from_secs(15);

/// The questions under way.
#[derive(Default)]
pub struct Asking(Mutex<BTreeMap<Key, Arc<Question>>>);

/// Whose it is, and what it asks.
type Key = (i64, String);

struct Question {
    began: Instant,
    asked: Mutex<Instant>,
    came: watch::Receiver<Option<Result<Arc<Answered>, Refusal>>>,
    task: Mutex<Option<AbortHandle>>,
}

/// What comes of asking.
pub enum Came {
    /// The answer.
    Answer(Result<Arc<Answered>, Refusal>),
    /// Not yet: seconds since it was asked.
    NotYet(u64),
}

fn locked<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

fn key(who: &Who, question: &str, asks: &Asks) -> Key {
    (who.account.id, format!("{question} {asks:?}"))
}

impl Question {
    fn touch(&self) {
        *locked(&self.asked) = Instant::now();
    }
    fn stopped(&self) -> bool {
        self.came.borrow().is_none() && self.came.has_changed().is_err()
    }
    fn running(&self) -> bool {
        self.came.borrow().is_none() && !self.stopped()
    }
    fn left(&self) -> bool {
        locked(&self.asked).elapsed() > LEFT
    }
    fn stop(&self) {
        if let Some(task) = &*locked(&self.task) {
            task.abort();
        }
    }
}

/// The answer to a question, if it comes at once; else it goes on, and whoever asks the same again gets it.
pub async fn ask(desk: &Arc<Desk>, who: &Who, question: &str, asks: &Asks) -> Came {
    let key = key(who, question, asks);
    let found = {
        let mut all = locked(&desk.questions.0);
        all.retain(|_, of| !of.stopped() && (of.running() || !of.left()));
        Arc::clone(all.entry(key.clone()).or_insert_with(|| begin(desk, who, question, asks)))
    };
    found.touch();
    let mut came = found.came.clone();
    let answer = match tokio::time::timeout(AT_ONCE, came.wait_for(Option::is_some)).await {
        Ok(Ok(answer)) => answer.clone(),
        // Stopped meanwhile by another page.
        Ok(Err(_)) => Some(Err(Refusal::stale("The question was stopped."))),
        Err(_) => None,
    };
    let Some(answer) = answer else { return Came::NotYet(found.began.elapsed().as_secs()) };
    locked(&desk.questions.0).remove(&key);
    Came::Answer(answer)
}

fn begin(desk: &Arc<Desk>, who: &Who, question: &str, asks: &Asks) -> Arc<Question> {
    let (tell, came) = watch::channel(None);
    let now = Instant::now();
    let new = Arc::new(Question { began: now, asked: Mutex::new(now), came, task: Mutex::default() });
    let (desk, who, of) = (Arc::clone(desk), who.clone(), Arc::downgrade(&new));
    let (question, asks) = (question.to_owned(), asks.clone());
    let task = tokio::spawn(async move {
        let answer = answered(&desk, &who, &question, &asks);
        tokio::pin!(answer);
        loop {
            tokio::select! {
                answer = &mut answer => {
                    tell.send_replace(Some(answer.map(Arc::new)));
                    return;
                }
                () = tokio::time::sleep(TICK) => {
                    // Nobody looks any more: what is not waited for ends.
                    if of.upgrade().is_none_or(|of| of.left()) {
                        return;
                    }
                }
            }
        }
    });
    *locked(&new.task) = Some(task.abort_handle());
    new
}

/// How a question stands, as it changes.
pub async fn live(
    State(desk): State<Arc<Desk>>,
    Reads(who): Reads,
    Path(question): Path<String>,
    Query(asks): Query<Asks>,
    place: Option<Extension<Place>>,
) -> impl IntoResponse {
    if let Some(Extension(place)) = place {
        place.listens();
    }
    let found = locked(&desk.questions.0).get(&key(&who, &question, &asks)).cloned();
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
                json!({ "state": "running", "elapsed": of.began.elapsed().as_secs() })
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
    if let Some(question) = locked(&desk.questions.0).remove(&key(&who, &question, &asks)) {
        question.stop();
    }
    Ok(on_to("/questions#stopped"))
}
