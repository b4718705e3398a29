//! A plan's file: read with a clear refusal, replaced in one piece.

use std::io::Write;
use std::path::Path;

use yardless_book::Book;
use yardless_book::half_day::{HalfDay, Horizon};
use yardless_plan::shop::{KeptStep, Shop};
use yardless_plan::{HaulRow, Plan};

use crate::book_file::BookFile;
use crate::file;
use crate::left_over::{PREFIX, sweep};
use crate::trouble::Trouble;

/// Most bytes of a plan: more than what is planned of the largest book.
const MOST_BYTES: usize = 32_000_000;
/// Most rows of a plan, all lists together.
const MOST_ROWS: usize = 100_000;

const REMEDY: &str = "`yardless plan --out PLAN` stores one";

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
            Some(now) => {
                let says = format!("{now} is outside the plan, which covers {begins} to {last}");
                Err(Trouble::input("usage::now", says, "give --now a half-day of the plan, or leave it away"))
            }
        }
    }

    /// The book made ready for judging and showing it, from the half-day on which it begins.
    pub fn shop(&self, book: &BookFile, kept: Option<&[KeptStep]>) -> Result<Shop, Trouble> {
        let now = self.plan.now.and_then(|now| self.horizon.index(now)).unwrap_or(0);
        let then = self.before(book, self.horizon.half_day(now));
        book.shop_of(&then, self.horizon, now, kept)
    }

    /// The book as of a half-day: what it says has happened since then is not known yet, and units stand where the
    /// plan's first haul of them since then sets out.
    pub fn before(&self, book: &BookFile, now: HalfDay) -> Book {
        let (mut then, happened) = book.before(Some(now));
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

    /// What to say when the plan was made from another text of the book.
    pub fn other_book(&self, path: &Path, digest: &str) -> Option<String> {
        let made_from = &self.plan.book_digest;
        (!made_from.is_empty() && made_from != digest).then(|| {
            format!(
                "`{}` was made from another text of this book; it is checked against the book as it is now",
                path.display()
            )
        })
    }
}

/// Reads the plan at a path.
pub fn read(path: &Path) -> Result<PlanFile, Trouble> {
    let name = path.display();
    let text = file::read(path, MOST_BYTES).map_err(|e| {
        if e.kind() == std::io::ErrorKind::NotFound {
            Trouble::input("plan::missing", format!("there is no plan `{name}`"), REMEDY)
        } else {
            Trouble::input("plan::unreadable", format!("the plan `{name}` cannot be read: {e}"), REMEDY)
        }
    })?;
    of_bytes(&name.to_string(), &text)
}

/// Reads the plan that the bytes hold; the name is what a refusal tells of.
pub fn of_bytes(name: &str, text: &[u8]) -> Result<PlanFile, Trouble> {
    if text.len() > MOST_BYTES {
        let says = format!("`{name}` has more than {} MB, the most that a plan may have", MOST_BYTES / 1_000_000);
        return Err(Trouble::input("plan::too-large", says, REMEDY));
    }
    let any: serde_json::Value = serde_json::from_slice(text)
        .map_err(|e| Trouble::input("plan::not-json", format!("`{name}` is not JSON: {e}"), REMEDY))?;
    if any.get("plan").is_none() {
        let says = if any.get("book").is_some() { "a book, not a plan" } else { "not a plan: it has no field `plan`" };
        return Err(Trouble::input("plan::not-a-plan", format!("`{name}` is {says}"), REMEDY));
    }
    if any["plan"] != 1 {
        let format: String = any["plan"].to_string().chars().take(20).collect();
        let says = format!("`{name}` is a plan of format {format}; this version reads format 1");
        return Err(Trouble::input("plan::format", says, REMEDY));
    }
    // Read from the text again: only so does a wrong field know its line.
    let plan: Plan = serde_json::from_slice(text)
        .map_err(|e| Trouble::input("plan::not-a-plan", format!("`{name}` is not a plan: {e}"), REMEDY))?;
    let rows = plan.steps.len() + plan.parked.len() + plan.hauls.len() + plan.left_out.len() + plan.later.len();
    if rows > MOST_ROWS {
        let says = format!("`{name}` has {rows} rows, and a plan may have {MOST_ROWS}");
        return Err(Trouble::input("plan::too-large", says, REMEDY));
    }
    let horizon = Horizon::new(plan.from, plan.weeks)
        .map_err(|e| Trouble::input("plan::not-a-plan", format!("`{name}` is not a plan: {e}"), REMEDY))?;
    Ok(PlanFile { plan, horizon })
}

/// Refuses, before any work, to write over what is not a plan.
pub fn may_replace(path: &Path) -> Result<(), Trouble> {
    let refuse =
        |says: String| Err(Trouble::input("plan::out", says, "give --out the name of a new file, or of a plan"));
    if path.is_dir() {
        return refuse(format!("`{}` is a folder", path.display()));
    }
    let text = match file::read(path, MOST_BYTES) {
        Ok(text) => text,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(e) => return refuse(format!("`{}` cannot be replaced: {e}", path.display())),
    };
    match serde_json::from_slice::<serde_json::Value>(&text) {
        Ok(any) if any.get("plan").is_some() => Ok(()),
        _ => refuse(format!("`{}` is there already and is not a plan", path.display())),
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
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    sweep(folder);
    let mut builder = tempfile::Builder::new();
    builder.prefix(PREFIX);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let stored = builder
        .tempfile_in(folder)
        .and_then(|mut file| {
            file.write_all(json(plan).as_bytes()).and_then(|()| file.as_file().sync_all()).map(|()| file)
        })
        .and_then(|file| file.persist(path).map_err(|e| e.error));
    match stored {
        Ok(_) => Ok(()),
        Err(e) => Err(Trouble::ours(
            "plan::unwritten",
            format!("the plan could not be stored in `{}`: {e}", path.display()),
            "give --out a folder that exists and may be written to; `--json` prints the plan instead",
        )),
    }
}
