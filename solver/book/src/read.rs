//! From bytes to a book: every fault at once, or the book whole.

use std::ops::Range;

use sha2::{Digest, Sha256};

use super::fault::Path;
use super::shape::shape;
use super::source::Source;
use super::{Book, Code, Fault, meaning};

/// A book that was read without fault, with what is needed to point into its text.
#[derive(Clone, Debug)]
pub struct Written {
    /// The book.
    pub book: Book,
    /// SHA-256 of the file's bytes, in lower-case hex.
    pub digest: String,
    text: String,
}

/// What stopped the reading: all faults, and where each stands in the text.
#[derive(Clone, Debug)]
pub struct Faults {
    /// At least one fault, each with its bytes in the text, in the order of the text.
    pub all: Vec<(Fault, Range<usize>)>,
}

impl Written {
    /// For each path the bytes of the text there, or of the nearest thing around it.
    pub fn bytes_at<'p>(&self, paths: impl IntoIterator<Item = &'p Path>) -> Vec<Range<usize>> {
        // Rarely asked for: reading the tree again is simpler than keeping it beside its own text.
        let source = Source::parse(self.text.as_bytes()).ok();
        paths.into_iter().map(|path| source.as_ref().map_or(0..0, |source| source.bytes_at(path))).collect()
    }
}

/// Most bytes of a book.
pub const MOST_BYTES: usize = 8_000_000;

/// Reads a book. Nothing is guessed and nothing is half read: one fault anywhere, and there is no book.
pub fn read(bytes: &[u8]) -> Result<Written, Faults> {
    if bytes.len() > MOST_BYTES {
        let says = format!("the file has more than {} MB, the most that a book may have", MOST_BYTES / 1_000_000);
        let fault = Fault::new(Code::TooLarge, Path::default(), says).help("take out jobs that are over");
        return Err(Faults { all: vec![(fault, 0..0)] });
    }
    let source = Source::parse(bytes).map_err(|only| Faults { all: vec![only] })?;
    let shaped = shape(&source);
    let mut all = shaped.faults;
    let book = serde_json::from_value::<Book>(shaped.value);
    match &book {
        Ok(book) => {
            let meant = meaning::faults(book, shaped.unsure);
            all.extend(meant.into_iter().map(|fault| {
                let bytes = source.bytes_at(&fault.path);
                (fault, bytes)
            }));
        }
        // The schema and the types come from one source; should they still disagree, that is said, never passed over.
        Err(e) if all.is_empty() => {
            let says = format!("the book cannot be taken in: {e}");
            all.push((Fault::new(Code::WrongType, Path::default(), says), source.bytes_at(&Path::default())));
        }
        Err(_) => {}
    }
    match book {
        Ok(book) if all.is_empty() => Ok(Written { book, digest: digest(bytes), text: source.text.to_owned() }),
        _ => {
            all.sort_by(|(a, at_a), (b, at_b)| (at_a.start, &a.path, a.code).cmp(&(at_b.start, &b.path, b.code)));
            Err(Faults { all })
        }
    }
}

/// SHA-256 of a file's bytes in lower-case hex: what plans and changes of the book know it by.
pub fn digest(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().flat_map(|byte| [byte >> 4, byte & 15]).filter_map(|half| char::from_digit(half.into(), 16)).collect()
}
