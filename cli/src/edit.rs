//! Changes to the book's text: what is not touched stays byte for byte, and every change can be taken back.
//!
//! A command names what it changes by paths ([`Edit`]); [`change`](mod@change) puts that into the text, has the reader
//! judge the new text, and replaces the file in one piece, with the way back in the journal beside it.

mod change;
mod journal;
mod layout;
mod splice;
mod store;

pub use change::{change, take_back, undo_list};
pub use layout::value;

use serde_json::Value;
use yardless_solver::book::{Path, Weather};

/// One change to the value of a book. Paths are those of the text as the edits before it have left it.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// A field gets this value, or an element of a list is replaced by it. A field that is not there comes last.
    Set(Path, Value),
    /// A field or an element goes. What is not there already is no fault.
    Remove(Path),
    /// A list gets one more element; a list that is not there is begun.
    Append(Path, Value),
}

/// The text with the edits made in their order; the path that leads nowhere, where one does.
pub fn apply(text: &str, edits: &[Edit]) -> Result<String, Path> {
    let mut text = text.to_owned();
    for edit in edits {
        if let Some(splice) = splice::splice(&text, edit)? {
            text.replace_range(splice.bytes, &splice.by);
        }
    }
    Ok(text)
}

/// The edits that append entries to the book's weather, in their order: later entries replace what earlier ones gave.
pub fn append_weather(entries: &[Weather]) -> Vec<Edit> {
    let weather = Path::default().field("weather");
    entries.iter().map(|entry| Edit::Append(weather.clone(), value(entry))).collect()
}

#[cfg(test)]
mod tests;
