//! `yardless undo`: the last change of the book taken back.

use std::fmt::Write;
use std::path::Path;

use yardless_edit::Entry;
use yardless_edit::trouble::Trouble;

use crate::answer::Answer;
use crate::args::UndoArgs;

/// Takes the last change back, or lists the changes that are known.
pub fn run(book: &Path, args: &UndoArgs) -> Result<Answer, Trouble> {
    if args.list {
        return list(book);
    }
    let (change, left) = yardless_edit::take_back(book, args.dry_run)?;
    let name = book.display();
    let Entry { time, command, .. } = change;
    let text = if args.dry_run {
        format!("Would be taken back: {command} ({time})\nNothing was written (--dry-run).\n")
    } else {
        let more = match left {
            0 => "no earlier change is known".to_owned(),
            1 => "1 earlier change can be taken back".to_owned(),
            n => format!("{n} earlier changes can be taken back"),
        };
        format!("Taken back: {command} ({time})\n{name} is as it was before; {more}.\n")
    };
    Ok(Answer::new(text))
}

fn list(book: &Path) -> Result<Answer, Trouble> {
    let (changes, as_left) = yardless_edit::undo_list(book)?;
    let name = book.display();
    if changes.is_empty() {
        return Ok(Answer::new(format!("No change of {name} is known that could be taken back.\n")));
    }
    let mut text = String::new();
    for (n, change) in changes.iter().enumerate() {
        let _ = writeln!(text, "{:3}  {}  {}", n + 1, change.time, change.command);
    }
    let mut answer = Answer::new(text);
    if !as_left {
        answer.notes.push(format!(
            "{name} was changed by other hands after the first of these: `yardless undo` takes none back"
        ));
    }
    Ok(answer)
}
