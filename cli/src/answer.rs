//! What a command answers: the result for stdout, notes for stderr.

use std::io::{self, Write};

use yardless_book::visible;

use crate::exit::Exit;

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

/// Names in a book are free text: what could steer a terminal, or turn a line around, is shown as its escape.
pub fn printable(text: &str) -> String {
    // Ends of lines and tabs are the program's own.
    let pieces = text.split_inclusive(['\n', '\t']);
    pieces.fold(String::with_capacity(text.len()), |out, piece| {
        let says = piece.trim_end_matches(['\n', '\t']);
        out + &visible(says) + &piece[says.len()..]
    })
}
