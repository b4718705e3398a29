//! Changes of the book as a command makes and tells them.

use std::path::Path;

use yardless_edit::book_file::BookFile;
use yardless_edit::trouble::Trouble;
use yardless_edit::{Changes, change, edited};

use crate::answer::Answer;
use crate::changed::{lines, remark};

/// Makes the changes, or with `dry_run` only judges them, and says what they are.
pub fn make(changes: &Changes, path: &Path, file: &BookFile, dry_run: bool) -> Result<Answer, Trouble> {
    // Where nothing is changed nothing is written, not even in another spacing.
    let changed = !changes.changed.is_empty()
        && if dry_run {
            edited(file.name(), file.text(), &changes.edits)?.is_some()
        } else {
            change(path, file, &changes.edits, words())?
        };
    let last = match (changed, dry_run) {
        (false, _) => "The book says so already; nothing was written.".to_owned(),
        (true, true) => "Nothing was written (--dry-run).".to_owned(),
        (true, false) => format!("Written to {}; `yardless undo` takes it back.", file.name()),
    };
    let lines = if changed { lines(&changes.changed) } else { Vec::new() };
    let text: String = lines.into_iter().chain([last]).map(|line| line + "\n").collect();
    Ok(Answer { notes: changes.remarks.iter().map(remark).collect(), ..Answer::new(text) })
}

/// The words of the command that runs, quoted where they have to be.
pub fn words() -> String {
    let quoted = |word: String| {
        let plain = !word.is_empty() && word.chars().all(|c| c.is_alphanumeric() || "-_./:=,+%@".contains(c));
        if plain { word } else { format!("'{}'", word.replace('\'', "'\\''")) }
    };
    let given = std::env::args_os().skip(1).map(|word| quoted(word.to_string_lossy().into_owned()));
    std::iter::once("yardless".to_owned()).chain(given).collect::<Vec<_>>().join(" ")
}
