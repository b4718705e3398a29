//! A question's book and plan: the plan given out, from now on.

use std::path::Path;

use yardless_answer::Given;
use yardless_answer::forgotten;
use yardless_book::Job;
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_edit::assumed::Then;
use yardless_edit::book_file::{self, BookFile};
use yardless_edit::named;
use yardless_edit::plan_file::{self, PlanFile};
use yardless_edit::trouble::words::Called;
use yardless_edit::trouble::{Noun, OfPlan, OfQuestion, Trouble};
use yardless_plan::shop::Shop;
use yardless_plan::{Assumed, Plan};
use yardless_view::breach::{first, says};

use super::then;

/// What a question is asked of.
pub struct Asked {
    /// The book.
    pub file: BookFile,
    /// It made ready from now on, with what the plan says of steps.
    pub shop: Shop,
    /// What of the time before is taken to have gone as planned.
    pub assumed: Option<Assumed>,
    /// What a plan that is made of it keeps of the plan given out: what is assumed of that.
    pub so_far: Option<Box<Plan>>,
    stored: PlanFile,
    called: Called,
}

/// Reads the book and the plan given out, which is `plan.json` beside the book unless another is named.
pub fn read(book: &Path, plan: Option<&Path>, now: Option<HalfDay>) -> Result<Asked, Trouble> {
    let file = book_file::read(book)?;
    let path = plan.map_or_else(|| book.with_file_name("plan.json"), Path::to_owned);
    Asked::new(file, plan_file::read(&path)?, Called::File(path.display().to_string()), now)
}

impl Asked {
    /// A book and a plan that have been read, from now on: a half-day, else by the clock.
    pub fn new(file: BookFile, stored: PlanFile, called: Called, now: Option<HalfDay>) -> Result<Self, Trouble> {
        let (horizon, now) = from_now(&file, &stored, now)?;
        let as_of = horizon.half_day(now);
        let then = then(&file, &stored, &called, as_of)?;
        let so_far = then.so_far(&stored);
        let Then { book, assumed, .. } = then;
        // What was noted of this half-day, while it lasts, is still the plan's to say.
        let shop = file.shop_of(&stored.before(&book, as_of), horizon, now, Some(&stored.plan.kept()))?;
        Ok(Self { file, shop, assumed, so_far, stored, called })
    }

    /// The plan given out as it stands now; refused where it does not hold any more.
    pub fn given(&self) -> Result<Given<'_>, Trouble> {
        let kept = &self.stored.plan;
        let forgotten = forgotten(&self.shop, kept).count();
        if forgotten > 0 {
            let now = self.shop.horizon.half_day(self.shop.now);
            return Err(OfQuestion::NotBegun { plan: self.called.clone(), steps: forgotten, now }.into());
        }
        Given::new(&self.shop, &self.file.written.digest, kept).map_err(|breaches| {
            let first = first(&self.shop, &breaches).map(|breach| says(&self.shop, breach));
            OfQuestion::Breaks { plan: self.called.clone(), first }.into()
        })
    }

    /// A job of the book by its id or name.
    pub fn job(&self, asked: &str) -> Result<&Job, Trouble> {
        let all: Vec<(&str, &str)> = self.shop.jobs.iter().map(|job| (job.id.as_str(), job.name.as_str())).collect();
        // The shop's jobs are the book's, in its order.
        Ok(&self.shop.book.jobs[named::position(Noun::Job, asked, &all)?])
    }
}

/// The weeks of the plan from now's Monday on, and now's index: as given, else by the clock, else the plan's beginning.
fn from_now(file: &BookFile, stored: &PlanFile, asked: Option<HalfDay>) -> Result<(Horizon, usize), Trouble> {
    let begins = stored.plan.now.unwrap_or_else(|| stored.horizon.half_day(0));
    let clock = Some(file.half_day_now()).filter(|now| stored.horizon.index(*now).is_some() && *now >= begins);
    if let Some(now) = asked.filter(|now| *now < begins) {
        return Err(OfPlan::Before { now, first: begins }.into());
    }
    let now = asked.or(clock).unwrap_or(begins);
    let horizon = Horizon::new(Horizon::monday_of(now.date()), stored.plan.weeks)
        .map_err(|e| OfPlan::NoWeeks { why: e.to_string() })?;
    Ok((horizon, horizon.index(now).unwrap_or(0)))
}
