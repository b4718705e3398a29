//! `yardless new`: a small starter book.

use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};
use std::path::Path;

use yardless_edit::trouble::{OfCommand, Trouble};

use crate::answer::Answer;

/// The starter book.
const STARTER: &str = include_str!("../../../data/new.json");

/// Writes the starter book, never over anything.
pub fn run(file: &Path) -> Result<Answer, Trouble> {
    let name = file.display();
    let written =
        OpenOptions::new().write(true).create_new(true).open(file).and_then(|mut to| to.write_all(STARTER.as_bytes()));
    match written {
        Ok(()) => Ok(Answer::new(format!(
            "Wrote {name}. Put in your own places, crews and jobs, then: yardless plan --book {name}\n"
        ))),
        Err(e) if e.kind() == ErrorKind::AlreadyExists => Err(OfCommand::NewExists { name: name.to_string() }.into()),
        Err(e) => Err(OfCommand::NewUnwritten { name: name.to_string(), why: e.to_string() }.into()),
    }
}
