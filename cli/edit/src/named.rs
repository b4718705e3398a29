//! What a user names: something of the book by its id or name, whatever its capitals.

use crate::trouble::words::near;
use crate::trouble::{Noun, OfQuestion};

/// Its position among all, each with id and name; else what is near, and all there are.
pub fn position(noun: Noun, asked: &str, all: &[(&str, &str)]) -> Result<usize, OfQuestion> {
    let same = |name: &str| name.to_lowercase() == asked.to_lowercase();
    all.iter().position(|(id, name)| same(id) || same(name)).ok_or_else(|| {
        let near = near(asked, all.iter().flat_map(|(id, name)| [*id, *name]));
        let known = all.iter().map(|(id, _)| (*id).to_owned()).collect();
        OfQuestion::Unknown { noun, asked: asked.to_owned(), near, known }
    })
}
