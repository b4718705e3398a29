//! The journal beside the book: what each command changed, so that the last change can be taken back to the byte.

use std::io::ErrorKind;

use serde::{Deserialize, Serialize};
use yardless_book::digest;

use super::store::LockedFile;
use crate::clock;
use crate::trouble::{OfUndo, Trouble};

/// Most changes that are kept.
const MOST: usize = 100;
/// Most bytes of text that are kept, over all changes; the last one is kept whatever its size.
const MOST_BYTES: usize = 4_000_000;

/// All changes that are known, the oldest first.
#[derive(Debug, Serialize, Deserialize)]
pub struct Journal {
    /// The format: 1.
    undo: u32,
    changes: Vec<Entry>,
}

/// One change.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// When, in universal time.
    pub time: String,
    /// The words of the command.
    pub command: String,
    /// The digest of the book before.
    before: String,
    /// The digest of the book after.
    pub after: String,
    /// The byte at which the texts begin to differ.
    at: usize,
    /// What stood there.
    was: String,
    /// What stands there.
    is: String,
}

impl Entry {
    /// The change from one text to another.
    pub fn new(command: String, before: &str, after: &str) -> Self {
        let (at, was, is) = difference(before, after);
        Self {
            time: clock::now().format("%Y-%m-%dT%H:%M:%SZ").to_string(),
            command,
            before: digest(before.as_bytes()),
            after: digest(after.as_bytes()),
            at,
            was: was.to_owned(),
            is: is.to_owned(),
        }
    }

    /// The text before, from the text after; nothing where the entry does not lead back to what it says.
    pub fn reverse(&self, after: &str) -> Option<String> {
        let head = after.get(..self.at)?;
        let tail = after.get(self.at..)?.strip_prefix(self.is.as_str())?;
        let before = [head, &self.was, tail].concat();
        (digest(before.as_bytes()) == self.before).then_some(before)
    }
}

/// Where two texts begin to differ, and what stands there in each up to their common end; whole characters.
fn difference<'t>(before: &'t str, after: &'t str) -> (usize, &'t str, &'t str) {
    let same = |(a, b): &(char, char)| a == b;
    let at: usize = before.chars().zip(after.chars()).take_while(same).map(|(c, _)| c.len_utf8()).sum();
    let (before, after) = (&before[at..], &after[at..]);
    let end: usize = before.chars().rev().zip(after.chars().rev()).take_while(same).map(|(c, _)| c.len_utf8()).sum();
    (at, &before[..before.len() - end], &after[..after.len() - end])
}

impl Journal {
    /// The journal of a book whose text is known by its digest; empty where there is none yet.
    pub fn of(held: &LockedFile, digest: &str) -> Result<Self, Trouble> {
        let path = held.journal();
        let unreadable = |why: String| OfUndo::Unreadable { path: path.display().to_string(), why };
        let text = match std::fs::read(&path) {
            Ok(text) => text,
            Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Self { undo: 1, changes: Vec::new() }),
            Err(e) => return Err(unreadable(e.to_string()).into()),
        };
        let mut journal: Self = serde_json::from_slice(&text).map_err(|e| unreadable(e.to_string()))?;
        if journal.undo != 1 {
            return Err(OfUndo::Format { path: path.display().to_string(), format: journal.undo }.into());
        }
        // A command that was stopped between journal and book has left its entry and no change.
        journal.changes.pop_if(|last| last.before == digest && last.after != digest);
        Ok(journal)
    }

    /// One more change; the oldest ones go where there are too many.
    pub fn push(&mut self, entry: Entry) {
        self.changes.push(entry);
        let (mut kept, mut bytes) = (0, 0);
        for entry in self.changes.iter().rev().take(MOST) {
            bytes += entry.was.len() + entry.is.len();
            if kept > 0 && bytes > MOST_BYTES {
                break;
            }
            kept += 1;
        }
        self.changes.drain(..self.changes.len() - kept);
    }

    /// The last change, taken out.
    pub fn pop(&mut self) -> Option<Entry> {
        self.changes.pop()
    }

    /// The changes, the last one first.
    pub fn latest(&self) -> impl ExactSizeIterator<Item = &Entry> {
        self.changes.iter().rev()
    }

    /// As stored.
    pub fn json(&self) -> Vec<u8> {
        // A journal holds only texts and numbers, which JSON can always write.
        let mut text = serde_json::to_vec_pretty(self).unwrap_or_default();
        text.push(b'\n');
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reverse_gives_the_bytes_back_and_refuses_another_text() {
        for (before, after) in [
            ("{}", "{ \"a\": 1 }"),
            ("aaa", "aa"),
            ("aa", "aaa"),
            ("é", "è"),
            ("x\u{e9}y", "x\u{e8}\u{e9}y"),
            ("same", "same"),
            ("", "all"),
        ] {
            let entry = Entry::new("a change".to_owned(), before, after);
            assert_eq!(entry.reverse(after).as_deref(), Some(before), "{before:?} {after:?}");
            assert_eq!(entry.reverse(&format!("{after}.")), None, "{before:?} {after:?}");
        }
    }

    #[test]
    fn journal_keeps_the_last_hundred_and_no_more_than_its_bytes_and_the_last_in_any_case() {
        let mut journal = Journal { undo: 1, changes: Vec::new() };
        for n in 0..130 {
            journal.push(Entry::new(format!("change {n}"), "a", "b"));
        }
        assert_eq!((journal.changes.len(), journal.changes[0].command.as_str()), (100, "change 30"));
        let large = "x".repeat(MOST_BYTES / 2);
        for _ in 0..3 {
            journal.push(Entry::new("large".to_owned(), "a", &large));
        }
        // Two are a byte each over the half: one fits beside nothing else.
        assert_eq!(journal.changes.len(), 1);
        journal.push(Entry::new("larger".to_owned(), "a", &"x".repeat(MOST_BYTES + 1)));
        assert_eq!(journal.changes.len(), 1);
        assert_eq!(journal.pop().map(|entry| entry.command).as_deref(), Some("larger"));
    }
}
