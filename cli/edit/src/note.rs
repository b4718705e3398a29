//! What happened, in words, and what it changes in the book.

mod fill;
mod helpers;
mod kept;
mod left;
mod parked;
mod phrase;
mod ranges;
mod said;
mod seen;
mod so_far;
mod stands;
mod step;
mod subject;
mod until;
mod up_to;
mod word;

use yardless_book::Book;
use yardless_book::half_day::HalfDay;

use crate::book_file::BookFile;
use crate::plan_file::PlanFile;
use crate::trouble::words::Called;
use crate::trouble::{OfNote, Trouble};
use crate::{Changes, List};
use subject::Subject;

pub use kept::Kept;
pub use phrase::said;
pub use ranges::{after, before, place_id};
pub use said::Said;
pub use word::{Stands, amount, retold};

/// What a note changes, and what it leaves as it was said.
#[derive(Default)]
pub struct Noted {
    /// What it changes in the book.
    pub changes: Changes,
    /// What people said that stands where the plan has it otherwise.
    pub stands: Vec<Stands>,
    /// Steps that by that cannot have begun, `job/step`, each with the reason.
    pub held_back: Vec<(String, HeldBack)>,
    /// Steps of which the plan's word was asked for and nobody has said otherwise, `job/step`.
    pub agreed: Vec<String>,
}

/// Why a step cannot have begun.
#[derive(Clone, Debug, PartialEq)]
pub enum HeldBack {
    /// It comes after a step that is not done, `job/step`.
    After(String),
    /// A unit that it needs is held elsewhere.
    Unit {
        /// The unit's id.
        unit: String,
        /// The job, or its step, that holds it.
        by: String,
    },
}

impl HeldBack {
    /// In words.
    pub fn says(&self) -> String {
        match self {
            Self::After(before) => format!("it comes after {before}, which is not done"),
            Self::Unit { unit, by } => format!("{unit} is held by {by}"),
        }
    }
}

impl From<Changes> for Noted {
    fn from(changes: Changes) -> Self {
        Self { changes, ..Self::default() }
    }
}

/// What somebody notes.
#[derive(Clone, Debug)]
pub struct Request {
    /// What is said.
    pub says: Says,
    /// The crew that did the step, or does it; this and what follows is filled in from the book and the kept plan where
    /// it is not given.
    pub crew: Option<String>,
    /// The crews that help it, by their ids or names; `None`: as in the book, else as in the kept plan.
    pub with: Option<Vec<String>>,
    /// The way it is done.
    pub way: Option<String>,
    /// The half-day in which it started.
    pub start: Option<HalfDay>,
    /// The half-day in which it ended.
    pub end: Option<HalfDay>,
    /// The units that a step in progress holds; none where it holds nothing until its crew comes back to it.
    pub units: Option<Vec<String>>,
    /// The units that are parked at the job, by kind.
    pub parked: Vec<(String, Vec<String>)>,
    /// How many people of the crew are away; `None`: all.
    pub people: Option<u32>,
    /// Who saw a thing there.
    pub by: Option<String>,
    /// The list that the subject belongs to, where several have the id.
    pub list: Option<List>,
    /// The half-day it is now; `None`: by the shop's clock.
    pub now: Option<HalfDay>,
}

/// What is said, and of what.
#[derive(Clone, Debug)]
pub enum Says {
    /// Of a job's step (`job/step`), a unit, a crew, a truck or a thing, by its id or name.
    Of(String, Said),
    /// Everything in the kept plan before a half-day went as planned, where nobody said otherwise; of the steps named,
    /// too, whatever was said of them.
    AsPlanned {
        /// The half-day.
        until: HalfDay,
        /// The steps, `job/step`.
        over: Vec<String>,
    },
}

impl Request {
    /// Nothing but what is said.
    pub fn new(says: Says, now: Option<HalfDay>) -> Self {
        Self {
            says,
            crew: None,
            with: None,
            way: None,
            start: None,
            end: None,
            units: None,
            parked: Vec::new(),
            people: None,
            by: None,
            list: None,
            now,
        }
    }

    /// Whether the kept plan is asked for what is left unsaid.
    pub fn wants_plan(&self) -> bool {
        match &self.says {
            Says::Of(_, said) => said.is_of_step(),
            Says::AsPlanned { .. } => true,
        }
    }

    /// What it changes in the book, and what stands.
    pub fn noted(&self, file: &BookFile, kept: Option<Kept>) -> Result<Noted, Trouble> {
        match (&self.says, kept) {
            (Says::Of(what, said), kept) => one(&self.context(file, kept), what, said).map(Noted::from),
            (Says::AsPlanned { .. }, None) => Err(OfNote::NoPlan.into()),
            (Says::AsPlanned { until, over }, Some(kept)) => {
                let so_far::Laid { file: laid, changes } = so_far::lay(self, file, &kept, *until)?;
                let noted = self.one_plan(laid.as_ref().unwrap_or(file), kept, *until, over)?;
                Ok(Noted { changes: changes.then(noted.changes), ..noted })
            }
        }
    }

    /// What a kept plan has before a half-day, whatever went before it.
    fn one_plan(&self, file: &BookFile, kept: Kept, until: HalfDay, over: &[String]) -> Result<Noted, Trouble> {
        until::until(&self.context(file, Some(kept)), until, over)
    }

    fn context<'a>(&'a self, file: &'a BookFile, kept: Option<Kept>) -> NoteContext<'a> {
        let now = self.now.unwrap_or_else(|| file.half_day_now());
        NoteContext { file, book: &file.written.book, request: self, kept, now }
    }
}

/// What is at hand for every note.
struct NoteContext<'a> {
    file: &'a BookFile,
    book: &'a Book,
    request: &'a Request,
    kept: Option<Kept>,
    now: HalfDay,
}

/// What a plan has before a half-day and the book does not, as far as nobody has said otherwise; what it takes to have
/// gone as planned before it begins comes first.
pub fn as_planned(file: &BookFile, stored: &PlanFile, until: HalfDay) -> Result<Changes, Trouble> {
    Ok(unsaid(until).noted(file, Some(kept(stored)))?.changes)
}

/// A step that the plan has begun before a half-day, `job/step`, said not to have begun.
pub fn not_begun(file: &BookFile, stored: &PlanFile, step: &str, until: HalfDay) -> Result<Changes, Trouble> {
    let request = Request::new(Says::Of(step.to_owned(), Said::Again), Some(until));
    Ok(request.noted(file, Some(kept(stored)))?.changes)
}

/// Whether somebody has said of a step how far it is, or that it has not begun.
pub fn is_said(extra: &yardless_book::Extra) -> bool {
    extra.contains_key(word::SAID)
}

/// The book with what a plan takes to have gone as planned before it begins; `None`: the book says all of that.
pub fn with_so_far(file: &BookFile, stored: &PlanFile) -> Result<Option<BookFile>, Trouble> {
    let begins = stored.begins();
    Ok(so_far::lay(&unsaid(begins), file, &kept(stored), begins)?.file)
}

fn unsaid(until: HalfDay) -> Request {
    Request::new(Says::AsPlanned { until, over: Vec::new() }, Some(until))
}

fn kept(stored: &PlanFile) -> Kept {
    let name = Called::File("the plan".to_owned());
    Kept { name, named: false, plan: stored.plan.clone(), horizon: stored.horizon }
}

fn one(context: &NoteContext, what: &str, said: &Said) -> Result<Changes, Trouble> {
    let subject = subject::find(context.book, what, said, context.request.list)?;
    if context.request.by.is_some() && matches!(subject, Subject::Unit(_)) {
        return Err(OfNote::Options { options: vec!["--by"], verb: "UNIT at" }.into());
    }
    match (said, subject) {
        (Said::Done, Subject::Step(at)) => step::done(context, at),
        (Said::Left(left), Subject::Step(at)) => step::left(context, at, *left),
        (Said::Again, Subject::Step(at)) => Ok(step::again(context, at)),
        (Said::At(place), Subject::Unit(unit)) => ranges::stands(context.book, unit, place),
        (Said::At(place), Subject::Thing(thing)) => seen::lies(context, thing, place),
        (Said::In(carrier), Subject::Thing(thing)) => seen::rides(context, thing, carrier),
        (Said::Out(range) | Said::Away(range), subject) => {
            ranges::gone(context.book, subject, *range, context.request.people)
        }
        (Said::Back(from), subject) => ranges::back(context.book, subject, from.unwrap_or(context.now)),
        // What is found is what can be said of it.
        _ => Ok(Changes::default()),
    }
}
