//! `yardless serve`: the sheets, the forms and the questions on a screen.

use std::io::{self, BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use yardless_edit::book_file::{self, BookFile};
use yardless_edit::trouble::{Trouble, printable};
use yardless_service::store::{Kind, Store};
use yardless_service::{Desk, Settings};

use crate::answer::Answer;
use crate::args::{DEFAULT_BOOK, ServeArgs};
use crate::command::import::put;
use crate::told::tell;

/// Serves until it is told to stop.
pub fn run(book: &Path, args: &ServeArgs) -> Result<Answer, Trouble> {
    let store = Store::open(&args.db.db)?;
    let beside = if store.number(Kind::Book)? == 0 { beside(book, &args.db.db) } else { None };
    if let Some(path) = &beside {
        offer(&store, path)?;
    }
    let settings = Settings { now: args.now, proxied: args.proxied, beside };
    let link = if args.link || !store.has_owner()? { Some(yardless_service::owner_link(&store)?) } else { None };
    yardless_service::serve(&Arc::new(Desk::new(store, settings)), args.bind, link.as_deref())?;
    Ok(Answer::new(""))
}

/// The book's file that may be taken over: the one named, else `book.json` beside the database.
fn beside(book: &Path, db: &Path) -> Option<PathBuf> {
    let path = if book == Path::new(DEFAULT_BOOK) { db.with_file_name(DEFAULT_BOOK) } else { book.to_owned() };
    path.is_file().then_some(path)
}

/// Asks on the terminal, where there is one, whether the book is taken over; nothing is without an answer. The first page
/// asks as well.
fn offer(store: &Store, path: &Path) -> Result<(), Trouble> {
    let file = match book_file::read(path) {
        Ok(file) => file,
        Err(faults) => {
            tell(&faults);
            eprintln!("{} cannot be taken over as it is; the service begins without a book.", path.display());
            return Ok(());
        }
    };
    if !(io::stdin().is_terminal() && io::stderr().is_terminal()) {
        eprintln!("{} is offered on the first page.", told(path, &file));
        return Ok(());
    }
    if says_yes(&format!("Take over {}?", told(path, &file)), &mut io::stdin().lock(), &mut io::stderr()) {
        eprint!("{}", put(store, Kind::Book, path, file.text())?);
    } else {
        eprintln!("Not taken over; the first page offers it again.");
    }
    Ok(())
}

/// `book.json (5 jobs, 3 crews)`.
fn told(path: &Path, file: &BookFile) -> String {
    printable(&format!("{} ({})", path.display(), file.counts()))
}

/// Asks until there is an answer; the end of the input is no.
fn says_yes(question: &str, input: &mut impl BufRead, output: &mut impl Write) -> bool {
    loop {
        let _ = write!(output, "{question} y/n: ").and_then(|()| output.flush());
        let mut line = String::new();
        match input.read_line(&mut line) {
            Ok(0) | Err(_) => return false,
            Ok(_) => match line.trim().to_lowercase().as_str() {
                "y" | "yes" => return true,
                "n" | "no" => return false,
                _ => {}
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_plain_yes_takes_a_book_over() {
        for (typed, yes, asked) in
            [("y\n", true, 1), ("YES\n", true, 1), ("n\ny\n", false, 1), ("", false, 1), ("\nwhat\ny\n", true, 3)]
        {
            let mut output = Vec::new();
            assert_eq!(says_yes("Take it over?", &mut typed.as_bytes(), &mut output), yes, "{typed:?}");
            let output = String::from_utf8(output).expect("text");
            assert_eq!(output.matches("Take it over? y/n: ").count(), asked, "{typed:?}");
        }
    }

    #[test]
    fn book_beside_the_database_is_found_wherever_that_is_and_one_that_is_named_instead() {
        let folder = tempfile::tempdir().expect("a folder");
        let db = folder.path().join("yardless.db");
        assert_eq!(beside(Path::new(DEFAULT_BOOK), &db), None);
        for name in [DEFAULT_BOOK, "other.json"] {
            std::fs::write(folder.path().join(name), "{}").expect("written");
        }
        assert_eq!(beside(Path::new(DEFAULT_BOOK), &db), Some(folder.path().join(DEFAULT_BOOK)));
        let other = folder.path().join("other.json");
        assert_eq!(beside(&other, &db), Some(other));
    }
}
