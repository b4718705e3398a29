//! What a user names: something of the book by its id or name, whatever its capitals.

use crate::trouble::{Trouble, did_you_mean};

/// Its position among all, each with id and name; else what is near, and all there are, with a hint besides.
pub fn position(
    (code, noun, hint): (&'static str, &str, &str),
    asked: &str,
    all: &[(&str, &str)],
) -> Result<usize, Trouble> {
    let same = |name: &str| name.to_lowercase() == asked.to_lowercase();
    all.iter().position(|(id, name)| same(id) || same(name)).ok_or_else(|| {
        let meant = did_you_mean(asked, all.iter().flat_map(|(id, name)| [*id, *name]));
        let ids: Vec<String> = all.iter().map(|(id, _)| format!("`{id}`")).collect();
        let there = if ids.is_empty() { "none".to_owned() } else { ids.join(", ") };
        Trouble::input(code, format!("no {noun} `{asked}`{meant}"), format!("the book has {there}{hint}"))
    })
}
