//! The planning under way and what came of the last one: one at a time, told as it goes, stopped at will.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::Duration;

use axum::http::StatusCode;
use schemars::JsonSchema;
use serde::Serialize;
use tokio::sync::watch;
use tokio_stream::wrappers::WatchStream;
use tokio_stream::{Stream, StreamExt};
use yardless_plan::shop::Shop;
use yardless_plan::{Assumed, Plan};
use yardless_view::{Told, whole};

use crate::refusal::Refusal;

/// The planning under way, or what came of the last one.
pub struct Planning {
    state: Mutex<PlanningState>,
    seen: watch::Sender<Seen>,
    closing: watch::Sender<bool>,
}

#[derive(Default)]
struct PlanningState {
    running: Option<Running>,
    found: Option<Arc<Found>>,
    number: u64,
    ended: bool,
}

struct Running {
    cancel: Arc<AtomicBool>,
}

/// How a planning stands, as it is told.
#[derive(Clone, Debug, Default, Serialize, JsonSchema)]
pub struct Seen {
    /// `none`, `running`, `found` or `failed`.
    pub state: &'static str,
    /// Which planning since the service began.
    pub number: u64,
    /// Seconds that it may take.
    pub seconds: u64,
    /// Seconds since it began.
    pub elapsed: u64,
    /// What the best plan costs, in dollars; none: no plan yet.
    pub cost: Option<String>,
    /// What no plan costs less than, in dollars; none: not known yet.
    pub bound: Option<String>,
    /// How far cost and bound are apart, in percent of the cost.
    pub gap: Option<f64>,
    /// Why it ended, or what failed.
    pub says: String,
}

/// A plan that was found and not given out yet.
pub struct Found {
    /// Which planning found it.
    pub number: u64,
    /// The plan.
    pub plan: Plan,
    /// The book made ready from the half-day on from which it was planned.
    pub shop: Shop,
    /// The plan given out, where there was one.
    pub kept: Option<Plan>,
    /// The revisions of book and plan that it was made from.
    pub from: (i64, i64),
    /// What of the plan given out it takes to have gone as planned, though nobody has noted it.
    pub assumed: Option<Assumed>,
    whole: OnceLock<Told>,
}

impl Found {
    /// What a planning found, from the revisions of book and plan that it was made from.
    pub fn new(
        number: u64,
        plan: Plan,
        shop: Shop,
        kept: Option<Plan>,
        from: (i64, i64),
        assumed: Option<Assumed>,
    ) -> Self {
        Self { number, plan, shop, kept, from, assumed, whole: OnceLock::new() }
    }
    /// The plan as a whole, in words.
    pub fn whole(&self) -> &Told {
        self.whole.get_or_init(|| whole(&self.shop, &self.plan))
    }
}

impl Default for Planning {
    fn default() -> Self {
        let none = Seen { state: "none", ..Seen::default() };
        Self { state: Mutex::default(), seen: watch::Sender::new(none), closing: watch::Sender::new(false) }
    }
}

impl Planning {
    fn state(&self) -> MutexGuard<'_, PlanningState> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
    /// How it stands now.
    pub fn seen(&self) -> Seen {
        self.seen.borrow().clone()
    }
    /// How it stands, whenever that changes, until the service stops.
    pub fn watch(&self) -> impl Stream<Item = Seen> + use<> {
        let closing = WatchStream::new(self.closing.subscribe()).filter(|closing| *closing).map(|_| None);
        WatchStream::new(self.seen.subscribe())
            .throttle(Duration::from_millis(250))
            .map(Some)
            .merge(closing)
            .take_while(Option::is_some)
            .filter_map(|seen| seen)
    }
    /// Takes the one place for a planning: its number.
    pub fn take(&self, cancel: &Arc<AtomicBool>) -> Result<u64, Refusal> {
        let mut state = self.state();
        if state.running.is_some() {
            let says = "A plan is being made already.";
            return Err(Refusal::new(StatusCode::CONFLICT, "web::planning", says, "Wait until it ends, or stop it."));
        }
        if state.ended {
            return Err(Refusal::stale("The service is stopping."));
        }
        state.number += 1;
        state.found = None;
        state.running = Some(Running { cancel: Arc::clone(cancel) });
        Ok(state.number)
    }
    /// Tells how it stands.
    pub fn tell(&self, seen: Seen) {
        self.seen.send_replace(seen);
    }
    /// It has ended, with a plan or without.
    pub fn ends(&self, found: Option<Found>, last: Seen) {
        let mut state = self.state();
        state.running = None;
        state.found = found.map(Arc::new);
        self.seen.send_replace(last);
    }
    /// It did not even begin.
    pub fn gives_up(&self) {
        self.state().running = None;
        self.seen.send_modify(|seen| seen.state = "none");
    }
    /// The plan found last, until it is given out or another planning begins.
    pub fn found(&self) -> Option<Arc<Found>> {
        self.state().found.clone()
    }
    /// Ends the planning under way with what it has.
    pub fn stop(&self) {
        if let Some(running) = &self.state().running {
            running.cancel.store(true, Ordering::Relaxed);
        }
    }
    /// Ends the planning under way, and lets no other begin.
    pub fn end(&self) {
        self.state().ended = true;
        self.stop();
        self.closing.send_replace(true);
    }
    /// Forgets a plan that was found.
    pub fn forget(&self, number: u64) {
        let mut state = self.state();
        if state.found.as_ref().is_some_and(|found| found.number == number) {
            state.found = None;
            self.seen.send_modify(|seen| seen.state = "none");
        }
    }
}
