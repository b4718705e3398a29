//! Planning again in the background: one at a time, on one core, told as it goes, stopped at will. What comes of it is
//! laid beside the plan given out, and takes its place only when it is given out.

pub mod page;
pub mod went;

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::{Duration, Instant};

use schemars::JsonSchema;
use serde::Serialize;
use tokio::sync::watch;
use tokio_stream::wrappers::WatchStream;
use tokio_stream::{Stream, StreamExt};
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_check::check;
use yardless_edit::plan_file::{self, PlanFile};
use yardless_engine::{Limits, Progress};
use yardless_plan::shop::Shop;
use yardless_plan::{Plan, Rule};
use yardless_view::breach::{first, says};
use yardless_view::{Told, whole};

use super::desk::Desk;
use super::one_core::spawn;
use super::refusal::Refusal;
use crate::store::{Added, Kind};

/// Weeks of a plan that is made from a clean sheet.
const WEEKS: u32 = 6;

/// The planning under way, or what came of the last one.
pub struct Planning {
    state: Mutex<State>,
    seen: watch::Sender<Seen>,
    closing: watch::Sender<bool>,
}

#[derive(Default)]
struct State {
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
    whole: OnceLock<Told>,
}

impl Found {
    /// The plan as a whole, in words.
    pub fn whole(&self) -> &Told {
        self.whole.get_or_init(|| whole(&self.shop, &self.plan))
    }
}

/// What is asked for.
#[derive(Clone, Copy, Debug)]
pub struct Wanted {
    /// How long to search, 1 to 600 seconds.
    pub seconds: u64,
    /// From when on; `None`: now.
    pub now: Option<HalfDay>,
    /// How many weeks; `None`: as many as the plan given out has.
    pub weeks: Option<u32>,
    /// Whether the plan given out is left aside.
    pub afresh: bool,
}

impl Default for Planning {
    fn default() -> Self {
        let none = Seen { state: "none", ..Seen::default() };
        Self { state: Mutex::default(), seen: watch::Sender::new(none), closing: watch::Sender::new(false) }
    }
}

impl Planning {
    fn state(&self) -> MutexGuard<'_, State> {
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

/// Begins a planning.
pub fn begin(desk: &Arc<Desk>, wanted: Wanted) -> Result<u64, Refusal> {
    let standing = desk.book()?;
    let today = desk.now(&standing);
    let now = wanted.now.unwrap_or(today);
    if now < today {
        let says = format!("{now} is over: it is {today} now.");
        return Err(Refusal::input("usage::now", says, "Plan from now on, or from later."));
    }
    let given = standing.plan.as_ref().filter(|_| !wanted.afresh);
    let kept = given.map(|given| given.file.plan.clone());
    let weeks = wanted.weeks.or(kept.as_ref().map(|kept| kept.weeks)).unwrap_or(WEEKS);
    let monday = if kept.is_some() { Horizon::monday_of(now.date()) } else { Horizon::clean_from(now.date()) };
    let horizon = Horizon::new(monday, weeks)
        .map_err(|e| Refusal::input("usage::now", e.to_string(), "Give a half-day, as 2026-12-09 am."))?;
    let at = if kept.is_some() { horizon.index(now).unwrap_or(0) } else { 0 };
    let told = kept.as_ref().map(Plan::kept).unwrap_or_default();
    // What was noted of this half-day, while it lasts, is still the plan's to say.
    let shop = match given {
        Some(given) => {
            let then = given.file.before(&standing.book, horizon.half_day(at));
            standing.book.shop_of(&then, horizon, at, Some(&told))?
        }
        None => standing.book.shop_from(horizon, at, Some(&told))?,
    };
    let digest = standing.book.written.digest.clone();
    let from = standing.numbers();
    let mut limits = Limits::seconds(wanted.seconds as f64);
    limits.cancel = Arc::default();
    let number = {
        let mut state = desk.planning.state();
        if state.running.is_some() {
            let help = "Wait until it ends, or stop it.";
            return Err(Refusal::new(
                axum::http::StatusCode::CONFLICT,
                "web::planning",
                "A plan is being made already.",
                help,
            ));
        }
        if state.ended {
            return Err(Refusal::stale("The service is stopping."));
        }
        state.number += 1;
        state.found = None;
        state.running = Some(Running { cancel: Arc::clone(&limits.cancel) });
        state.number
    };
    let begins = Seen { state: "running", number, seconds: wanted.seconds, ..Seen::default() };
    desk.planning.seen.send_replace(begins.clone());
    let of = Arc::clone(desk);
    let held = desk.turns.planning();
    let started = spawn("planning", move || {
        let _held = held;
        let began = Instant::now();
        let mut tell = |progress: Progress| {
            of.planning.seen.send_replace(seen(&begins, progress, began.elapsed()));
        };
        let found = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| match &kept {
            Some(kept) => yardless_engine::replan(&shop, &digest, kept, &limits, &mut tell),
            None => yardless_engine::plan(&shop, &digest, &limits, &mut tell),
        }));
        let Ok(plan) = found else {
            of.planning.state().running = None;
            let says = "planning ended early; the cause is in the service's log".to_owned();
            of.planning.seen.send_replace(Seen { state: "failed", says, ..begins });
            return;
        };
        of.measures.planned(began.elapsed());
        ended(&of, Found { number, plan, shop, kept, from, whole: OnceLock::new() }, &begins, began.elapsed());
    });
    if started.is_err() {
        desk.planning.state().running = None;
        desk.planning.seen.send_modify(|seen| seen.state = "none");
    }
    started.map(|()| number)
}

/// Whatever comes is checked before anyone sees it.
fn ended(desk: &Desk, found: Found, begins: &Seen, took: Duration) {
    let breaches = check(&found.shop, &found.plan).breaches;
    let mut state = desk.planning.state();
    state.running = None;
    let last = seen(begins, Progress { cost: found.plan.cost, bound: found.plan.bound }, took);
    let last = if let Some(first) = first(&found.shop, &breaches) {
        let says = says(&found.shop, first);
        tracing::error!(rule = first.rule.text(), says, "the plan found does not hold, so it is not shown");
        Seen {
            state: "failed",
            says: "the plan found does not hold; please report it with the book".to_owned(),
            ..last
        }
    } else {
        let says = found.plan.stopped.clone();
        state.found = Some(Arc::new(found));
        Seen { state: "found", says, ..last }
    };
    desk.planning.seen.send_replace(last);
}

fn seen(begins: &Seen, progress: Progress, took: Duration) -> Seen {
    let Progress { cost, bound } = progress;
    let gap = bound.filter(|_| cost.0 > 0).map(|bound| {
        // To a tenth, never less than it is.
        ((cost - bound).0 as f64 / cost.0 as f64 * 1000.0).ceil() / 10.0
    });
    Seen {
        elapsed: took.as_secs(),
        cost: Some(cost.to_string()),
        bound: bound.map(|bound| bound.to_string()),
        gap,
        ..begins.clone()
    }
}

/// Gives the plan found by a planning out: from now on it is the kept plan.
pub fn give_out(desk: &Desk, who: &str, number: u64, form: Option<&str>) -> Result<i64, Refusal> {
    let found = desk.planning.found().filter(|found| found.number == number);
    let found = found.ok_or_else(|| Refusal::stale("That plan is not there any more."))?;
    let standing = desk.book()?;
    if standing.numbers().1 != found.from.1 {
        return Err(Refusal::stale("Another plan was given out meanwhile."));
    }
    if standing.revision.number != found.from.0 {
        // The book has changed since: does the plan hold for it as it is now?
        let (horizon, now) = (found.shop.horizon, found.shop.now);
        let told = found.kept.as_ref().map(Plan::kept).unwrap_or_default();
        let then = PlanFile { plan: found.plan.clone(), horizon }.before(&standing.book, horizon.half_day(now));
        let shop = standing.book.shop_of(&then, horizon, now, Some(&told))?;
        let mut breaches = check(&shop, &found.plan).breaches;
        breaches.retain(|breach| !matches!(breach.rule, Rule::Cost | Rule::Bound));
        if let Some(first) = first(&shop, &breaches) {
            return Err(Refusal::stale(format!(
                "The book has changed since, and the plan does not hold: {}.",
                says(&shop, first)
            )));
        }
    }
    let what = format!("Gave out a plan of ${}", found.plan.cost);
    let text = plan_file::json(&found.plan);
    let from = Some(found.from.1).filter(|number| *number > 0);
    match desk.store.add(Kind::Plan, from, who, &what, &text, form)? {
        Added::Kept(revision) => {
            desk.planning.forget(number);
            Ok(revision.number)
        }
        Added::Twice => Ok(desk.store.number(Kind::Plan)?),
        Added::Stale => Err(Refusal::stale("Another plan was given out meanwhile.")),
    }
}
