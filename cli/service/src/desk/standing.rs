//! The book and the plan given out, as they stand: what every page is drawn from.

use std::collections::HashSet;
use std::sync::OnceLock;

use serde_json::Value;
use yardless_ask::asked::Asked;
use yardless_book::Code;
use yardless_book::half_day::HalfDay;
use yardless_check::Breach;
use yardless_check::fact::Touched;
use yardless_edit::book_file::{self, BookFile};
use yardless_edit::judged::as_given;
use yardless_edit::note::Kept;
use yardless_edit::plan_file::{self, PlanFile};
use yardless_edit::trouble::words::Called;
use yardless_edit::trouble::{Faulty, Trouble};
use yardless_edit::{Edit, edited};
use yardless_plan::shop::{JobFacts, JobId, Shop};
use yardless_plan::{Plan, Rule};
use yardless_view::breach::in_order;
use yardless_view::{Told, not_planned, whole};

use crate::refusal::Refusal;
use crate::store::{Kind, Revision, Store};

/// What the book is called where a file would be named.
pub const BOOK: &str = "the book";

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
    /// The half-day as of which they stand.
    pub now: HalfDay,
    /// The plan given out where it does not read: its number, and why.
    unread: Option<(i64, Refusal)>,
    drawn: OnceLock<Result<Drawn, Trouble>>,
}

/// The plan given out.
#[derive(Clone)]
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
    /// The shop whose ids they name.
    pub by: Shop,
    /// The rows that they are about.
    pub broken: Touched,
    /// The jobs that came into the book since, and are not planned yet.
    pub unplanned: Vec<String>,
    /// Steps that are fixed to half-days in which they cannot begin any more, a sentence each.
    pub unkept: Vec<String>,
    /// It as a whole, in words.
    whole: OnceLock<Told>,
}

impl Standing {
    /// Reads the latest book and plan, as of a half-day, else by the clock; why not, where the book does not read. `None`:
    /// there is no book yet.
    pub fn read(store: &Store, now: Option<HalfDay>) -> Result<Option<Result<Self, Refusal>>, Trouble> {
        let Some((revision, text)) = store.latest(Kind::Book)? else { return Ok(None) };
        let plan = store.latest(Kind::Plan)?;
        let book = match book_file::of_bytes(BOOK.to_owned(), text.into_bytes()) {
            Ok(book) => book,
            Err(trouble) => return Ok(Some(Err(Refusal::unread("The book", &revision, &trouble)))),
        };
        let now = now.unwrap_or_else(|| book.half_day_now());
        let mut standing = Self::of(book, revision, None, now);
        if let Some((revision, text)) = plan {
            match plan_file::of_bytes(&Called::GivenOut, text.as_bytes()) {
                Ok(file) => standing.plan = Some(GivenOut { file, revision }),
                Err(trouble) => {
                    let why = Refusal::unread("The plan given out", &revision, &trouble);
                    standing.unread = Some((revision.number, why));
                }
            }
        }
        Ok(Some(Ok(standing)))
    }

    /// The same plan over another revision of the book.
    pub fn with(&self, book: BookFile, revision: Revision) -> Self {
        Self { unread: self.unread.clone(), ..Self::of(book, revision, self.plan.clone(), self.now) }
    }

    fn of(book: BookFile, revision: Revision, plan: Option<GivenOut>, now: HalfDay) -> Self {
        let value = serde_json::from_str(book.text()).unwrap_or_default();
        Self { book, value, revision, plan, now, unread: None, drawn: OnceLock::new() }
    }

    /// The numbers of its book's and its plan's revision; 0: none.
    pub fn numbers(&self) -> (i64, i64) {
        let unread = self.unread.as_ref().map(|(number, _)| *number);
        (self.revision.number, self.plan.as_ref().map(|plan| plan.revision.number).or(unread).unwrap_or(0))
    }

    /// Why the plan given out does not read, where it does not.
    pub fn unread(&self) -> Option<&Refusal> {
        self.unread.as_ref().map(|(_, why)| why)
    }

    /// The plan given out, laid over the book; `None`: no plan was given out yet.
    pub fn drawn(&self) -> Result<Option<&Drawn>, Refusal> {
        let Some(GivenOut { file, .. }) = &self.plan else {
            return self.unread().map_or(Ok(None), |why| Err(why.clone()));
        };
        match self.drawn.get_or_init(|| self.draw(file)) {
            Ok(drawn) => Ok(Some(drawn)),
            Err(trouble) => Err(trouble.clone().into()),
        }
    }

    /// Whether there is a plan that holds by the book as it is now.
    pub fn holds(&self) -> bool {
        let drawn = self.drawn().ok().flatten();
        drawn.is_some_and(|drawn| drawn.breaches.is_empty() && drawn.unkept.is_empty())
    }

    /// Draws a plan. Where steps are fixed to half-days in which nobody can work on them, as since a storm was reported, it is
    /// drawn all the same, and tells of them.
    fn draw(&self, file: &PlanFile) -> Result<Drawn, Trouble> {
        let trouble = match Drawn::new(&self.book, file, self.now) {
            Err(trouble) => trouble,
            drawn => return drawn,
        };
        let faults = match &trouble {
            Trouble::Faults(Faulty { faults, .. }) if faults.iter().all(|(of, _)| of.code == Code::FixedStart) => {
                faults
            }
            _ => return Err(trouble),
        };
        let free: Vec<Edit> = faults.iter().map(|(fault, _)| Edit::Remove(fault.path.clone())).collect();
        let Ok(Some(book)) = edited(self.book.name(), self.book.text(), &free) else { return Err(trouble) };
        let unkept = faults.iter().map(|(fault, _)| fault.says.clone()).collect();
        Ok(Drawn { unkept, ..Drawn::new(&book, file, self.now)? })
    }

    /// What a question is asked of: the plan given out from a half-day on.
    pub fn asked(&self, now: HalfDay) -> Result<Asked, Refusal> {
        self.asked_over(self.book.clone(), now)
    }

    /// The same over another text of the book.
    pub fn asked_over(&self, book: BookFile, now: HalfDay) -> Result<Asked, Refusal> {
        let Some(given) = &self.plan else {
            return Err(self.unread().map_or_else(Refusal::no_plan, Refusal::clone));
        };
        let begins = given.file.plan.now.unwrap_or_else(|| given.file.horizon.half_day(0));
        Ok(Asked::new(book, given.file.clone(), Called::GivenOut, Some(now.max(begins)))?)
    }
}

/// The plan given out as a note is filled in from it.
pub fn kept(standing: &Standing) -> Option<Kept> {
    let file = &standing.plan.as_ref()?.file;
    Some(Kept { name: Called::GivenOut, named: false, plan: file.plan.clone(), horizon: file.horizon })
}

impl Drawn {
    /// A plan that was made from another text of the book has no bound any more; nothing of it that lies before now breaks.
    fn new(book: &BookFile, file: &PlanFile, now: HalfDay) -> Result<Self, Trouble> {
        let shop = file.shop(book, None)?;
        let mut plan = file.plan.clone();
        let verdict = as_given(book, file, now)?;
        plan.costs = verdict.costs;
        plan.cost = verdict.costs.total();
        if file.is_of_other_text(&book.written.digest) {
            (plan.bound, plan.proven) = (None, false);
            plan.stopped.clear();
        }
        let left_out = plan.left_out.iter().map(|row| &row.job);
        let later = plan.later.iter().map(|row| &row.job);
        let knows: HashSet<&String> = plan.steps.iter().map(|row| &row.job).chain(left_out).chain(later).collect();
        let is_new = |job: &JobFacts| !job.over() && !knows.contains(&job.id);
        let new: HashSet<JobId> = shop.jobs.pairs().filter(|(_, job)| is_new(job)).map(|(job, _)| job).collect();
        // A new job is not planned yet, and other prices make another cost: the crews' work stays as it is.
        let by = verdict.by;
        let of_new =
            |breach: &Breach| breach.rule == Rule::W1 && breach.fact.jobs(&by).iter().any(|job| new.contains(job));
        let mut breaches = in_order(&by, verdict.breaches);
        breaches.retain(|breach| !breach.of_cost() && !of_new(breach));
        let judged = verdict.then.as_ref().map_or(&file.plan, |(_, rest)| &rest.plan);
        let broken = Touched::by(breaches.iter().map(|breach| &breach.fact), &by, judged);
        let unplanned = shop.jobs.iter().filter(|job| is_new(job)).map(|job| job.name.clone()).collect();
        Ok(Self { shop, plan, breaches, by, broken, unplanned, unkept: Vec::new(), whole: OnceLock::new() })
    }

    /// The jobs that it does not do, and why: first those that came into the book since.
    pub fn not_planned(&self) -> Vec<(String, String)> {
        let new = self.unplanned.iter().map(|name| (name.clone(), "it came into the book since".to_owned()));
        new.chain(not_planned(&self.shop, &self.plan)).collect()
    }

    /// The plan as a whole, in words.
    pub fn whole(&self) -> &Told {
        self.whole.get_or_init(|| whole(&self.shop, &self.plan))
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;
    use yardless_check::fact::{Fact, OfJob};

    use super::*;

    #[test]
    fn breach_of_a_job_is_told_though_a_new_job_has_part_of_its_name() {
        let step = |id: &str| json!({ "id": id, "skill": "insulation", "half_days": 1 });
        let job = |id: &str, name: &str, steps: Value| json!({ "id": id, "name": name, "place": "a", "steps": steps });
        // Since the plan was given out the attic has one more step, and Elm came into the book.
        let book = json!({
            "book": 1,
            "shop": { "name": "Test", "time_zone": "America/New_York" },
            "places": [{ "id": "a" }],
            "crews": [{ "id": "north", "people": 2, "skills": ["insulation"] }],
            "trucks": [{ "id": "t1" }],
            "equipment": [],
            "jobs": [
                job("attic", "Elm attic", json!([step("seal"), step("blow")])),
                job("elm", "Elm", json!([step("blow")]))
            ]
        });
        let at = "2026-12-07 am";
        let row = json!({ "job": "attic", "step": "seal", "way": "usual", "crew": "north", "start": at, "end": at });
        let plan = json!({ "plan": 1, "from": "2026-12-07", "weeks": 1, "cost": 0, "steps": [row] });
        let book = book_file::of_bytes(BOOK.to_owned(), book.to_string().into_bytes()).expect("a book");
        let plan = plan_file::of_bytes(&Called::GivenOut, plan.to_string().as_bytes()).expect("a plan");
        let drawn = Drawn::new(&book, &plan, at.parse().expect("a half-day")).expect("a plan over its book");
        assert_eq!(drawn.unplanned, ["Elm"]);
        let [breach] = &drawn.breaches[..] else { panic!("{:?}", drawn.breaches) };
        assert!(matches!(breach.fact, Fact::Job(OfJob::WithoutStep { .. })), "{breach:?}");
    }
}
