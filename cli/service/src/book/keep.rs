//! Keeping a changed book: what two people change at once comes together where it can, and else is shown.

use std::borrow::Cow;

use serde_json::Value;
use yardless_book::Path;
use yardless_edit::book_file::{self, BookFile};
use yardless_edit::note::retold;
use yardless_edit::spoken::place;
use yardless_edit::trouble::Trouble;
use yardless_edit::{Edit, edited};

use crate::book::merge::{Conflict, edits, merge};
use crate::desk::Desk;
use crate::desk::standing::{BOOK, Standing};
use crate::refusal::Refusal;
use crate::store::{Added, Kind, NewText};

/// A change that somebody wants kept.
pub struct Change<'a> {
    /// Who.
    pub who: &'a str,
    /// What changes, in a sentence.
    pub what: &'a str,
    /// The name of the form that it came with.
    pub form: Option<&'a str>,
}

/// What became of it.
#[derive(Debug)]
pub enum ChangeOutcome {
    /// It is the book's latest revision.
    Done,
    /// It changes nothing, or was kept before.
    Nothing,
    /// Others have changed the same meanwhile; nothing was kept.
    Conflicts(Vec<Conflict>),
    /// The book would not be one.
    Faults(Trouble),
}

/// Bytes of a book from which on its plan takes long enough to be drawn to be drawn beforehand.
const LARGE: usize = 200_000;
/// Most characters of what is said of a change.
pub const LONGEST_WHAT: usize = 300;
/// How often somebody quicker is waited for.
const TRIES: usize = 20;

impl Desk {
    /// Keeps what a change makes of the book as it was at a revision.
    pub fn keep(
        &self,
        change: &Change,
        made_from: i64,
        wanted: impl Fn(&Value) -> Value,
    ) -> Result<ChangeOutcome, Refusal> {
        let standing = self.book()?;
        let was = if standing.revision.number == made_from {
            standing.value.clone()
        } else {
            let found = self.store.revision(Kind::Book, made_from)?;
            let (_, text) =
                found.ok_or_else(|| Refusal::stale("The page is of a revision that the book never had."))?;
            serde_json::from_str(&text).unwrap_or_default()
        };
        let mut wanted = wanted(&was);
        retold(&was, &mut wanted, self.now(&standing));
        drop(standing);
        for _ in 0..TRIES {
            let standing = self.book()?;
            let merged = match merge(&was, &standing.value, &wanted) {
                Ok(merged) => merged,
                Err(conflicts) => return Ok(ChangeOutcome::Conflicts(conflicts)),
            };
            let edits = edits(&Path::default(), &standing.value, &merged);
            if let Some(kept) = self.put(change, &standing, &edits)? {
                return Ok(kept);
            }
        }
        Err(Refusal::stale("The book is being changed all the time."))
    }

    /// Keeps edits of the book as it is now, which a command worked out from it.
    pub fn keep_edits(
        &self,
        change: &Change,
        work_out: impl Fn(&Standing) -> Result<Vec<Edit>, Refusal>,
    ) -> Result<ChangeOutcome, Refusal> {
        for _ in 0..TRIES {
            let standing = self.book()?;
            let edits = work_out(&standing)?;
            if let Some(kept) = self.put(change, &standing, &edits)? {
                return Ok(kept);
            }
        }
        Err(Refusal::stale("The book is being changed all the time."))
    }

    /// Keeps edits of the book with the plan that was made of both as they stood: one change, taken back as one. The number
    /// of the plan.
    pub fn keep_with_plan(
        &self,
        change: &Change,
        edits: &[Edit],
        (what, plan): (&str, &str),
        (book, latest): (i64, i64),
    ) -> Result<i64, Refusal> {
        let standing = self.book()?;
        let new = edited(standing.book.name(), standing.book.text(), edits)?;
        let plan = NewText { made_from: Some(latest), what, text: plan };
        let _kept = self.keeping();
        let added = match new {
            None => self.store.add(Kind::Plan, plan.made_from, change.who, what, plan.text, change.form)?,
            Some(new) => {
                let said = shortened(change.what);
                let text = NewText { made_from: Some(book), what: &said, text: new.text() };
                self.store.add_both(text, plan, change.who, change.form)?.0
            }
        };
        match added {
            Added::Kept(revision) => Ok(revision.number),
            Added::Twice => Ok(self.store.number(Kind::Plan)?),
            Added::Stale => Err(Refusal::stale("The book or the plan given out has changed since: look for it again.")),
        }
    }

    /// Takes a change back where the book does not read as it was kept last: laid over it where it can be, else the book
    /// is again as it was before that change, and what came after goes with it.
    pub fn mend(&self, change: &Change, number: i64) -> Result<ChangeOutcome, Refusal> {
        let text = |number| -> Result<(i64, String), Refusal> {
            let found = self.store.revision(Kind::Book, number)?;
            let (revision, text) = found.ok_or_else(|| Refusal::stale("That change is not there any more."))?;
            Ok((revision.number, text))
        };
        let (latest, now) = text(self.store.number(Kind::Book)?)?;
        let (before, after) = (text(number - 1)?.1, text(number)?.1);
        let value = |text: &str| serde_json::from_str::<Value>(text).ok().filter(Value::is_object);
        let new = match (value(&after), value(&now), value(&before)) {
            (Some(after), Some(now_value), Some(before)) if number < latest => {
                match merge(&after, &now_value, &before) {
                    Ok(merged) => edited(BOOK, &now, &edits(&Path::default(), &now_value, &merged)),
                    Err(conflicts) => return Ok(ChangeOutcome::Conflicts(conflicts)),
                }
            }
            _ => book_file::of_bytes(BOOK.to_owned(), before.into_bytes()).map(Some),
        };
        let book = match of_edits(new)? {
            Made::Book(book) => *book,
            Made::Not(kept) => return Ok(kept),
        };
        let what = shortened(change.what);
        match self.store.add(Kind::Book, Some(latest), change.who, &what, book.text(), change.form)? {
            Added::Kept(_) => Ok(ChangeOutcome::Done),
            Added::Twice => Ok(ChangeOutcome::Nothing),
            Added::Stale => Err(Refusal::stale("The book was changed meanwhile.")),
        }
    }

    /// `None`: somebody else was quicker.
    fn put(&self, change: &Change, from: &Standing, edits: &[Edit]) -> Result<Option<ChangeOutcome>, Refusal> {
        let book = match of_edits(edited(from.book.name(), from.book.text(), edits))? {
            Made::Book(book) => *book,
            Made::Not(kept) => return Ok(Some(kept)),
        };
        // All that takes long is done before it is kept: from then on every page is of the new revision.
        let mut new = from.with(book, from.revision.clone());
        if new.book.text().len() > LARGE {
            let _ = new.drawn();
        }
        let (number, what) = (Some(from.revision.number), shortened(change.what));
        let _kept = self.keeping();
        Ok(match self.store.add(Kind::Book, number, change.who, &what, new.book.text(), change.form)? {
            Added::Kept(revision) => {
                new.revision = revision;
                self.stands(new);
                Some(ChangeOutcome::Done)
            }
            Added::Twice => Some(ChangeOutcome::Nothing),
            Added::Stale => None,
        })
    }
}

/// What edits make.
enum Made {
    /// Another book.
    Book(Box<BookFile>),
    /// None: what becomes of them.
    Not(ChangeOutcome),
}

fn of_edits(made: Result<Option<BookFile>, Trouble>) -> Result<Made, Refusal> {
    match made {
        Ok(Some(book)) => Ok(Made::Book(Box::new(book))),
        Ok(None) => Ok(Made::Not(ChangeOutcome::Nothing)),
        Err(faults @ Trouble::Faults(_)) => Ok(Made::Not(ChangeOutcome::Faults(faults))),
        Err(other) => Err(other.into()),
    }
}

/// A sentence with what was typed in it, not longer than a list shows.
fn shortened(what: &str) -> Cow<'_, str> {
    match what.char_indices().nth(LONGEST_WHAT) {
        Some((end, _)) => format!("{}…", &what[..end]).into(),
        None => what.into(),
    }
}

impl ChangeOutcome {
    /// Whether all is well; else why not.
    pub fn or_refuse(self) -> Result<(), Refusal> {
        match self {
            Self::Done | Self::Nothing => Ok(()),
            Self::Faults(faults) => Err(faults.into()),
            Self::Conflicts(conflicts) => {
                let at: Vec<String> = conflicts.iter().map(|of| place(&Value::Null, &of.at)).collect();
                Err(Refusal::stale(format!("Others have changed the same since: {}.", at.join(", "))))
            }
        }
    }
}
