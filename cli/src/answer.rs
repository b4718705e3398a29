//! What a command answers: the result for stdout, notes for stderr.

use std::io::{self, Write};
use std::path::Path;

use yardless_ask::Answered;
use yardless_edit::trouble::printable;
use yardless_plan::Assumed;

use crate::args::AskArgs;
use crate::exit::Exit;

/// What is assumed of a plan: of the one asked for, else of the one beside the book.
pub fn assumed(of: &Assumed, plan: Option<&Path>) -> String {
    let name = plan.map_or_else(|| "plan.json".to_owned(), |plan| plan.display().to_string());
    yardless_view::assumed(of, &name, plan.is_some())
}

/// A command's result. Nothing else is ever written to stdout.
#[derive(Debug)]
pub struct Answer {
    /// The result, whole, with its last newline.
    pub text: String,
    /// What the reader should know besides, a sentence each.
    pub notes: Vec<String>,
    /// How the run ends.
    pub exit: Exit,
}

impl Answer {
    /// A result without notes.
    pub fn new(text: impl Into<String>) -> Self {
        Self { text: text.into(), notes: Vec::new(), exit: Exit::Done }
    }

    /// An answer to a question, for people or for programs.
    pub fn of(answered: &Answered, ask: &AskArgs) -> Self {
        let text = if ask.json { format!("{:#}\n", answered.json) } else { answered.told.text() };
        let mut answer = Self::new(text);
        answer.notes.extend(answered.assumed.as_ref().map(|of| assumed(of, ask.plan.as_deref())));
        answer
    }

    /// Writes notes and result. A reader who has seen enough (`| head`) is no failure.
    pub fn give(&self) -> io::Result<()> {
        for note in &self.notes {
            let _ = writeln!(io::stderr(), "note: {}", printable(note));
        }
        let mut stdout = io::stdout().lock();
        match stdout.write_all(printable(&self.text).as_bytes()).and_then(|()| stdout.flush()) {
            Err(e) if e.kind() == io::ErrorKind::BrokenPipe => Ok(()),
            done => done,
        }
    }
}
