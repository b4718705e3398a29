//! What a command that writes into the book gathers and tells: the edits, and a line for each in the owner's words.

use super::Edit;

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
}
