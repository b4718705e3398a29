//! `yardless note`: what happened, written into the book.

use std::path::Path;

use crate::answer::Answer;
use crate::args::NoteArgs;
use crate::book_file;
use crate::note::{Kept, Note};
use crate::trouble::Trouble;

/// Writes what is said into the book.
pub fn run(path: &Path, args: &NoteArgs) -> Result<Answer, Trouble> {
    let note = Note::read(args)?;
    let file = book_file::read(path)?;
    let kept = if note.wants_plan() { Kept::find(path, args.kept.as_deref())? } else { None };
    note.noted(&file, kept)?.changes.make(path, &file, args.dry_run)
}
