//! What every topic of refusals knows of itself.

/// Whose fault it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// The program's own failure, or the machine's: the input was right.
    OurFailure,
    /// The command, the book or another file given is wrong.
    BadInput,
    /// The plan given does not hold by its book.
    DoesNotHold,
}

/// What to do about a refusal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Help {
    /// In words that hold wherever they are read: what there is, what may be given.
    Plain(String),
    /// In the words of the command line: its commands, its options and its files.
    Command(String),
}

impl Help {
    /// In words that hold everywhere.
    pub fn plain(text: impl Into<String>) -> Self {
        Self::Plain(text.into())
    }
    /// In the words of the command line.
    pub fn command(text: impl Into<String>) -> Self {
        Self::Command(text.into())
    }
    /// As the command line reads it: all of it.
    pub fn text(&self) -> &str {
        let (Self::Plain(text) | Self::Command(text)) = self;
        text
    }
}

/// A topic's facts, and the words for them: what is wrong is said alike on a terminal and on a page.
pub trait Topic {
    /// The stable code.
    fn code(&self) -> &'static str;
    /// Whose fault it is.
    fn cause(&self) -> Cause {
        Cause::BadInput
    }
    /// What is wrong, in a sentence.
    fn says(&self) -> String;
    /// What to do about it.
    fn help(&self) -> Help;
}
