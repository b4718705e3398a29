//! What every handler works at: the store, the book as it stands, the planning under way.

pub mod asking;
pub mod measures;
pub mod moved;
pub mod planning;
pub mod queue;
pub mod shelf;
pub mod standing;
pub mod turns;
pub mod under_way;
pub mod weighed;
pub mod wish;

use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use axum::body::Body;
use axum::http::HeaderMap;
use axum::http::header::{CONTENT_LENGTH, TRANSFER_ENCODING};
use serde_json::Value;
use tokio::sync::Semaphore;
use tokio::task::spawn_blocking;
use tokio::time::timeout;
use tokio_stream::StreamExt;
use yardless_answer::matters::Weighing;
use yardless_ask::Answered;
use yardless_book::half_day::HalfDay;

use crate::gate::throttle::Throttle;
use crate::refusal::Refusal;
use crate::store::{Kind, Store};
use asking::Asking;
use measures::Measures;
use moved::{MoveOutcome, Moved};
use planning::Planning;
use queue::{Permit, Queue};
use shelf::Shelf;
use standing::Standing;
use turns::Turns;
use weighed::Weighed;
use wish::Wish;

/// What the command line decides.
#[derive(Clone, Debug, Default)]
pub struct Settings {
    /// The half-day it is taken to be; `None`: by the shop's clock.
    pub now: Option<HalfDay>,
    /// Whether a server with TLS stands in front.
    pub proxied: bool,
    /// The book's file that may be taken over while there is none in the database.
    pub beside: Option<PathBuf>,
}

/// Wishes, readings of alerts, and plans with a step elsewhere, that are kept of one account.
const WISHES: usize = 16;
const READINGS: usize = 4;
const PLANS: usize = 4;
/// Bytes of a request that is read where it comes in.
const SMALL: usize = 128 * 1024;
/// Places for what reads, and how many wait for one, for how long.
const READING: (usize, usize, Duration) = (8, 400, Duration::from_secs(10));
/// One changes the book at a time, as one writes into the database.
const CHANGING: (usize, usize, Duration) = (1, 16, Duration::from_secs(8));
/// Large requests are taken in and read two at a time: each can take many times its size in memory.
const LARGE: (usize, usize, Duration) = (2, 8, Duration::from_secs(8));
/// How long a body is let go by.
const LET_BY: Duration = Duration::from_secs(10);
/// Programs that ask whether it is well, and how long they are kept waiting.
const PROBING: (usize, usize, Duration) = (2, 64, SOON);
const SOON: Duration = Duration::from_secs(3);

/// The service's state.
pub struct Desk {
    /// The file.
    pub store: Store,
    /// What the command line decided.
    pub settings: Settings,
    /// The planning under way, or what came of it.
    pub planning: Planning,
    /// Who asks too much.
    pub throttle: Throttle,
    /// What is counted.
    pub measures: Measures,
    /// Passwords are hashed one at a time: each takes 19 MiB.
    pub hashing: Arc<Semaphore>,
    /// Whose question is answered next.
    pub turns: Turns,
    /// Questions that pages wait for.
    pub questions: Asking<Answered>,
    /// Moves of steps that pages wait for.
    pub moves: Asking<MoveOutcome>,
    /// Those that are to be decided on.
    pub moved: Shelf<Moved>,
    /// Plans to choose between that pages wait for.
    pub matters: Asking<Weighing>,
    /// Those that were looked for last.
    pub weighed: Weighed,
    /// Wishes of callers, until a date is taken for them.
    pub wishes: Shelf<Wish>,
    /// Entries of alerts that were read, until some are accepted.
    pub alerts: Shelf<Vec<Value>>,
    reading: Queue,
    changing: Queue,
    large: Queue,
    probing: Queue,
    known: Mutex<Known>,
    keeping: Mutex<()>,
}

/// Book and plan at their revisions, or why the book does not read.
#[derive(Clone, Default)]
struct Known {
    numbers: (i64, i64),
    standing: Option<Result<Arc<Standing>, Refusal>>,
}

impl Desk {
    /// A desk over an open store.
    pub fn new(store: Store, settings: Settings) -> Self {
        Self {
            store,
            settings,
            planning: Planning::default(),
            throttle: Throttle::default(),
            measures: Measures::default(),
            hashing: Arc::new(Semaphore::new(1)),
            turns: Turns::default(),
            questions: Asking::default(),
            moves: Asking::default(),
            moved: Shelf::for_each(PLANS),
            matters: Asking::default(),
            weighed: Weighed::default(),
            wishes: Shelf::for_each(WISHES),
            alerts: Shelf::for_each(READINGS),
            reading: Queue::new(READING.0, READING.1, READING.2),
            changing: Queue::new(CHANGING.0, CHANGING.1, CHANGING.2),
            large: Queue::new(LARGE.0, LARGE.1, LARGE.2),
            probing: Queue::new(PROBING.0, PROBING.1, PROBING.2),
            known: Mutex::default(),
            keeping: Mutex::default(),
        }
    }

    /// The book and the plan as they stand; read anew where either has a newer revision, or a half-day has passed. `None`:
    /// no book yet.
    pub fn standing(&self) -> Result<Option<Arc<Standing>>, Refusal> {
        let numbers = || Ok::<_, Refusal>((self.store.number(Kind::Book)?, self.store.number(Kind::Plan)?));
        let current = |of: &Result<Arc<Standing>, Refusal>| of.as_ref().map_or(true, |of| of.now == self.now(of));
        let stands = |known: &Known, numbers| known.numbers == numbers && known.standing.as_ref().is_some_and(current);
        let latest = numbers()?;
        let known = self.known().clone();
        if stands(&known, latest) {
            return known.standing.transpose();
        }
        // What is just being kept is told in a moment, and whoever comes while it is read waits for that, instead of
        // reading it again.
        let _kept = self.keeping();
        let numbers = numbers()?;
        let mut known = self.known();
        if !stands(&known, numbers) {
            let read = match Standing::read(&self.store, self.settings.now)? {
                None => return Ok(None),
                Some(Ok(standing)) => (standing.numbers(), Ok(Arc::new(standing))),
                Some(Err(refusal)) => (numbers, Err(refusal)),
            };
            *known = Known { numbers: read.0, standing: Some(read.1) };
        }
        known.standing.clone().transpose()
    }

    /// The book that was read last, without waiting for anybody.
    pub fn known_if_any(&self) -> Option<Arc<Standing>> {
        self.known.try_lock().ok()?.standing.clone()?.ok()
    }

    fn known(&self) -> MutexGuard<'_, Known> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Held while something is kept, until [`Desk::stands`] has told: it is seen in the store before that.
    pub fn keeping(&self) -> MutexGuard<'_, ()> {
        self.keeping.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What was just kept, so that nobody has to read it again.
    pub fn stands(&self, standing: Standing) {
        *self.known() = Known { numbers: standing.numbers(), standing: Some(Ok(Arc::new(standing))) };
    }

    /// The same where a page goes on without a book, or with one that does not read.
    pub fn standing_if_any(&self) -> Option<Arc<Standing>> {
        self.standing().ok().flatten()
    }

    /// The same where there must be a book.
    pub fn book(&self) -> Result<Arc<Standing>, Refusal> {
        self.standing()?.ok_or_else(Refusal::no_book)
    }

    /// Whether it can serve; else why not, in words.
    pub async fn is_well(self: &Arc<Self>) -> Result<(), String> {
        let desk = Arc::clone(self);
        let probe = async {
            let turn = self.probing.turn().await.ok()?;
            let asked = spawn_blocking(move || {
                let _turn = turn;
                let standing = desk.standing()?;
                standing.and_then(|of| of.unread().cloned()).map_or(Ok(()), Err)
            });
            asked.await.ok()
        };
        match timeout(SOON, probe).await {
            Ok(Some(Ok(()))) => Ok(()),
            Ok(Some(Err(refusal))) if refusal.to_changes => Err(refusal.problem.detail.clone()),
            Ok(Some(Err(_))) => Err("the database cannot be read".to_owned()),
            Ok(None) | Err(_) => Err(format!("the database was not read within {} s", SOON.as_secs())),
        }
    }

    /// The half-day now.
    pub fn now(&self, standing: &Standing) -> HalfDay {
        self.settings.now.unwrap_or_else(|| standing.book.half_day_now())
    }

    /// Does what reads or reckons on a thread where it keeps no other request waiting.
    pub async fn work<T: Send + 'static>(
        self: &Arc<Self>,
        does: impl FnOnce(&Self) -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        let turn = self.reading.turn().await?;
        self.with((turn, None), does).await
    }

    /// Does what may change something, one after the other. Refused before it begins, it has changed nothing.
    pub async fn change<T: Send + 'static>(
        self: &Arc<Self>,
        does: impl FnOnce(&Self) -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        let turn = self.changing.turn().await?;
        self.with((turn, under_way::begins()), does).await
    }

    /// Reads what was sent, so many bytes of it; much of it where it keeps no other request waiting.
    pub async fn read<T: Send + 'static>(
        self: &Arc<Self>,
        bytes: usize,
        does: impl FnOnce() -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        if bytes <= SMALL {
            return does();
        }
        spawn_blocking(does).await.unwrap_or_else(|e| Err(Refusal::ours("web::stopped", e)))
    }

    /// Waits for a turn where much is going to be sent; who sends little, or may send no more (`most` bytes), needs none.
    /// The body, to be read.
    pub async fn makes_room(&self, head: &HeaderMap, body: Body, most: usize) -> Result<Body, Refusal> {
        let long = head.get(CONTENT_LENGTH).map(|long| long.to_str().ok().and_then(|long| long.parse::<usize>().ok()));
        let is_small = match long {
            Some(long) => long.is_some_and(|long| long <= SMALL),
            None => !head.contains_key(TRANSFER_ENCODING),
        };
        if is_small || most <= SMALL {
            return Ok(body);
        }
        match self.large.turn().await {
            Ok(turn) => under_way::is_large(turn),
            Err(refusal) => {
                // Many hear what is answered only when they have sent all: it is let go by.
                let mut parts = body.into_data_stream();
                let _ = timeout(LET_BY, async { while let Some(Ok(_)) = parts.next().await {} }).await;
                return Err(refusal);
            }
        }
        Ok(body)
    }

    async fn with<T: Send + 'static>(
        self: &Arc<Self>,
        turns: (Permit, Option<Permit>),
        does: impl FnOnce(&Self) -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        let desk = Arc::clone(self);
        let work = move || {
            // The turns go with the work, also where whoever asked has gone away.
            let _turns = turns;
            does(&desk)
        };
        let done = spawn_blocking(work).await;
        done.unwrap_or_else(|e| {
            Err(Refusal::ours("web::stopped", format!("the work on this request ended early: {e}")))
        })
    }
}
