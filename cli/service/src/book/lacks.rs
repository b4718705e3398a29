//! What is still to be entered, said on the pages where it would be: a place that no drive leads to, a trailer's weight.

use yardless_book::{Book, Equipment, Place};
use yardless_view::lacks;

/// What is missing.
#[derive(Clone, Debug)]
pub struct Missing {
    /// What, in words.
    pub says: String,
    /// Whether it is a drive.
    pub drive: bool,
}

fn drives(book: &Book, of: impl Fn(&Place) -> bool) -> Vec<Missing> {
    lacks::drives(book, of).into_iter().map(|says| Missing { says, drive: true }).collect()
}

fn weights(book: &Book, of: impl Fn(&Equipment) -> bool) -> Option<Missing> {
    lacks::weights(book, of).map(|says| Missing { says, drive: false })
}

/// Of all that a page lists.
pub fn of_page(book: &Book, page: &str) -> Vec<Missing> {
    match page {
        "/places" => drives(book, |_| true),
        "/jobs" => drives(book, |place| book.jobs.iter().any(|job| job.place == place.id)),
        "/equipment" => {
            let mut all = drives(book, |place| book.equipment.iter().any(|unit| unit.place == place.id));
            all.extend(weights(book, |_| true));
            all
        }
        _ => Vec::new(),
    }
}

/// Of one place, job or unit, by its id.
pub fn of_member(book: &Book, field: &str, id: &str) -> Vec<Missing> {
    let job = book.jobs.iter().find(|job| job.id == id);
    let unit = book.equipment.iter().find(|unit| unit.id == id);
    let place = match field {
        "places" => Some(id),
        "jobs" => job.map(|job| job.place.as_str()),
        "equipment" => unit.map(|unit| unit.place.as_str()),
        _ => None,
    };
    let mut all = place.map_or_else(Vec::new, |place| drives(book, |of| of.id == place));
    if field == "equipment" {
        all.extend(weights(book, |unit| unit.id == id));
    }
    all
}
