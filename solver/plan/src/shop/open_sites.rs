//! What it costs that a site is open: rule C16 as a table.

use yardless_book::money::Cents;

use super::{JobId, Shop};

impl Shop {
    /// The price of a half-day in which a site is open (C16).
    pub fn open_half_day(&self) -> Cents {
        self.book.prices.open_half_day
    }

    /// What a site costs that is open from now on up to an index that is not counted: of a site that is open from one index
    /// up to another, the difference of the two.
    pub fn open_before(&self, h: usize) -> Cents {
        self.open_half_day() * self.worked_before(h)
    }

    /// What a done job costs whose planned steps go from an index to another, both counted (C16). One that has begun is
    /// open from now.
    pub fn open_cost(&self, job: JobId, first: usize, last: usize) -> Cents {
        let first = if self.jobs[job].started { self.now } else { first };
        self.open_before(last + 1) - self.open_before(first)
    }
}
