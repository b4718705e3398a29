//! A storm written into the book's weather, or taken back.

mod expect_clear;
mod report;
mod taken_back;

use yardless_book::half_day::{HalfDay, Range};

use crate::Changes;
use crate::book_file::BookFile;
use crate::note::place_id;
use crate::trouble::Trouble;

/// A storm as somebody reports it.
#[allow(clippy::struct_excessive_bools)] // each is said or not
#[derive(Clone, Debug)]
pub struct Storm {
    /// When.
    pub on: Range,
    /// Where, by the ids or names of places; none: everywhere.
    pub at: Vec<String>,
    /// Nobody travels: no work and no hauls.
    pub no_travel: bool,
    /// The roads are covered: closed to trailers, also where the storm is taken back by a later report.
    pub covered: bool,
    /// Gusts of so many miles per hour, 0 to 300.
    pub gust: Option<f64>,
    /// The storm of that range is taken back.
    pub clear: bool,
    /// The half-day it is now; `None`: by the shop's clock.
    pub now: Option<HalfDay>,
}

/// Appends the report of a storm in a range, or takes one back.
pub fn changes(file: &BookFile, storm: &Storm) -> Result<Changes, Trouble> {
    let book = &file.written.book;
    let mut places: Vec<&str> = Vec::new();
    for place in &storm.at {
        let id = place_id(book, place)?;
        if !places.contains(&id) {
            places.push(id);
        }
    }
    let now = storm.now.unwrap_or_else(|| file.half_day_now());
    if storm.clear {
        taken_back::clear(file, storm.on, &places)
    } else {
        report::report(book, report::entry(storm, &places)?, now)
    }
}

/// Places as an entry lists them: none is everywhere.
fn listed(places: &[&str]) -> Option<Vec<String>> {
    (!places.is_empty()).then(|| places.iter().map(|place| (*place).to_owned()).collect())
}
