//! Published reports of the weather, made into weather entries of the book.
//!
//! Alerts come as OASIS CAP 1.2 ([`cap`]) or as the GeoJSON that the US National Weather Service's API serves
//! ([`geojson`]); forecasts as the same API's grid ([`forecast`]). [`weigh`] decides which alerts count, where and in which
//! half-days, and what that means by the shop's own table ([`table`]). `RULES.md` says it exactly.
//!
//! Nothing is guessed: what cannot be read is a [`FileFault`] with its place, what counts for nothing is told with the reason,
//! and what is not known is never taken for calm.

mod alert;
mod area;
pub mod cap;
mod clock;
mod eased;
mod events;
pub mod forecast;
pub mod geojson;
mod join;
mod layer;
mod letters;
mod limit;
mod measured;
mod others;
mod outcome;
mod ruling;
mod sweep;
mod xml;

pub use alert::{Alert, Ended, Info, Kind, Message, Reference, Status};
pub use area::{Area, Circle, Polygon};
pub use eased::{Eased, Easing};
pub use events::{Effect, EventEffect, table};
pub use forecast::Forecast;
pub use outcome::{Outcome, TellForecast, weigh};
pub use ruling::{Ruling, Verdict};

use chrono::{DateTime, Utc};

/// Most bytes of a file.
pub const LARGEST: usize = 50_000_000;
/// Most faults that are told of one file.
const MOST_FAULTS: usize = 20;

/// What is wrong with a file, where in it, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileFault {
    /// `line 3, column 5`, or the path of a value: `features[2].properties.ends`.
    pub at: String,
    /// What is wrong, a sentence.
    pub says: String,
    /// The remedy.
    pub help: String,
}

impl FileFault {
    fn new(at: impl Into<String>, says: impl Into<String>, help: impl Into<String>) -> Self {
        Self { at: at.into(), says: says.into(), help: help.into() }
    }
}

/// What a file of alerts gave.
#[derive(Clone, Debug, Default)]
pub struct Reading {
    /// Every alert that could be read, in the order of the file.
    pub alerts: Vec<Alert>,
    /// When the whole file was published, where it says so.
    pub updated: Option<DateTime<Utc>>,
    /// What could not be read.
    pub faults: Vec<FileFault>,
}

impl Reading {
    fn only(fault: FileFault) -> Self {
        Self { faults: vec![fault], ..Self::default() }
    }
}

/// Reads alerts, whichever of the two forms they come in.
pub fn read_alerts(bytes: &[u8]) -> Reading {
    match bytes.trim_ascii_start().strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).trim_ascii_start().first() {
        _ if bytes.len() > LARGEST => Reading::only(too_large(bytes.len())),
        None => {
            Reading::only(FileFault::new("line 1, column 1", "the file is empty", "fetch it again: empty is not calm"))
        }
        // The last three begin a file in UTF-16.
        Some(b'<' | 0xff | 0xfe | 0) => cap::read(bytes),
        Some(b'{') => geojson::read(bytes),
        Some(_) => Reading::only(FileFault::new(
            "line 1, column 1",
            "this is neither CAP (XML) nor GeoJSON",
            "give a file of alerts in OASIS CAP 1.2, or the GeoJSON of the weather service's API",
        )),
    }
}

fn too_large(bytes: usize) -> FileFault {
    let says = format!("the file has {} MB, more than the {} MB that are read", bytes / 1_000_000, LARGEST / 1_000_000);
    FileFault::new("the file", says, "ask for fewer areas: one state or county is a few hundred kB")
}

/// The faults of one file: the first are kept, the rest counted, so that a hostile file costs no more than itself.
#[derive(Default)]
struct Faults {
    kept: Vec<FileFault>,
    count: usize,
}

impl Faults {
    fn push(&mut self, fault: impl FnOnce() -> FileFault) {
        if self.kept.len() < MOST_FAULTS {
            self.kept.push(fault());
        }
        self.count += 1;
    }

    fn told(mut self) -> Vec<FileFault> {
        let more = self.count - self.kept.len();
        if more > 0 {
            self.kept.push(FileFault::new("the file", format!("{more} more faults follow"), "mend the first ones"));
        }
        self.kept
    }
}

/// A text from outside, fit to stand in a sentence: one line, at most 120 letters.
fn shown(text: &str) -> String {
    let clean = |c: char| if c.is_control() { ' ' } else { c };
    let short: String = text.trim().chars().map(clean).take(120).collect();
    if text.trim().chars().nth(120).is_some() { short + "..." } else { short }
}
