//! `yardless note`: what happened, written into the book.

mod fill;
mod kept;
mod parked;
mod ranges;
mod said;
mod step;
mod subject;
mod until;

use std::path::Path;

use yardless_solver::book::Book;
use yardless_solver::half_day::HalfDay;

use super::changes::Changes;
use crate::answer::Answer;
use crate::args::NoteArgs;
use crate::book_file::{self, BookFile};
use crate::trouble::Trouble;
use kept::Kept;
use said::Said;
use subject::Subject;

pub use ranges::{after, before, place_id};

/// What is at hand for every note.
struct Desk<'a> {
    file: &'a BookFile,
    book: &'a Book,
    args: &'a NoteArgs,
    kept: Option<Kept>,
    now: HalfDay,
}

/// Writes what is said into the book.
pub fn run(path: &Path, args: &NoteArgs) -> Result<Answer, Trouble> {
    let said = if args.until.is_none() { Some(said::said(&args.words)?) } else { None };
    said::fitting(args, said.as_ref().map(|(_, said)| said))?;
    let file = book_file::read(path)?;
    let now = args.now.unwrap_or_else(|| file.half_day_now());
    let wants_plan = said.as_ref().is_none_or(|(_, said)| said.is_of_step());
    let kept = if wants_plan { Kept::find(path, args.kept.as_deref())? } else { None };
    let desk = Desk { file: &file, book: &file.written.book, args, kept, now };
    let changes = match (said, args.until) {
        (Some((what, said)), _) => one(&desk, what, &said)?,
        (None, Some(until)) => until::until(&desk, until)?,
        (None, None) => Changes::default(),
    };
    changes.make(path, &file, args.dry_run)
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
