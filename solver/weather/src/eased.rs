//! Where the new says less than the old.

use std::cmp::Ordering;

use yardless_book::half_day::Range;

/// Where the new says less than the old, and of what.
#[derive(Clone, Debug, PartialEq)]
pub struct Eased {
    /// The place, by id.
    pub place: String,
    /// The half-days.
    pub on: Range,
    /// What was said, and what is said now.
    pub by: Easing,
}

/// What the book said, and what is said now.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub enum Easing {
    /// Gusts, in miles per hour.
    Gust(f64, f64),
    /// The low, in degrees Fahrenheit.
    Low(f64, f64),
    /// The high, in degrees Fahrenheit.
    High(f64, f64),
    /// Rain, and none now.
    Rain,
}

/// The same easing in neighbouring half-days told once.
pub(super) fn eased(mut all: Vec<Eased>) -> Vec<Eased> {
    all.sort_by(|a, b| {
        let by = a.by.partial_cmp(&b.by).unwrap_or(Ordering::Equal);
        a.place.cmp(&b.place).then(by).then(a.on.first.cmp(&b.on.first))
    });
    let mut joined: Vec<Eased> = Vec::new();
    for next in all {
        match joined.last_mut() {
            Some(last)
                if last.place == next.place && last.by == next.by && last.on.last.following() == next.on.first =>
            {
                last.on.last = next.on.last;
            }
            _ => joined.push(next),
        }
    }
    joined
}
