//! A question's book and plan: the plan given out, from now on.

use std::path::Path;

use yardless_answer::Given;
use yardless_answer::forgotten;
use yardless_book::Job;
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_edit::book_file::{self, BookFile};
use yardless_edit::named;
use yardless_edit::plan_file::{self, PlanFile};
use yardless_edit::trouble::{Cause, Trouble};
use yardless_plan::Plan;
use yardless_plan::shop::Shop;
use yardless_view::breach::{first, says};

/// What a question is asked of.
pub struct Asked {
    /// The book.
    pub file: BookFile,
    /// It made ready from now on, with what the plan says of steps.
    pub shop: Shop,
    kept: Plan,
    plan_name: String,
}

/// Reads the book and the plan given out, which is `plan.json` beside the book unless another is named.
pub fn read(book: &Path, plan: Option<&Path>, now: Option<HalfDay>) -> Result<Asked, Trouble> {
    let file = book_file::read(book)?;
    let path = plan.map_or_else(|| book.with_file_name("plan.json"), Path::to_owned);
    Asked::new(file, plan_file::read(&path)?, &path, now)
}

impl Asked {
    /// A book and a plan that have been read, from now on: a half-day, else by the clock.
    pub fn new(file: BookFile, stored: PlanFile, path: &Path, now: Option<HalfDay>) -> Result<Self, Trouble> {
        let (horizon, now) = from_now(&file, &stored, now)?;
        // What was noted of this half-day, while it lasts, is still the plan's to say.
        let then = stored.before(&file, horizon.half_day(now));
        let shop = file.shop_of(&then, horizon, now, Some(&stored.plan.kept()))?;
        Ok(Self { file, shop, kept: stored.plan, plan_name: path.display().to_string() })
    }

    /// The plan given out as it stands now; refused where it does not hold any more.
    pub fn given(&self) -> Result<Given<'_>, Trouble> {
        let forgotten = forgotten(&self.shop, &self.kept).count();
        if forgotten > 0 {
            let now = self.shop.horizon.half_day(self.shop.now);
            return Err(Trouble::input(
                "plan::not-noted",
                format!(
                    "{forgotten} steps of `{}` were to have begun before {now}, and the book does not say that they have",
                    self.plan_name
                ),
                format!(
                    "`yardless note --until \"{now}\"` says that all went as planned, `yardless note JOB/STEP ...` what did not"
                ),
            ));
        }
        Given::new(&self.shop, &self.file.written.digest, &self.kept).map_err(|breaches| {
            let first = first(&self.shop, &breaches);
            let first = first.map_or(String::new(), |breach| format!(" ({})", says(&self.shop, breach)));
            Trouble::One {
                cause: Cause::DoesNotHold,
                code: "plan::breach",
                says: format!(
                    "the plan `{}` does not hold by the book as it is now{first}, so nothing is answered from it",
                    self.plan_name
                ),
                help: "note what has happened (`yardless note`), then `yardless replan --out PLAN`".to_owned(),
            }
        })
    }

    /// A job of the book by its id or name.
    pub fn job(&self, asked: &str) -> Result<&Job, Trouble> {
        let all: Vec<(&str, &str)> = self.shop.jobs.iter().map(|job| (job.id.as_str(), job.name.as_str())).collect();
        // The shop's jobs are the book's, in its order.
        Ok(&self.shop.book.jobs[named::position(("ask::unknown-job", "job", ""), asked, &all)?])
    }
}

/// The weeks of the plan from now's Monday on, and now's index: as given, else by the clock, else the plan's beginning.
fn from_now(file: &BookFile, stored: &PlanFile, asked: Option<HalfDay>) -> Result<(Horizon, usize), Trouble> {
    let begins = stored.plan.now.unwrap_or_else(|| stored.horizon.half_day(0));
    let clock = Some(file.half_day_now()).filter(|now| stored.horizon.index(*now).is_some() && *now >= begins);
    if let Some(now) = asked.filter(|now| *now < begins) {
        let says = format!("{now} is before the plan begins, {begins}");
        return Err(Trouble::input("usage::now", says, "give --now a half-day of the plan, or leave it away"));
    }
    let now = asked.or(clock).unwrap_or(begins);
    let horizon = Horizon::new(Horizon::monday_of(now.date()), stored.plan.weeks)
        .map_err(|e| Trouble::input("usage::now", e.to_string(), "give --now a half-day, as \"2026-12-09 am\""))?;
    Ok((horizon, horizon.index(now).unwrap_or(0)))
}
