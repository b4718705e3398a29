//! Planning again in the background, on one core. What comes of it is laid beside the plan given out, and takes its place
//! only when it is given out.

use std::sync::Arc;
use std::time::{Duration, Instant};

use chrono::TimeDelta;
use yardless_ask::then;
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_check::check;
use yardless_edit::book_file::BookFile;
use yardless_edit::plan_file::{self, PlanFile};
use yardless_edit::trouble::Trouble;
use yardless_edit::trouble::words::Called;
use yardless_engine::{Limits, Progress};
use yardless_plan::shop::Shop;
use yardless_plan::{Assumed, Plan, Rule};
use yardless_view::breach::{first, says};

use crate::desk::Desk;
use crate::desk::planning::{Found, Seen};
use crate::desk::standing::GivenOut;
use crate::one_core::spawn;
use crate::refusal::Refusal;
use crate::store::{Added, Kind};

/// Weeks of a plan that is made from a clean sheet.
const WEEKS: u32 = 6;

/// A year that lies further ahead was typed wrong: nobody knows the weather, the roads or the jobs of then.
const AHEAD: TimeDelta = TimeDelta::days(3 * 366);

/// What is asked for.
#[derive(Clone, Copy, Debug)]
pub struct PlanningTerms {
    /// How long to search, 1 to 600 seconds.
    pub seconds: u64,
    /// From when on; `None`: now.
    pub now: Option<HalfDay>,
    /// How many weeks; `None`: as many as the plan given out has.
    pub weeks: Option<u32>,
    /// Whether the plan given out is left aside.
    pub afresh: bool,
}

impl PlanningTerms {
    /// From now on, as long as is usual, close to the plan given out.
    pub const fn usual() -> Self {
        Self { seconds: 20, now: None, weeks: None, afresh: false }
    }
}

/// The book made ready from a half-day of its plan on; what of that plan is taken to have gone as planned, as a plan keeps it
/// and as it is told.
pub type FromNow = (Shop, Option<Box<Plan>>, Option<Assumed>);

/// Makes a book ready for planning again close to the plan given out.
pub fn from_now(book: &BookFile, given: &PlanFile, horizon: Horizon, at: usize) -> Result<FromNow, Trouble> {
    let as_of = horizon.half_day(at);
    let then = then(book, given, &Called::GivenOut, as_of)?;
    // What was noted of this half-day, while it lasts, is still the plan's to say.
    let shop = book.shop_of(&given.before(&then.book, as_of), horizon, at, Some(&given.plan.kept()))?;
    let so_far = then.so_far(given);
    Ok((shop, so_far, then.assumed))
}

/// Begins a planning.
pub fn begin(desk: &Arc<Desk>, wanted: PlanningTerms) -> Result<u64, Refusal> {
    let standing = desk.book()?;
    let today = desk.now(&standing);
    let now = wanted.now.unwrap_or(today);
    if now < today {
        let says = format!("{now} is over: it is {today} now.");
        return Err(Refusal::input("usage::now", says, "Plan from now on, or from later.").at("date"));
    }
    if now.date() > today.date() + AHEAD {
        let says = format!("{now} lies more than three years ahead.");
        return Err(Refusal::input("usage::now", says, "Plan from a date within three years.").at("date"));
    }
    let given = standing.plan.as_ref().filter(|_| !wanted.afresh);
    let kept = given.map(|given| given.file.plan.clone());
    let weeks = wanted.weeks.or(kept.as_ref().map(|kept| kept.weeks)).unwrap_or(WEEKS);
    let monday = if kept.is_some() { Horizon::monday_of(now.date()) } else { Horizon::clean_from(now.date()) };
    let horizon = Horizon::new(monday, weeks)
        .map_err(|e| Refusal::input("usage::now", e.to_string(), "Choose another half-day to begin with."))?;
    let at = if kept.is_some() { horizon.index(now).unwrap_or(0) } else { 0 };
    let told = kept.as_ref().map(Plan::kept).unwrap_or_default();
    let (shop, so_far, assumed) = match given {
        Some(GivenOut { file, .. }) => from_now(&standing.book, file, horizon, at)?,
        None => (standing.book.shop_from(horizon, at, Some(&told))?, None, None),
    };
    let digest = standing.book.written.digest.clone();
    let from = standing.numbers();
    let mut limits = Limits::seconds(wanted.seconds as f64);
    limits.cancel = Arc::default();
    let number = desk.planning.take(&limits.cancel)?;
    let begins = Seen { state: "running", number, seconds: wanted.seconds, ..Seen::default() };
    desk.planning.tell(begins.clone());
    let of = Arc::clone(desk);
    let held = desk.turns.planning();
    let started = spawn("planning", move || {
        let _held = held;
        let began = Instant::now();
        let mut tell = |progress: Progress| of.planning.tell(seen(&begins, progress, began.elapsed()));
        let found = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| match &kept {
            Some(kept) => yardless_engine::replan(&shop, &digest, kept, &limits, &mut tell),
            None => yardless_engine::plan(&shop, &digest, &limits, &mut tell),
        }));
        let Ok(mut plan) = found else {
            let says = "planning ended early; the cause is in the service's log".to_owned();
            of.planning.ends(None, Seen { state: "failed", says, ..begins });
            return;
        };
        of.measures.planned(began.elapsed());
        plan.so_far = so_far;
        ended(&of, Found::new(number, plan, shop, kept, from, assumed), &begins, began.elapsed());
    });
    if started.is_err() {
        desk.planning.gives_up();
    }
    started.map(|()| number)
}

/// Whatever comes is checked before anyone sees it.
fn ended(desk: &Desk, found: Found, begins: &Seen, took: Duration) {
    let breaches = check(&found.shop, &found.plan).breaches;
    let last = seen(begins, Progress { cost: found.plan.cost, bound: found.plan.bound }, took);
    if let Some(first) = first(&found.shop, &breaches) {
        let says = says(&found.shop, first);
        tracing::error!(rule = first.rule.text(), says, "the plan found does not hold, so it is not shown");
        let says = "the plan found does not hold; please report it with the book".to_owned();
        desk.planning.ends(None, Seen { state: "failed", says, ..last });
    } else {
        let says = found.plan.stopped.clone();
        desk.planning.ends(Some(found), Seen { state: "found", says, ..last });
    }
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
