//! The book as a plan knows it: with what that takes to have gone as planned before it begins.

use yardless_book::Book;
use yardless_book::half_day::HalfDay;
use yardless_plan::HaulRow;
use yardless_plan::shop::{KeptStep, Shop};

use crate::book_file::BookFile;
use crate::note;
use crate::plan_file::PlanFile;
use crate::trouble::Trouble;

impl PlanFile {
    /// The book made ready for judging and showing it, from the half-day on which it begins.
    pub fn shop(&self, book: &BookFile, kept: Option<&[KeptStep]>) -> Result<Shop, Trouble> {
        let now = self.plan.now.and_then(|now| self.horizon.index(now)).unwrap_or(0);
        let then = self.before(book, self.horizon.half_day(now));
        book.shop_of(&then, self.horizon, now, kept)
    }

    /// The book as of a half-day: what it says has happened since then is not known yet, and units stand where the
    /// plan's first haul of them since then sets out.
    pub fn before(&self, book: &BookFile, now: HalfDay) -> Book {
        // Where what went before cannot be laid over the book any more, the book's word is all there is.
        let laid = self.plan.so_far.as_ref().and_then(|_| note::with_so_far(book, self).ok().flatten());
        let (mut then, happened) = laid.as_ref().unwrap_or(book).before(Some(now));
        if happened {
            let mut hauls: Vec<&HaulRow> = self.plan.hauls.iter().filter(|haul| haul.at >= now).collect();
            hauls.sort_by_key(|haul| (haul.at, haul.evening));
            for unit in &mut then.equipment {
                let first = hauls.iter().find(|haul| haul.unit == unit.id).map(|haul| &haul.from);
                let known = |place: &&String| then.places.iter().any(|of| of.id == **place);
                if let Some(place) = first.filter(known) {
                    unit.place.clone_from(place);
                }
            }
        }
        then
    }
}
