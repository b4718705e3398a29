//! Keeping a changed book: what two people change at once comes together where it can, and else is shown.

use std::borrow::Cow;

use serde_json::Value;
use yardless_solver::book::Path;

use super::desk::Desk;
use super::merge::{Conflict, edits, merge};
use super::refusal::Refusal;
use crate::edit::{Edit, edited};
use crate::note::retold;
use crate::store::{Added, Kind};
use crate::trouble::Trouble;

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
pub enum Kept {
    /// It is the book's latest revision.
    Done,
    /// It changes nothing, or was kept before.
    Nothing,
    /// Others have changed the same meanwhile; nothing was kept.
    Conflicts(Vec<Conflict>),
    /// The book would not be one.
    Faults(Trouble),
}

/// Most characters of what is said of a change.
pub const LONGEST_WHAT: usize = 300;
/// How often somebody quicker is waited for.
const TRIES: usize = 20;

impl Desk {
    /// Keeps what a change makes of the book as it was at a revision.
    pub fn keep(&self, change: &Change, made_from: i64, wanted: impl Fn(&Value) -> Value) -> Result<Kept, Refusal> {
        let (_, text) = self
            .store
            .revision(Kind::Book, made_from)?
            .ok_or_else(|| Refusal::stale("The page is of a revision that the book never had."))?;
        let was: Value = serde_json::from_str(&text).unwrap_or_default();
        let mut wanted = wanted(&was);
        retold(&was, &mut wanted, self.now(&*self.book()?));
        for _ in 0..TRIES {
            let standing = self.book()?;
            let merged = match merge(&was, &standing.value, &wanted) {
                Ok(merged) => merged,
                Err(conflicts) => return Ok(Kept::Conflicts(conflicts)),
            };
            let edits = edits(&Path::default(), &standing.value, &merged);
            if let Some(kept) = self.put(change, standing.revision.number, edited(&standing.book, &edits))? {
                return Ok(kept);
            }
        }
        Err(Refusal::stale("The book is being changed all the time."))
    }

    /// Keeps edits of the book as it is now, which a command worked out from it.
    pub fn keep_edits(
        &self,
        change: &Change,
        work_out: impl Fn(&super::standing::Standing) -> Result<Vec<Edit>, Refusal>,
    ) -> Result<Kept, Refusal> {
        for _ in 0..TRIES {
            let standing = self.book()?;
            let edits = work_out(&standing)?;
            if let Some(kept) = self.put(change, standing.revision.number, edited(&standing.book, &edits))? {
                return Ok(kept);
            }
        }
        Err(Refusal::stale("The book is being changed all the time."))
    }

    /// `None`: somebody else was quicker.
    fn put(&self, change: &Change, from: i64, text: Result<Option<String>, Trouble>) -> Result<Option<Kept>, Refusal> {
        let text = match text {
            Ok(Some(text)) => text,
            Ok(None) => return Ok(Some(Kept::Nothing)),
            Err(faults @ Trouble::Book { .. }) => return Ok(Some(Kept::Faults(faults))),
            Err(other) => return Err(other.into()),
        };
        let what = shortened(change.what);
        Ok(match self.store.add(Kind::Book, Some(from), change.who, &what, &text, change.form)? {
            Added::Kept(_) => Some(Kept::Done),
            Added::Twice => Some(Kept::Nothing),
            Added::Stale => None,
        })
    }
}

/// A sentence with what was typed in it, not longer than a list shows.
fn shortened(what: &str) -> Cow<'_, str> {
    match what.char_indices().nth(LONGEST_WHAT) {
        Some((end, _)) => format!("{}…", &what[..end]).into(),
        None => what.into(),
    }
}

impl Kept {
    /// Whether all is well; else why not.
    pub fn or_refuse(self) -> Result<(), Refusal> {
        match self {
            Self::Done | Self::Nothing => Ok(()),
            Self::Faults(faults) => Err(faults.into()),
            Self::Conflicts(conflicts) => {
                let at: Vec<&str> = conflicts.iter().map(|of| of.at.as_str()).collect();
                Err(Refusal::stale(format!("Others have changed the same since: {}.", at.join(", "))))
            }
        }
    }
}
