//! What the fields of a book mean together: names that must be known, times and people that must fit, rings of steps.

mod help;
mod hire;
mod history;
mod names;
mod order;
mod own;
mod patterns;
mod ratings;
mod reports;
mod shared;
mod steps;
mod things;
mod times;
mod waits;

use std::collections::{BTreeMap, BTreeSet};

use super::Book;
use super::fault::{Fault, Path, PathPart};
use super::near::Suggestions;

/// Every fault of meaning that can be told for certain; nothing is concluded from a path that is `unsure`.
pub(super) fn faults(book: &Book, unsure: Vec<Path>) -> Vec<Fault> {
    let of_patterns = patterns::of_patterns(book, &unsure);
    let mut judge = Judge {
        unsure: unsure.into_iter().collect(),
        whole: BTreeMap::new(),
        faults: vec![],
        suggest: Suggestions::default(),
    };
    names::check(book, &mut judge);
    shared::check(book, &mut judge);
    times::check(book, &mut judge);
    waits::check(book, &mut judge);
    things::check(book, &mut judge);
    hire::check(book, &mut judge);
    ratings::check(book, &mut judge);
    steps::check(book, &mut judge);
    help::check(book, &mut judge);
    own::check(book, &mut judge);
    order::check(book, &mut judge);
    history::check(book, &mut judge);
    reports::check(book, &mut judge);
    judge.faults.into_iter().chain(of_patterns).collect()
}

/// Collects faults, and knows which parts of the book already have one.
struct Judge {
    unsure: BTreeSet<Path>,
    /// Lists of which it has been asked whether a field of all elements is known.
    whole: BTreeMap<(Path, String), bool>,
    faults: Vec<Fault>,
    suggest: Suggestions,
}

impl Judge {
    /// Adds a fault, unless its own path, or what it relies on besides, has a fault already.
    fn fault(&mut self, relies_on: &[Path], fault: Fault) {
        if relies_on.iter().all(|path| self.is_sure(path)) && self.is_sure_above(&fault.path) {
            self.faults.push(fault);
        }
    }

    /// Whether neither the path, nor anything around it or in it, has a fault.
    fn is_sure(&self, path: &Path) -> bool {
        self.is_sure_above(path) && self.unsure.range(path..).next().is_none_or(|next| !next.0.starts_with(&path.0))
    }

    /// Whether neither the path nor anything around it has a fault.
    fn is_sure_above(&self, path: &Path) -> bool {
        self.unsure.is_empty() || (0..=path.0.len()).all(|end| !self.unsure.contains(&Path(path.0[..end].to_vec())))
    }

    /// Whether a field of all elements of a list is known: only then can it be said what the list does not have.
    fn is_whole(&mut self, list: &Path, field: &str) -> bool {
        if self.unsure.is_empty() {
            return true;
        }
        let key = (list.clone(), field.to_owned());
        if let Some(whole) = self.whole.get(&key) {
            return *whole;
        }
        let depth = list.0.len();
        let whole = self.is_sure_above(list)
            && self
                .unsure
                .range(list..)
                .take_while(|next| next.0.starts_with(&list.0))
                .all(|next| matches!(next.0.get(depth + 1), Some(PathPart::Field(name)) if name != field));
        self.whole.insert(key, whole);
        whole
    }
}

/// A path from the top: `top("jobs").index(0)`.
fn top(field: &str) -> Path {
    Path::default().field(field)
}
