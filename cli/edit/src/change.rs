//! A change of the book from its edits to its file, and back.

use std::path::Path;

use yardless_book::digest;

use super::journal::{Entry, Journal};
use super::store::LockedFile;
use super::{Edit, apply};
use crate::book_file::{self, BookFile};
use crate::trouble::{Faulty, OfBook, OfUndo, Trouble};

/// The book with the edits made in its text, which must be a book without fault; `None` where they change nothing.
pub fn edited(name: &str, text: &str, edits: &[Edit]) -> Result<Option<BookFile>, Trouble> {
    let new = apply(text, edits).map_err(|path| OfBook::Nowhere { name: name.to_owned(), path })?;
    if new == text {
        return Ok(None);
    }
    match book_file::of_bytes(name.to_owned(), new.into_bytes()) {
        Err(Trouble::Faults(of)) => Err(Faulty { file: format!("{} (not written)", of.file), ..of }.into()),
        read => read.map(Some),
    }
}

/// Makes the edits to the book at a path, which was read into `file`; the journal keeps the words of the `command`.
/// Whether they change anything.
///
/// The new text must be a book without fault, and the file must be as it was read: else nothing is written.
pub fn change(path: &Path, file: &BookFile, edits: &[Edit], command: String) -> Result<bool, Trouble> {
    let Some(new) = edited(file.name(), file.text(), edits)? else { return Ok(false) };
    let held = LockedFile::of(path)?;
    held.may_be_replaced()?;
    if held.bytes()? != file.text().as_bytes() {
        return Err(OfBook::Changed { name: file.name().to_owned() }.into());
    }
    let mut journal = Journal::of(&held, &file.written.digest)?;
    journal.push(Entry::new(command, file.text(), new.text()));
    // The journal comes first: a change that is in the book can always be taken back.
    held.replace_journal(&journal.json())?;
    held.replace(new.text().as_bytes())?;
    Ok(true)
}

/// Takes the last change back; with `dry_run` only says which. Its entry, and how many are left.
pub fn take_back(path: &Path, dry_run: bool) -> Result<(Entry, usize), Trouble> {
    let held = LockedFile::of(path)?;
    let bytes = held.bytes()?;
    let now = digest(&bytes);
    let mut journal = Journal::of(&held, &now)?;
    let Some(last) = journal.pop() else {
        return Err(OfUndo::Nothing { name: held.name().to_owned() }.into());
    };
    let command = || last.command.clone();
    if last.after != now {
        return Err(OfUndo::NotAsLeft { name: held.name().to_owned(), command: command() }.into());
    }
    let before = std::str::from_utf8(&bytes).ok().and_then(|text| last.reverse(text));
    let before = before.ok_or_else(|| OfUndo::NoWayBack { command: command() })?;
    if !dry_run {
        held.may_be_replaced()?;
        // The book comes first: an entry whose change is no longer in the book is passed over.
        held.replace(before.as_bytes())?;
        held.replace_journal(&journal.json())?;
    }
    let left = journal.latest().len();
    Ok((last, left))
}

/// The changes that are known, the last one first, and whether the book is as the last one left it.
pub fn undo_list(path: &Path) -> Result<(Vec<Entry>, bool), Trouble> {
    let held = LockedFile::of(path)?;
    let now = digest(&held.bytes()?);
    let journal = Journal::of(&held, &now)?;
    let entries: Vec<Entry> = journal.latest().cloned().collect();
    let as_left = entries.first().is_none_or(|last| last.after == now);
    Ok((entries, as_left))
}

#[cfg(test)]
mod tests {
    use yardless_book::Path as At;

    use super::*;

    const BOOK: &str = include_str!("../../../data/new.json");

    fn note(text: &str) -> Edit {
        Edit::Set(At::default().field("note"), text.into())
    }

    #[test]
    fn book_that_changed_since_it_was_read_is_left_alone() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("book.json");
        std::fs::write(&path, BOOK).expect("written");
        let file = book_file::read(&path).expect("a book");
        let other = BOOK.replacen('{', "{ ", 1);
        std::fs::write(&path, &other).expect("written");
        let refused = change(&path, &file, &[note("ours")], "ours".to_owned()).expect_err("refused");
        assert!(matches!(refused, Trouble::Book(OfBook::Changed { .. })), "{refused:?}");
        assert_eq!(std::fs::read_to_string(&path).expect("the book"), other);
        assert!(!folder.path().join("book.json.undo").exists());
    }

    #[test]
    fn change_that_was_stopped_between_journal_and_book_is_passed_over() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("book.json");
        std::fs::write(&path, BOOK).expect("written");
        let first = book_file::read(&path).expect("a book");
        assert!(change(&path, &first, &[note("first")], "first".to_owned()).expect("written"));
        let after_first = std::fs::read(&path).expect("the book");
        let second = book_file::read(&path).expect("a book");
        assert!(change(&path, &second, &[note("second")], "second".to_owned()).expect("written"));
        // As if the machine had stopped before the second book was in place.
        std::fs::write(&path, &after_first).expect("written");
        let (_, left) = take_back(&path, false).expect("the first is taken back");
        assert_eq!(left, 0);
        assert_eq!(std::fs::read_to_string(&path).expect("the book"), BOOK);
        // Not a second time, and not after a change by other hands.
        assert!(matches!(take_back(&path, false), Err(Trouble::Undo(OfUndo::Nothing { .. }))));
    }
}
