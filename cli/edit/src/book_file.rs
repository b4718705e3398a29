//! The book's file: read whole or refused with every fault, and made ready for a horizon.

use std::path::Path;

use chrono::{NaiveDateTime, Timelike};
use chrono_tz::Tz;
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_book::{Book, Fault, Faults, Parked, Step, Written};
use yardless_plan::shop::{KeptStep, Shop};

use crate::trouble::{Faulty, OfBook, Trouble};
use crate::{clock, file};

/// A book read without fault, with the text that later faults point into.
#[derive(Clone)]
pub struct BookFile {
    name: String,
    bytes: Vec<u8>,
    /// The book.
    pub written: Written,
}

/// Reads the book at a path.
pub fn read(path: &Path) -> Result<BookFile, Trouble> {
    let name = path.display().to_string();
    let bytes = file::read(path, yardless_book::MOST_BYTES).map_err(|e| OfBook::unread(&name, &e))?;
    of_bytes(name, bytes)
}

/// Reads the book that the bytes hold; the name is what its faults are told of.
pub fn of_bytes(name: String, bytes: Vec<u8>) -> Result<BookFile, Trouble> {
    match yardless_book::read(&bytes) {
        Ok(written) => Ok(BookFile { name, bytes, written }),
        Err(Faults { all }) => Err(Faulty { file: name, bytes, faults: all }.into()),
    }
}

impl BookFile {
    /// The book made ready for a horizon.
    pub fn shop(&self, horizon: Horizon) -> Result<Shop, Trouble> {
        self.shop_from(horizon, 0, Some(&[]))
    }

    /// The book without what it says has happened from a half-day on (`None`: ever), and whether that is anything.
    pub fn before(&self, half_day: Option<HalfDay>) -> (Book, bool) {
        let mut book = self.written.book.clone();
        let since = |at: HalfDay| half_day.is_none_or(|half_day| at >= half_day);
        let mut happened = false;
        for job in &mut book.jobs {
            for step in &mut job.steps {
                happened |= step.done.take_if(|done| since(done.end)).is_some();
                happened |= step.progress.take_if(|progress| since(progress.start)).is_some();
            }
            let none_begun = !job.steps.iter().any(Step::started);
            let begun: Vec<String> =
                job.steps.iter().filter(|step| step.started()).map(|step| step.id.clone()).collect();
            let waits =
                |parked: &&mut Parked| none_begun || parked.from.as_ref().is_some_and(|from| !begun.contains(from));
            job.parked.iter_mut().filter(waits).for_each(|parked| parked.units.clear());
        }
        (book, happened)
    }

    /// The same from a half-day on, with what the plan given out says.
    pub fn shop_from(&self, horizon: Horizon, now: usize, kept: Option<&[KeptStep]>) -> Result<Shop, Trouble> {
        self.shop_of(&self.written.book, horizon, now, kept)
    }

    /// Another state of the same book, made ready; its faults are told of this one's text.
    pub fn shop_of(
        &self,
        book: &Book,
        horizon: Horizon,
        now: usize,
        kept: Option<&[KeptStep]>,
    ) -> Result<Shop, Trouble> {
        Shop::again(book, horizon, now, kept).map_err(|faults| self.told(faults))
    }

    fn told(&self, faults: Vec<Fault>) -> Trouble {
        let at = self.written.bytes_at(faults.iter().map(|fault| &fault.path));
        let faults = faults.into_iter().zip(at).collect();
        Faulty { file: self.name.clone(), bytes: self.bytes.clone(), faults }.into()
    }

    /// The same, taken for another text of the book: for the one that plans know.
    #[must_use]
    pub fn as_if(mut self, known: &Self) -> Self {
        self.written.digest.clone_from(&known.written.digest);
        self
    }

    /// The file's name as the user gave it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The text, as it was read.
    pub fn text(&self) -> &str {
        // A book without fault is UTF-8.
        std::str::from_utf8(&self.bytes).unwrap_or_default()
    }

    /// How much is in it: `5 jobs, 3 crews`.
    pub fn counts(&self) -> String {
        let book = &self.written.book;
        let count = |n: usize, what: &str| format!("{n} {what}{}", if n == 1 { "" } else { "s" });
        format!("{}, {}", count(book.jobs.len(), "job"), count(book.crews.len(), "crew"))
    }

    /// The half-day now, on the shop's clock.
    pub fn half_day_now(&self) -> HalfDay {
        let now = self.now();
        if now.hour() < 12 { HalfDay::am(now.date()) } else { HalfDay::pm(now.date()) }
    }

    /// Date and time now, on the shop's clock.
    pub fn now(&self) -> NaiveDateTime {
        // The reader knows only real time zones.
        let zone: Tz = self.written.book.shop.time_zone.parse().unwrap_or(Tz::UTC);
        clock::now().with_timezone(&zone).naive_local()
    }
}
