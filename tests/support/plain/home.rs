//! Who is home late, and what stands where the work is over (C17, C18), read off the book.

use chrono::NaiveDate;
use yardless_book::Moves;

use super::Plain;

impl Plain<'_> {
    /// The date that begins with an index, where the shop works it and that is its first half-day that it works.
    pub fn begins(&self, h: usize) -> Option<NaiveDate> {
        let first = !self.at(h).is_pm() || !self.works(self.at(h - 1));
        Some(self.at(h).date()).filter(|_| self.works(self.at(h)) && first)
    }

    /// C17 of a unit that stands at a place as a date begins, in cents.
    pub fn home_late(&self, unit: usize, place: usize, date: NaiveDate) -> i64 {
        match &self.book.equipment[unit].home_by {
            Some(home) if date > home.date && self.place(&home.place) != place => {
                home.late_day.unwrap_or(self.book.prices.late_day).0
            }
            _ => 0,
        }
    }

    /// C18 of a unit that stands at a place as a date begins, where the last step there ended on another; in cents.
    pub fn uncleared(&self, unit: usize, place: usize, last: NaiveDate, date: NaiveDate) -> i64 {
        match &self.book.places[place].clear_by {
            Some(by) if self.book.equipment[unit].moves == Moves::Towed => {
                let late = date - chrono::Days::new(u64::from(by.days)) > last;
                if late { by.late_day.unwrap_or(self.book.prices.late_day).0 } else { 0 }
            }
            _ => 0,
        }
    }

    /// Whether a book has anything of it.
    pub fn has_homes(&self) -> bool {
        self.book.equipment.iter().any(|unit| unit.home_by.is_some())
            || self.book.places.iter().any(|place| place.clear_by.is_some())
    }
}
