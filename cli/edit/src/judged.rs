//! A stored plan judged by the book as of now. What lies before is history (N1): what the book says has happened, and
//! else what the plan has; no storm of today breaks it.

use yardless_book::Step;
use yardless_book::half_day::HalfDay;
use yardless_check::fact::Touched;
use yardless_check::{Breach, check};
use yardless_plan::shop::{KeptStep, Shop};
use yardless_plan::{Assumed, Costs, Plan, StepRow, read, write};

use crate::book_file::{self, BookFile};
use crate::edited;
use crate::note;
use crate::plan_file::PlanFile;
use crate::trouble::{OfBook, Trouble};

/// What a plan is by the book as of now.
pub struct Judged {
    /// What does not hold from now on, and what the plan says wrongly of its cost.
    pub breaches: Vec<Breach>,
    /// The shop whose ids they name.
    pub by: Shop,
    /// What all of the plan costs.
    pub costs: Costs,
    /// The half-day from which on it was judged.
    pub now: HalfDay,
    /// The book with what is taken to have happened before, and what of the plan is left; `None`: nothing lies before.
    pub then: Option<(BookFile, PlanFile)>,
    /// What is taken to have gone as planned before, though the book does not say so.
    pub assumed: Option<Assumed>,
    /// Why what lies before cannot be taken as history, so that all of the plan is judged.
    pub no_history: Option<Trouble>,
}

impl Judged {
    /// The rows of the plan that something is about which does not hold; `stored` is the plan that was judged.
    pub fn broken(&self, stored: &Plan) -> Touched {
        let plan = self.then.as_ref().map_or(stored, |(_, rest)| &rest.plan);
        Touched::by(self.breaches.iter().map(|breach| &breach.fact), &self.by, plan)
    }
}

/// Judges a plan: as of a half-day, else by the clock while the plan lasts, else from its beginning. `kept`: the plan given
/// out before it, where it is known.
pub fn judge(
    file: &BookFile,
    stored: &PlanFile,
    kept: Option<&[KeptStep]>,
    now: Option<HalfDay>,
) -> Result<Judged, Trouble> {
    let now = stored.now(file, now)?;
    since(file, stored, kept, (now, now))
}

/// Judges a plan as it was given out: all before a half-day is taken to have gone as planned, whatever was said of it.
pub fn as_given(file: &BookFile, stored: &PlanFile, now: HalfDay) -> Result<Judged, Trouble> {
    let begins = stored.begins();
    let now = now.min(stored.horizon.half_day(stored.horizon.len() - 1)).max(begins);
    since(file, stored, None, (begins, now))
}

/// What the book says of the time before `since` counts, and of the time from then to `now` what the plan says.
fn since(
    file: &BookFile,
    stored: &PlanFile,
    kept: Option<&[KeptStep]>,
    (since, now): (HalfDay, HalfDay),
) -> Result<Judged, Trouble> {
    let by = stored.shop(file, kept)?;
    let whole = check(&by, &stored.plan);
    let costs = whole.costs;
    if now <= stored.begins() {
        return Ok(Judged { breaches: whole.breaches, by, costs, now, then: None, assumed: None, no_history: None });
    }
    let (then, shop, assumed) = match history(file, stored, since, now) {
        Ok(found) => found,
        Err(why) => {
            let no_history = Some(why);
            return Ok(Judged { breaches: whole.breaches, by, costs, now, then: None, assumed: None, no_history });
        }
    };
    let of_cost = |breach: &Breach| breach.of_cost();
    let rest = PlanFile { plan: rest(&shop, &stored.plan), horizon: stored.horizon };
    let from_now = check(&shop, &rest.plan);
    let mut breaches: Vec<Breach> = from_now.breaches.into_iter().filter(|breach| !of_cost(breach)).collect();
    breaches.extend(whole.breaches.into_iter().filter(of_cost));
    Ok(Judged { breaches, by: shop, costs, now, then: Some((then, rest)), assumed, no_history: None })
}

/// The book as of now, made ready for the plan's weeks, and what of it is taken to have gone as planned.
fn history(
    file: &BookFile,
    stored: &PlanFile,
    since: HalfDay,
    now: HalfDay,
) -> Result<(BookFile, Shop, Option<Assumed>), Trouble> {
    let known = serde_json::to_vec(&stored.before(file, since));
    let known = known.map_err(|e| OfBook::NoHistory { why: e.to_string() })?;
    let known = book_file::of_bytes(file.name().to_owned(), known)?;
    let changes = note::as_planned(&known, stored, now)?;
    let then = edited(known.name(), known.text(), &changes.edits)?.unwrap_or(known);
    let at = stored.horizon.index(now).unwrap_or(0);
    let shop = then.shop_of(&then.written.book, stored.horizon, at, Some(&[]))?;
    let steps: Vec<String> = changes.steps().cloned().collect();
    Ok((then, shop, (!steps.is_empty()).then_some(Assumed { until: now, steps })))
}

/// The plan from the shop's now on: its own rows, but for steps that have begun, which are as the book has them.
fn rest(shop: &Shop, plan: &Plan) -> Plan {
    let now = shop.horizon.half_day(shop.now);
    let known = write(shop, &plan.book_digest, &read(shop, plan), |_| String::new());
    let of = |row: &StepRow| {
        let job = shop.book.jobs.iter().find(|job| job.id == row.job)?;
        job.steps.iter().find(|step| step.id == row.step)
    };
    let begun = |row: &&StepRow| of(row).is_some_and(Step::started);
    let over = |job: &str| shop.jobs.iter().any(|of| of.id == job && of.over());
    let started = |job: &str| shop.jobs.iter().any(|of| of.id == job && of.started);
    let mut rest = plan.clone();
    rest.now = Some(now);
    rest.steps = plan.steps.iter().filter(|row| !begun(row)).chain(known.steps.iter().filter(begun)).cloned().collect();
    // A step that the plan has no more time for is still in it, so that what is told is that.
    let lost: Vec<StepRow> = plan
        .steps
        .iter()
        .filter(|row| of(row).is_some_and(|step| step.progress.is_some()))
        .filter(|row| !rest.steps.iter().any(|of| of.job == row.job && of.step == row.step))
        .cloned()
        .collect();
    rest.steps.extend(lost);
    rest.parked.retain(|row| !over(&row.job) && !started(&row.job));
    rest.parked.extend(known.parked.into_iter().filter(|row| started(&row.job) && !over(&row.job)));
    rest.left_out.retain(|row| !over(&row.job));
    rest.later.retain(|row| !over(&row.job));
    // What has begun since is later no more.
    rest.later.retain_mut(|row| {
        let whole = row.steps.is_empty();
        let job = shop.book.jobs.iter().find(|job| job.id == row.job);
        let begun = |id: &String| job.is_some_and(|job| job.steps.iter().any(|step| step.id == *id && step.started()));
        row.steps.retain(|step| !begun(step));
        whole || !row.steps.is_empty()
    });
    rest.hauls.retain(|haul| haul.at >= now);
    rest
}
