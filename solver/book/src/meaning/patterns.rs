//! Patterns are held to what a job is: a job made from one, at the book's first place, must have no fault of its own.

use super::super::fault::{Fault, Path, PathPart};
use super::super::{Book, Job};
use super::faults;

/// The faults that jobs made from the patterns would have, told where the patterns stand. What a pattern may not know of,
/// as it has no date and no history, is not asked.
pub(super) fn of_patterns(book: &Book, unsure: &[Path]) -> Vec<Fault> {
    let Some(place) = book.places.first().filter(|_| !book.patterns.is_empty()) else { return Vec::new() };
    let jobs: Vec<Job> = book.patterns.iter().map(|pattern| pattern.job(&place.id)).collect();
    let made = Book { jobs, patterns: Vec::new(), ..book.clone() };
    let unsure = unsure.iter().filter(|path| !begins(path, "jobs")).map(|path| renamed(path, "patterns", "jobs"));
    let mut found = faults(&made, unsure.collect());
    // Whether an id is there twice was asked of the patterns themselves.
    let own_id = |path: &Path| path.0.len() == 3 && matches!(&path.0[2], PathPart::Field(name) if name == "id");
    found.retain(|fault| begins(&fault.path, "jobs") && !own_id(&fault.path));
    for fault in &mut found {
        fault.path = renamed(&fault.path, "jobs", "patterns");
    }
    found
}

fn begins(path: &Path, field: &str) -> bool {
    matches!(path.0.first(), Some(PathPart::Field(name)) if name == field)
}

/// The path with another first field, where it has the one.
fn renamed(path: &Path, from: &str, to: &str) -> Path {
    let mut path = path.clone();
    if begins(&path, from) {
        path.0[0] = PathPart::Field(to.to_owned());
    }
    path
}
