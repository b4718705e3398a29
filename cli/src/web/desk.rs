//! What every handler works at: the store, the book as it stands, the planning under way.

use std::path::PathBuf;
use std::sync::{Arc, PoisonError, RwLock};

use tokio::sync::Semaphore;
use yardless_solver::half_day::HalfDay;

use super::asking::Asking;
use super::measures::Measures;
use super::planning::Planning;
use super::refusal::Refusal;
use super::standing::Standing;
use super::throttle::Throttle;
use super::turns::Turns;
use crate::store::{Kind, Store};
use crate::trouble::Trouble;

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
    pub questions: Asking,
    standing: RwLock<Option<Arc<Standing>>>,
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
            standing: RwLock::new(None),
        }
    }

    /// The book and the plan as they stand; read anew where either has a newer revision, or a half-day has passed. `None`:
    /// no book yet.
    pub fn standing(&self) -> Result<Option<Arc<Standing>>, Trouble> {
        let (book, plan) = (self.store.number(Kind::Book)?, self.store.number(Kind::Plan)?);
        let known = self.standing.read().unwrap_or_else(PoisonError::into_inner).clone();
        if let Some(known) = known.filter(|known| known.numbers() == (book, plan) && known.now == self.now(known)) {
            return Ok(Some(known));
        }
        let read = Standing::read(&self.store, self.settings.now)?.map(Arc::new);
        self.standing.write().unwrap_or_else(PoisonError::into_inner).clone_from(&read);
        Ok(read)
    }

    /// The same where there must be a book.
    pub fn book(&self) -> Result<Arc<Standing>, Refusal> {
        self.standing()?.ok_or_else(Refusal::no_book)
    }

    /// The half-day now.
    pub fn now(&self, standing: &Standing) -> HalfDay {
        self.settings.now.unwrap_or_else(|| standing.book.half_day_now())
    }

    /// Does what reads, writes or reckons on a thread where it keeps no other request waiting.
    pub async fn work<T: Send + 'static>(
        self: &Arc<Self>,
        does: impl FnOnce(&Self) -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        let desk = Arc::clone(self);
        match tokio::task::spawn_blocking(move || does(&desk)).await {
            Ok(done) => done,
            Err(e) => Err(Refusal::ours("web::stopped", format!("the work on this request ended early: {e}"))),
        }
    }
}
