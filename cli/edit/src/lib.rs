//! Changes to the book's text: what is not touched stays byte for byte, and every change can be taken back.
//!
//! A command names what it changes by paths ([`Edit`]); [`change`](mod@change) puts that into the text, has the reader
//! judge the new text, and replaces the file in one piece, with the way back in the journal beside it.

mod as_of;
pub mod assumed;
pub mod book_file;
mod change;
mod changes;
pub mod clock;
pub mod file;
mod journal;
pub mod judged;
mod layout;
pub mod left_over;
pub mod lines;
mod list;
pub mod named;
pub mod note;
pub mod plan_file;
mod splice;
pub mod spoken;
mod store;
pub mod storm;
pub mod trouble;
pub mod whole;

pub use change::{change, edited, take_back, undo_list};
pub use changes::{BookChange, Changes, FilledIn, Remark, StepStatus};
pub use journal::Entry;
pub use layout::value;
pub use list::List;

use std::collections::BTreeSet;

use serde_json::Value;
use yardless_book::{Path, PathPart, Weather};

use splice::Page;

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

impl Edit {
    /// The path of what it changes.
    fn path(&self) -> &Path {
        let (Self::Set(path, _) | Self::Remove(path) | Self::Append(path, _)) = self;
        path
    }
}

/// The text with the edits made in their order; the path that leads nowhere, where one does.
pub fn apply(text: &str, edits: &[Edit]) -> Result<String, Path> {
    let mut text = text.to_owned();
    let mut rest = edits;
    while let Some(first) = rest.first() {
        // One reading of the text serves all edits of objects that lie apart.
        let page = Page::read(&text).ok_or_else(|| first.path().clone())?;
        let mut touched: BTreeSet<Vec<PathPart>> = BTreeSet::new();
        let mut splices = Vec::new();
        while let Some((edit, others)) = rest.split_first() {
            let above = edit.path().0.split_last().map_or(&[][..], |(_, above)| above);
            let around = (0..=above.len()).any(|end| touched.contains(&above[..end]));
            let within = touched.range(above.to_vec()..).next().is_some_and(|next| next.starts_with(above));
            if around || within {
                break;
            }
            touched.insert(above.to_vec());
            // What is added to one list goes in together, and so does what is taken out of one from its end on.
            let taken = match edit {
                Edit::Append(list, _) => {
                    let more = others.iter().map_while(|of| match of {
                        Edit::Append(same, value) if same == list => Some(value),
                        _ => None,
                    });
                    let (splice, taken) = page.appended(edit, more)?;
                    splices.push(splice);
                    taken
                }
                Edit::Remove(_) => {
                    splices.extend(page.splice(edit)?);
                    let down = rest.windows(2).take_while(|two| is_next_below(&two[0], &two[1])).count();
                    for edit in &others[..down] {
                        splices.extend(page.splice(edit)?);
                    }
                    down
                }
                Edit::Set(..) => {
                    splices.extend(page.splice(edit)?);
                    0
                }
            };
            rest = &others[taken..];
        }
        splices.sort_by_key(|splice| splice.bytes.start);
        let mut new = String::with_capacity(text.len());
        let mut at = 0;
        for splice in splices {
            new.push_str(&text[at..splice.bytes.start]);
            new.push_str(&splice.by);
            at = splice.bytes.end;
        }
        new.push_str(&text[at..]);
        text = new;
    }
    Ok(text)
}

/// Whether both take an element out of the same list, the second before the first and neither the list's first.
fn is_next_below(first: &Edit, second: &Edit) -> bool {
    let (Edit::Remove(first), Edit::Remove(second)) = (first, second) else { return false };
    match (first.0.split_last(), second.0.split_last()) {
        (Some((PathPart::Index(a), above)), Some((PathPart::Index(b), same))) => above == same && *b < *a && *b > 0,
        _ => false,
    }
}

/// The edits that append entries to the book's weather, in their order: later entries replace what earlier ones gave.
pub fn append_weather(entries: &[Weather]) -> Vec<Edit> {
    let weather = Path::default().field("weather");
    entries.iter().map(|entry| Edit::Append(weather.clone(), value(entry))).collect()
}

#[cfg(test)]
mod tests;
