//! A question's book and plan: the plan given out, from now on.

use std::path::Path;

use yardless_solver::answer::Given;
use yardless_solver::book::Job;
use yardless_solver::engine::Limits;
use yardless_solver::half_day::{HalfDay, Horizon};
use yardless_solver::plan::{Plan, forgotten};
use yardless_solver::shop::{JobId, Shop};

use crate::args::AskArgs;
use crate::book_file::{self, BookFile};
use crate::exit::Exit;
use crate::plan_file::{self, PlanFile};
use crate::trouble::{Trouble, did_you_mean};

/// What a question is asked of.
pub struct Asked {
    /// The book.
    pub file: BookFile,
    /// It made ready from now on, with what the plan says of steps.
    pub shop: Shop,
    kept: Plan,
    plan_name: String,
}

/// Reads the book and the plan given out.
pub fn read(book: &Path, args: &AskArgs) -> Result<Asked, Trouble> {
    let file = book_file::read(book)?;
    of(file, book, args)
}

/// The same of a book that has been read.
pub fn of(file: BookFile, book: &Path, args: &AskArgs) -> Result<Asked, Trouble> {
    let path = args.plan.clone().unwrap_or_else(|| book.with_file_name("plan.json"));
    let stored = plan_file::read(&path)?;
    let (horizon, now) = from_now(&file, &stored, args.now)?;
    let shop = file.shop_from(horizon, now, Some(&stored.plan.kept()))?;
    Ok(Asked { file, shop, kept: stored.plan, plan_name: path.display().to_string() })
}

impl Asked {
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
            let first = breaches.first().map_or(String::new(), |breach| format!(" ({})", breach.says));
            Trouble::One {
                exit: Exit::DoesNotHold,
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
    pub fn job(&self, asked: &str) -> Result<(JobId, &Job), Trouble> {
        let same = |name: &str| name.to_lowercase() == asked.to_lowercase();
        if let Some(id) = self.shop.jobs.find(|job| same(&job.id) || same(&job.name)) {
            let of_book = self.shop.book.jobs.iter().find(|job| job.id == self.shop.jobs[id].id);
            if let Some(job) = of_book {
                return Ok((id, job));
            }
        }
        let jobs = || self.shop.jobs.iter();
        let known: Vec<&str> = jobs().flat_map(|job| [job.id.as_str(), job.name.as_str()]).collect();
        let meant = did_you_mean(asked, known);
        let all: Vec<String> = jobs().map(|job| format!("`{}`", job.id)).collect();
        let says = format!("no job `{asked}`{meant}");
        Err(Trouble::input("ask::unknown-job", says, format!("the book has {}", all.join(", "))))
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

/// The limits of a question: seconds, or steps alone.
pub fn limits(seconds: Option<f64>, steps: Option<u64>, default: f64) -> Limits {
    match (seconds, steps) {
        (None, Some(steps)) => Limits::steps(steps),
        (seconds, steps) => Limits { steps, ..Limits::seconds(seconds.unwrap_or(default)) },
    }
}
