//! The book and the plan given out, as they stand: what every page is drawn from.

use std::path::Path;
use std::sync::OnceLock;

use serde_json::Value;
use yardless_solver::half_day::HalfDay;
use yardless_solver::plan::{Breach, Plan, check};
use yardless_solver::shop::{JobId, Shop};

use super::refusal::Refusal;
use crate::asked::Asked;
use crate::book_file::{self, BookFile};
use crate::plan_file::{self, PlanFile};
use crate::store::{Kind, Revision, Store};
use crate::trouble::Trouble;
use crate::view::{Told, whole};

/// What the book and the plan are called where a file would be named.
pub const BOOK: &str = "the book";
/// See [`BOOK`].
pub const PLAN: &str = "the plan given out";

/// A revision of the book, read, and the plan given out.
pub struct Standing {
    /// The book.
    pub book: BookFile,
    /// Its text as JSON, as it is written.
    pub value: Value,
    /// Its revision.
    pub revision: Revision,
    /// The plan given out.
    pub plan: Option<GivenOut>,
    drawn: OnceLock<Result<Drawn, Trouble>>,
}

/// The plan given out.
pub struct GivenOut {
    /// The plan.
    pub file: PlanFile,
    /// Its revision.
    pub revision: Revision,
}

/// The plan laid over the book as it is now.
pub struct Drawn {
    /// The book made ready for the plan's time.
    pub shop: Shop,
    /// The plan, with what it costs by this book.
    pub plan: Plan,
    /// What of it does not hold by the book as it is now; what only costs otherwise is none.
    pub breaches: Vec<Breach>,
    /// The jobs that came into the book since, and are not planned yet.
    pub unplanned: Vec<String>,
    /// It as a whole, in words.
    whole: OnceLock<Told>,
}

impl Standing {
    /// Reads the latest book and plan. `None`: there is no book yet.
    pub fn read(store: &Store) -> Result<Option<Self>, Trouble> {
        let Some((revision, text)) = store.latest(Kind::Book)? else { return Ok(None) };
        let book = book_file::of_bytes(BOOK.to_owned(), text.into_bytes())?;
        let value = serde_json::from_str(book.text()).unwrap_or_default();
        let plan = match store.latest(Kind::Plan)? {
            None => None,
            Some((revision, text)) => Some(GivenOut { file: plan_file::of_bytes(PLAN, text.as_bytes())?, revision }),
        };
        Ok(Some(Self { book, value, revision, plan, drawn: OnceLock::new() }))
    }

    /// The numbers of its book's and its plan's revision; 0: none.
    pub fn numbers(&self) -> (i64, i64) {
        (self.revision.number, self.plan.as_ref().map_or(0, |plan| plan.revision.number))
    }

    /// The plan given out, laid over the book; `None`: no plan was given out yet.
    pub fn drawn(&self) -> Result<Option<&Drawn>, Refusal> {
        let Some(GivenOut { file, .. }) = &self.plan else { return Ok(None) };
        match self.drawn.get_or_init(|| Drawn::new(&self.book, file)) {
            Ok(drawn) => Ok(Some(drawn)),
            Err(trouble) => Err(trouble.clone().into()),
        }
    }

    /// What a question is asked of: the plan given out from a half-day on.
    pub fn asked(&self, now: HalfDay) -> Result<Asked, Refusal> {
        let Some(given) = &self.plan else { return Err(Refusal::no_plan()) };
        let begins = given.file.plan.now.unwrap_or_else(|| given.file.horizon.half_day(0));
        Ok(Asked::new(self.book.clone(), given.file.clone(), Path::new(PLAN), Some(now.max(begins)))?)
    }
}

impl Drawn {
    /// A plan that was made from another text of the book has no bound any more.
    fn new(book: &BookFile, file: &PlanFile) -> Result<Self, Trouble> {
        let shop = file.shop(book, None)?;
        let mut plan = file.plan.clone();
        let verdict = check(&shop, &plan);
        plan.costs = verdict.costs;
        plan.cost = verdict.costs.total();
        if file.other_book(Path::new(PLAN), &book.written.digest).is_some() {
            (plan.bound, plan.proven) = (None, false);
            plan.stopped.clear();
        }
        let knows = |id: &str| {
            plan.steps.iter().any(|row| row.job == id)
                || plan.left_out.iter().any(|row| row.job == id)
                || plan.later.iter().any(|row| row.job == id)
        };
        let new: Vec<JobId> =
            shop.jobs.pairs().filter(|(_, job)| !job.over() && !knows(&job.id)).map(|(job, _)| job).collect();
        // A new job is not planned yet, and other prices make another cost: the crews' work stays as it is.
        let of_new = |breach: &Breach| breach.rule == "W1" && breach.about.jobs.iter().any(|job| new.contains(job));
        let counts = |breach: &Breach| !breach.rule.starts_with('C') && !["cost", "bound"].contains(&breach.rule);
        let breaches = verdict.breaches.into_iter().filter(|breach| counts(breach) && !of_new(breach)).collect();
        let unplanned = new.iter().map(|job| shop.jobs[*job].name.clone()).collect();
        Ok(Self { shop, plan, breaches, unplanned, whole: OnceLock::new() })
    }

    /// The plan as a whole, in words.
    pub fn whole(&self) -> &Told {
        self.whole.get_or_init(|| whole(&self.shop, &self.plan))
    }
}
