//! What happened, in words, and what it changes in the book.

mod fill;
mod kept;
mod parked;
mod ranges;
mod said;
mod step;
mod subject;
mod until;
mod word;

use yardless_book::Book;
use yardless_book::half_day::HalfDay;

use crate::args::NoteArgs;
use crate::book_file::BookFile;
use crate::edit::Changes;
use crate::plan_file::PlanFile;
use crate::trouble::Trouble;
use said::Said;
use subject::Subject;

pub use kept::Kept;
pub use ranges::{after, before, place_id};
pub use word::{Stands, retold};

/// What a note changes, and what it leaves as it was said.
#[derive(Default)]
pub struct Noted {
    /// What it changes in the book.
    pub changes: Changes,
    /// What people said that stands where the plan has it otherwise.
    pub stands: Vec<Stands>,
    /// Steps that by that cannot have begun, `job/step`, each with the reason.
    pub held_back: Vec<(String, String)>,
}

impl From<Changes> for Noted {
    fn from(changes: Changes) -> Self {
        Self { changes, ..Self::default() }
    }
}

/// What is at hand for every note.
struct Desk<'a> {
    file: &'a BookFile,
    book: &'a Book,
    args: &'a NoteArgs,
    kept: Option<Kept>,
    now: HalfDay,
}

/// A note whose words have been read.
pub struct Note<'a> {
    args: &'a NoteArgs,
    said: Option<(&'a str, Said)>,
}

impl<'a> Note<'a> {
    /// Reads the words; refused where they say nothing that can be noted.
    pub fn read(args: &'a NoteArgs) -> Result<Self, Trouble> {
        let said = if args.until.is_none() { Some(said::said(&args.words)?) } else { None };
        said::fitting(args, said.as_ref().map(|(_, said)| said))?;
        Ok(Self { args, said })
    }

    /// Whether the kept plan is asked for what the words leave unsaid.
    pub fn wants_plan(&self) -> bool {
        self.said.as_ref().is_none_or(|(_, said)| said.is_of_step())
    }

    /// What it changes in the book, and what stands.
    pub fn noted(&self, file: &BookFile, kept: Option<Kept>) -> Result<Noted, Trouble> {
        let now = self.args.now.unwrap_or_else(|| file.half_day_now());
        let desk = Desk { file, book: &file.written.book, args: self.args, kept, now };
        match (&self.said, self.args.until) {
            (Some((what, said)), _) => one(&desk, what, said).map(Noted::from),
            (None, Some(until)) => until::until(&desk, until),
            (None, None) => Ok(Noted::default()),
        }
    }
}

/// What a plan has before a half-day and the book does not, as far as nobody has said otherwise.
pub fn as_planned(file: &BookFile, stored: &PlanFile, until: HalfDay) -> Result<Changes, Trouble> {
    let args = NoteArgs { until: Some(until), now: Some(until), ..NoteArgs::default() };
    let kept = Kept { name: "the plan".to_owned(), plan: stored.plan.clone(), horizon: stored.horizon };
    Ok(Note::read(&args)?.noted(file, Some(kept))?.changes)
}

fn one(desk: &Desk, what: &str, said: &Said) -> Result<Changes, Trouble> {
    match (said, subject::find(desk.book, what, said, desk.args.list)?) {
        (Said::Done, Subject::Step(at)) => step::done(desk, at),
        (Said::Left(left), Subject::Step(at)) => step::left(desk, at, *left),
        (Said::Again, Subject::Step(at)) => Ok(step::again(desk, at)),
        (Said::At(place), Subject::Unit(unit)) => ranges::stands(desk.book, unit, place),
        (Said::Out(range) | Said::Away(range), subject) => ranges::gone(desk.book, subject, *range, desk.args.people),
        (Said::Back(from), subject) => ranges::back(desk.book, subject, from.unwrap_or(desk.now)),
        // What is found is what can be said of it.
        _ => Ok(Changes::default()),
    }
}

/// The first few ids of a list, for a remedy.
fn some<'n>(ids: impl Iterator<Item = &'n str>) -> String {
    const MOST: usize = 12;
    let mut all: Vec<String> = ids.take(MOST + 1).map(|id| format!("`{id}`")).collect();
    if all.len() > MOST {
        all.truncate(MOST);
        all.push("...".to_owned());
    }
    if all.is_empty() { "none".to_owned() } else { all.join(", ") }
}
