//! From bytes to a book: every fault at once, or the book whole.

use std::ops::Range;

use sha2::{Digest, Sha256};

use super::{Book, Code, Fault, fault::Path};

/// A book that was read without fault, with what is needed to point into its text.
#[derive(Clone, Debug)]
pub struct Written {
    /// The book.
    pub book: Book,
    /// SHA-256 of the file's bytes, in lower-case hex.
    pub digest: String,
}

/// What stopped the reading: all faults, and where each stands in the text.
#[derive(Clone, Debug)]
pub struct Faults {
    /// At least one fault, each with its bytes in the text, in the order of the text.
    pub all: Vec<(Fault, Range<usize>)>,
}

impl Written {
    /// The bytes of the text at a path, or of the nearest thing around it.
    pub fn bytes_at(&self, _path: &Path) -> Range<usize> {
        0..0
    }
}

/// Reads a book.
pub fn read(bytes: &[u8]) -> Result<Written, Faults> {
    let digest = Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect();
    match serde_json::from_slice(bytes) {
        Ok(book) => Ok(Written { book, digest }),
        Err(e) => Err(Faults { all: vec![(Fault::new(Code::NotJson, Path::default(), e.to_string()), 0..0)] }),
    }
}
