//! A plan's file: read with a clear refusal, replaced in one piece.

use std::path::Path;

use yardless_book::half_day::{HalfDay, Horizon};
use yardless_plan::Plan;

use crate::book_file::BookFile;
use crate::file;
use crate::trouble::words::Called;
use crate::trouble::{OfPlan, Trouble};
use crate::whole::{May, replace};

/// Most bytes of a plan: more than what is planned of the largest book.
const MOST_BYTES: usize = 32_000_000;
/// Most rows of a plan, all lists together.
const MOST_ROWS: usize = 100_000;

/// A stored plan and the time it covers.
#[derive(Clone)]
pub struct PlanFile {
    /// The plan.
    pub plan: Plan,
    /// Its horizon.
    pub horizon: Horizon,
}

impl PlanFile {
    /// The half-day on which it begins.
    pub fn begins(&self) -> HalfDay {
        self.plan.now.unwrap_or_else(|| self.horizon.half_day(0))
    }

    /// The half-day now, within the plan: as given, else by the clock while the plan lasts, else its beginning.
    pub fn now(&self, book: &BookFile, given: Option<HalfDay>) -> Result<HalfDay, Trouble> {
        let begins = self.begins();
        let last = self.horizon.half_day(self.horizon.len() - 1);
        let within = |now: &HalfDay| (begins..=last).contains(now);
        match given {
            None => Ok(Some(book.half_day_now()).filter(within).unwrap_or(begins)),
            Some(now) if within(&now) => Ok(now),
            Some(now) => Err(OfPlan::Outside { now, first: begins, last }.into()),
        }
    }

    /// Whether the plan was made from another text of the book than the one with a digest.
    pub fn is_of_other_text(&self, digest: &str) -> bool {
        let made_from = &self.plan.book_digest;
        !made_from.is_empty() && made_from != digest
    }

    /// What to say when it was.
    pub fn other_book(&self, path: &Path, digest: &str) -> Option<String> {
        self.is_of_other_text(digest).then(|| {
            format!(
                "`{}` was made from another text of this book; it is checked against the book as it is now",
                path.display()
            )
        })
    }
}

/// Reads the plan at a path.
pub fn read(path: &Path) -> Result<PlanFile, Trouble> {
    let name = path.display().to_string();
    let text = file::read(path, MOST_BYTES).map_err(|e| OfPlan::unread(&name, &e))?;
    of_bytes(&Called::File(name), &text)
}

/// Reads the plan that the bytes hold; what it is called is what a refusal tells of.
pub fn of_bytes(called: &Called, text: &[u8]) -> Result<PlanFile, Trouble> {
    let called = || called.clone();
    if text.len() > MOST_BYTES {
        return Err(OfPlan::TooLarge { plan: called(), most: MOST_BYTES }.into());
    }
    let any: serde_json::Value =
        serde_json::from_slice(text).map_err(|e| OfPlan::NotJson { plan: called(), why: e.to_string() })?;
    if any.get("plan").is_none() {
        let is_a_book = any.get("book").is_some();
        let plan = called();
        return Err(if is_a_book { OfPlan::IsABook { plan } } else { OfPlan::NoField { plan } }.into());
    }
    if any["plan"] != 1 {
        let format: String = any["plan"].to_string().chars().take(20).collect();
        return Err(OfPlan::Format { plan: called(), format }.into());
    }
    // Read from the text again: only so does a wrong field know its line.
    let plan: Plan =
        serde_json::from_slice(text).map_err(|e| OfPlan::NotAPlan { plan: called(), why: e.to_string() })?;
    let of =
        |plan: &Plan| plan.steps.len() + plan.parked.len() + plan.hauls.len() + plan.left_out.len() + plan.later.len();
    let rows = plan.and_so_far().map(of).sum();
    if rows > MOST_ROWS {
        return Err(OfPlan::TooManyRows { plan: called(), rows, most: MOST_ROWS }.into());
    }
    let weeks = |plan: &Plan| {
        Horizon::new(plan.from, plan.weeks).map_err(|e| OfPlan::NotAPlan { plan: called(), why: e.to_string() })
    };
    let horizon = weeks(&plan)?;
    for earlier in plan.and_so_far().skip(1) {
        weeks(earlier)?;
    }
    Ok(PlanFile { plan, horizon })
}

/// Refuses, before any work, to write over what is not a plan.
pub fn may_replace(path: &Path) -> Result<(), Trouble> {
    let name = || path.display().to_string();
    if path.is_dir() {
        return Err(OfPlan::OutIsFolder { path: name() }.into());
    }
    // Said before anything is searched for, not after.
    if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty() && !folder.is_dir()) {
        return Err(OfPlan::OutNoFolder { path: name(), folder: folder.display().to_string() }.into());
    }
    let text = match file::read(path, MOST_BYTES) {
        Ok(text) => text,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(e) => return Err(OfPlan::OutUnreadable { path: name(), why: e.to_string() }.into()),
    };
    match serde_json::from_slice::<serde_json::Value>(&text) {
        Ok(any) if any.get("plan").is_some() => Ok(()),
        _ => Err(OfPlan::OutIsNoPlan { path: name() }.into()),
    }
}

/// The plan as stored and given out.
pub fn json(plan: &Plan) -> String {
    // A plan holds only texts, dates and numbers, which JSON can always write.
    let mut text = serde_json::to_string_pretty(plan).expect("a plan is plain data");
    text.push('\n');
    text
}

/// Stores a plan: the whole file or none of it, whatever happens meanwhile.
pub fn write(path: &Path, plan: &Plan) -> Result<(), Trouble> {
    let stored = replace(path, json(plan).as_bytes(), May::AsUsual);
    Ok(stored.map_err(|e| OfPlan::Unwritten { path: path.display().to_string(), why: e.to_string() })?)
}
