//! What each published event does: the shop's own policy. The book's rows go before the defaults here.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use yardless_book::{Book, EventRow};

/// What an event does wherever it is in force.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[allow(clippy::struct_excessive_bools)] // the fields of a weather entry
pub struct Effect {
    /// A storm.
    pub storm: bool,
    /// Nobody travels.
    pub no_travel: bool,
    /// Roads are closed to trailers.
    pub covered: bool,
    /// Gusts of this at least, miles per hour.
    pub gust_mph: Option<f64>,
    /// A low of this at most, degrees Fahrenheit.
    pub low_f: Option<f64>,
    /// Rain.
    pub rain: bool,
}

impl Effect {
    /// Whether it does nothing: the event is shown only.
    pub fn is_nothing(&self) -> bool {
        *self == Self::default()
    }
}

/// A row of the table in effect.
#[derive(Clone, Debug, PartialEq)]
pub struct EventEffect {
    /// The event's name as published.
    pub event: String,
    /// What it does.
    pub effect: Effect,
    /// Whether the row is the book's own.
    pub from_book: bool,
    /// Where a default comes from.
    pub why: &'static str,
}

const SHUT: Effect = Effect { storm: true, no_travel: true, covered: true, gust_mph: None, low_f: None, rain: false };
const STORM: Effect = Effect { no_travel: false, ..SHUT };
const COVERED: Effect = Effect { storm: false, ..STORM };
const NOTHING: Effect = Effect { covered: false, ..COVERED };

/// The shop's defaults. What an event does is policy, no published rule; a number stands beside its source.
const DEFAULTS: [(&str, Effect, &str); 12] = [
    (
        "Blizzard Warning",
        Effect { gust_mph: Some(35.0), ..SHUT },
        "gusts of 35 mph or more: criteria page of the NWS office at Caribou; the rest is policy",
    ),
    ("Ice Storm Warning", SHUT, "policy; common practice, no source"),
    ("Winter Storm Warning", STORM, "policy; common practice, no source"),
    ("Lake Effect Snow Warning", STORM, "policy; common practice, no source"),
    ("Snow Squall Warning", COVERED, "policy; common practice, no source"),
    ("Winter Weather Advisory", COVERED, "policy; common practice, no source"),
    (
        "High Wind Warning",
        Effect { gust_mph: Some(58.0), ..NOTHING },
        "gusts of 58 mph or more: NWSI 10-515 (not verified)",
    ),
    ("Wind Advisory", Effect { gust_mph: Some(46.0), ..NOTHING }, "gusts of 46 to 57 mph: NWSI 10-515 (not verified)"),
    (
        "Severe Thunderstorm Warning",
        Effect { storm: true, gust_mph: Some(58.0), ..NOTHING },
        "gusts of 58 mph or more: NWSI 10-511 (not verified); the rest is policy",
    ),
    ("Tornado Warning", Effect { covered: false, ..SHUT }, "policy; common practice, no source"),
    ("Extreme Cold Warning", NOTHING, "shown only: criteria are local; give `low_f` in a row of your own"),
    ("Cold Weather Advisory", NOTHING, "shown only: criteria are local; give `low_f` in a row of your own"),
];

/// The table in effect: the book's rows, then the defaults that it does not replace.
pub fn table(book: &Book) -> Vec<EventEffect> {
    Table::of(book).rows
}

/// The table in effect, and its rows by event.
pub(super) struct Table {
    pub(super) rows: Vec<EventEffect>,
    by_event: BTreeMap<String, usize>,
}

impl Table {
    pub(super) fn of(book: &Book) -> Self {
        let own = book.reports.iter().flat_map(|reports| &reports.events);
        let own = own.map(|row| EventEffect {
            event: row.event.clone(),
            effect: effect(row),
            from_book: true,
            why: "the book",
        });
        let defaults = DEFAULTS.iter();
        let defaults = defaults.map(|&(event, effect, why)| EventEffect {
            event: event.to_owned(),
            effect,
            from_book: false,
            why,
        });
        let mut table = Self { rows: Vec::new(), by_event: BTreeMap::new() };
        for row in own.chain(defaults) {
            if let Entry::Vacant(free) = table.by_event.entry(key(&row.event)) {
                free.insert(table.rows.len());
                table.rows.push(row);
            }
        }
        table
    }

    /// The row of an event, by its position.
    pub(super) fn find(&self, event: &str) -> Option<usize> {
        self.by_event.get(&key(event)).copied()
    }
}

/// Capitals do not matter.
fn key(event: &str) -> String {
    event.trim().to_lowercase()
}

fn effect(row: &EventRow) -> Effect {
    Effect {
        storm: row.storm,
        no_travel: row.no_travel,
        covered: row.roads.is_some(),
        gust_mph: row.gust_mph,
        low_f: row.low_f,
        rain: row.rain,
    }
}
