//! What a command that writes into the book gathers and tells: the edits, and a line for each in the owner's words.

use std::path::Path;

use super::{Edit, change};
use crate::answer::Answer;
use crate::book_file::BookFile;
use crate::trouble::Trouble;

/// What is to be changed, and how it is told.
#[derive(Debug, Default)]
pub struct Changes {
    /// The edits, in their order.
    pub edits: Vec<Edit>,
    /// What they change, a line each.
    pub lines: Vec<String>,
    /// What the reader should know besides.
    pub notes: Vec<String>,
}

impl Changes {
    /// `what: was -> is`; nothing where both are the same.
    pub fn tell(&mut self, what: &str, was: &str, is: &str) {
        if was != is {
            self.lines.push(format!("{what}: {was} -> {is}"));
        }
    }

    /// Makes the changes, or with `dry_run` only judges them, and says what they are.
    pub fn make(self, path: &Path, file: &BookFile, dry_run: bool) -> Result<Answer, Trouble> {
        // Where nothing is told nothing is written, not even in another spacing.
        let changed = !self.lines.is_empty() && change(path, file, &self.edits, dry_run)?;
        let last = match (changed, dry_run) {
            (false, _) => "The book says so already; nothing was written.".to_owned(),
            (true, true) => "Nothing was written (--dry-run).".to_owned(),
            (true, false) => format!("Written to {}; `yardless undo` takes it back.", file.name()),
        };
        let lines = if changed { self.lines } else { Vec::new() };
        let text: String = lines.into_iter().chain([last]).map(|line| line + "\n").collect();
        Ok(Answer { notes: self.notes, ..Answer::new(text) })
    }
}
