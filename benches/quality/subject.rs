//! A generated book, written to a file for those who plan it.

use std::path::PathBuf;

use chrono::NaiveDate;
use yardless_book::half_day::Horizon;
use yardless_plan::shop::Shop;

use crate::args::{Books, Size};
use yardless_support::generate::full::full;
use yardless_support::generate::{Shape, generate};
use yardless_support::monday;

pub struct Subject {
    /// Taken away again in the end.
    pub path: PathBuf,
    pub from: NaiveDate,
    pub weeks: u32,
    /// SHA-256 of the file.
    pub digest: String,
    /// What plans are judged by.
    pub shop: Shop,
}

impl Subject {
    pub fn write(size: Size, books: Books, seed: u64) -> Result<Self, String> {
        let Size { jobs, weeks, crews } = size;
        let shape = if books.tight { Shape::tight(jobs, weeks, crews) } else { Shape::new(jobs, weeks, crews) };
        let book = if books.full { full(shape, seed) } else { generate(shape, seed) };
        let bytes = serde_json::to_vec(&book).map_err(|e| format!("the book of seed {seed}: {e}"))?;
        let written =
            yardless_book::read(&bytes).map_err(|faults| format!("the book of seed {seed}: {:?}", faults.all))?;
        let horizon = Horizon::new(monday(), size.weeks).map_err(|e| e.to_string())?;
        let shop =
            Shop::new(&written.book, horizon).map_err(|faults| format!("the book of seed {seed}: {faults:?}"))?;
        let name = format!("yardless-{}-{books}-{jobs}-{weeks}-{crews}-{seed}.json", std::process::id());
        let path = std::env::temp_dir().join(name);
        std::fs::write(&path, &bytes).map_err(|e| format!("{}: {e}", path.display()))?;
        Ok(Self { path, from: monday(), weeks, digest: written.digest, shop })
    }

    /// What every planner is told: file, Monday, weeks, seconds.
    pub fn words(&self, seconds: f64) -> [String; 4] {
        [self.path.display().to_string(), self.from.to_string(), self.weeks.to_string(), seconds.to_string()]
    }
}

impl Drop for Subject {
    fn drop(&mut self) {
        // Should it stay, the system clears its temporary folder.
        let _ = std::fs::remove_file(&self.path);
    }
}
