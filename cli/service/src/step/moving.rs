//! The plan with a step elsewhere: planned again with it fixed there, for a few seconds.

use std::sync::Arc;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};

use yardless_book::Path;
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_book::money::Cents;
use yardless_check::check;
use yardless_edit::edited;
use yardless_edit::spoken::{capital, fault_words};
use yardless_edit::trouble::Trouble;
use yardless_engine::{Limits, impossible};
use yardless_plan::Plan;
use yardless_plan::shop::Shop;
use yardless_view::breach::{first, says};
use yardless_view::half;

use crate::book::merge::edits;
use crate::desk::Desk;
use crate::desk::moved::{MoveOutcome, Moved};
use crate::desk::standing::{BOOK, Standing};
use crate::plan::making::from_now;
use crate::refusal::Refusal;
use crate::step::fixed::fixed;
use crate::step::planned::Planned;

/// How long it is searched, in seconds.
pub const MOVE: f64 = 5.0;
/// How long again where none was found.
const LONGER: f64 = 10.0;
/// What leaving its job out costs while it is searched: more than a plan does.
const NEVER: Cents = Cents(1_000_000_000);

/// Where a step is to be.
#[derive(Clone, Debug)]
pub struct Target {
    /// The job's id.
    pub job: String,
    /// The step's id.
    pub step: String,
    /// The half-day in which it is to begin.
    pub to: HalfDay,
    /// The crew that is to do it; `None`: whichever costs least.
    pub crew: Option<String>,
}

/// The plan with a step there, or why it cannot be there.
pub fn moved(desk: &Desk, target: &Target, cancel: &Arc<AtomicBool>) -> Result<MoveOutcome, Refusal> {
    let standing = desk.book()?;
    let now = desk.now(&standing);
    let given = standing.plan.as_ref().ok_or_else(Refusal::no_plan)?;
    may_move(&standing, target, now)?;
    let value = &standing.value;
    let wanted = fixed(value, (&target.job, &target.step), Some(target.to), target.crew.as_deref());
    let edits = edits(&Path::default(), value, &wanted);
    let book = match edited(BOOK, standing.book.text(), &edits) {
        Ok(book) => book.unwrap_or_else(|| standing.book.clone()),
        Err(trouble) => return cannot(trouble),
    };
    let kept = &given.file.plan;
    let horizon = Horizon::new(Horizon::monday_of(now.date()), kept.weeks)
        .map_err(|e| Refusal::input("usage::now", e.to_string(), "Plan again first."))?;
    let (shop, so_far, assumed) = match from_now(&book, &given.file, horizon, horizon.index(now).unwrap_or(0)) {
        Ok(ready) => ready,
        Err(trouble) => return cannot(trouble),
    };
    let mut plan = searched(&shop, &book.written.digest, kept, target, cancel)?;
    plan.so_far = so_far;
    if let Some(breach) = first(&shop, &check(&shop, &plan).breaches) {
        return Err(Refusal::ours("web::move", says(&shop, breach)));
    }
    if !is_there(&plan, target) {
        let none = || format!("None was found in {} s of search; nothing proves that there is none.", MOVE + LONGER);
        return Ok(MoveOutcome::Cannot(vec![why_not(&shop, target).unwrap_or_else(none)]));
    }
    let was = standing.asked(now).ok().and_then(|asked| asked.given().ok().map(|given| given.plan.cost));
    let extra = was.map(|was| plan.cost - was);
    let (kept, from, given) = (kept.clone(), standing.numbers(), OnceLock::new());
    let (of, to, crew) = ((target.job.clone(), target.step.clone()), target.to, target.crew.clone());
    Ok(MoveOutcome::Found(Arc::new(Moved { of, to, crew, edits, plan, shop, kept, extra, assumed, from, given })))
}

/// The best plan found in which the step's job is done; looked for longer where none is found at first.
fn searched(
    shop: &Shop,
    digest: &str,
    kept: &Plan,
    target: &Target,
    cancel: &Arc<AtomicBool>,
) -> Result<Plan, Refusal> {
    // Its job is not left out, whatever that costs.
    let mut book = shop.book.clone();
    book.jobs.iter_mut().filter(|job| job.id == target.job).for_each(|job| job.left_out = Some(NEVER));
    let Ok(search) = Shop::again(&book, shop.horizon, shop.now, Some(&kept.kept())) else {
        return Err(Refusal::ours("web::move", "the book has a fault with another price"));
    };
    let look = |seconds| {
        let limits = Limits { cancel: Arc::clone(cancel), ..Limits::seconds(seconds) };
        yardless_engine::replan(&search, digest, kept, &limits, &mut |_| {})
    };
    let mut plan = look(MOVE);
    if !is_there(&plan, target) && why_not(shop, target).is_none() && !cancel.load(Ordering::Relaxed) {
        plan = look(LONGER);
    }
    // It is judged by what things cost, and by that nothing is proven of it.
    plan.costs = check(shop, &plan).costs;
    plan.cost = plan.costs.total();
    (plan.bound, plan.proven) = (None, false);
    Ok(plan)
}

/// Refuses what no plan could do: a step that has begun, a half-day that is over or beyond the plan's weeks, a crew that
/// there is not.
fn may_move(standing: &Standing, target: &Target, now: HalfDay) -> Result<(), Refusal> {
    let planned = Planned::find(standing, &target.job, &target.step)?;
    let refused = |says: String, help: &str| Err(Refusal::input("web::move", says, help));
    if planned.step.started() {
        return refused(
            format!("{} is begun or done.", planned.name()),
            "Tell what is left of it, or that it is not begun.",
        );
    }
    if target.to < now {
        return refused(
            format!("{} is over: it is {} now.", half(target.to), half(now)),
            "Choose a half-day from now on.",
        );
    }
    let last = standing.plan.as_ref().map(|given| given.file.horizon.last_date());
    if last.is_some_and(|last| target.to.date() > last) {
        return refused(format!("{} is after the plan's weeks.", half(target.to)), "Choose a half-day within them.");
    }
    let crews = &standing.book.written.book.crews;
    match &target.crew {
        Some(crew) if !crews.iter().any(|of| of.id == *crew) => {
            refused(format!("The book has no crew `{crew}`."), "Choose one of those that are there.")
        }
        _ => Ok(()),
    }
}

/// That the book would have a fault is an answer: it cannot be so.
fn cannot(trouble: Trouble) -> Result<MoveOutcome, Refusal> {
    let Trouble::Faults(faulty) = &trouble else { return Err(trouble.into()) };
    let book = faulty.book();
    let says = faulty.faults.iter().map(|(fault, _)| fault_words(&[&book], fault).0);
    Ok(MoveOutcome::Cannot(says.map(|says| format!("{}.", capital(says.trim_end_matches('.')))).collect()))
}

/// Whether a plan has the step where it is to be.
fn is_there(plan: &Plan, target: &Target) -> bool {
    let row = plan.steps.iter().find(|row| row.job == target.job && row.step == target.step);
    row.is_some_and(|row| row.start == target.to)
}

/// Why no plan can do its job, as far as the book alone shows it.
fn why_not(shop: &Shop, target: &Target) -> Option<String> {
    shop.find_job(&target.job)
        .and_then(|job| impossible(shop, job))
        .map(|why| format!("No plan can: {}.", why.says_with(shop, half)))
}
