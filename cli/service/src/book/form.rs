//! Forms made from the book's schema: a field for everything that a part of the book holds, in the schema's own words,
//! and the way back from what was sent to the value.

mod after;
mod cells;
mod field;
mod hints;
mod job;
mod name;
mod range;
mod show;
mod step_rows;
mod take;
mod widget;
mod yearly;

pub use cells::plain;
pub use field::{Field, Input, all, wrong_in};
pub use job::job_form;
pub use name::{id_by, name_by};
pub use show::{faults_at, show};
pub use step_rows::{arranged, at_row};
pub use take::take;

use std::sync::LazyLock;

use serde_json::Value;
use yardless_book::schema;

/// A part of the book that has a form.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BookPart {
    /// The book's field.
    pub field: &'static str,
    /// The schema's name of it, or of a member of its list.
    pub of: &'static str,
    /// What it, or a member, is called.
    pub one: &'static str,
    /// The page that lists it.
    pub page: &'static str,
    /// Whether it is a list.
    pub list: bool,
    /// What a list shows of each member.
    pub columns: &'static [&'static str],
}

const fn list(
    field: &'static str,
    of: &'static str,
    one: &'static str,
    page: &'static str,
    columns: &'static [&'static str],
) -> BookPart {
    BookPart { field, of, one, page, list: true, columns }
}

const fn alone(field: &'static str, of: &'static str, one: &'static str, page: &'static str) -> BookPart {
    BookPart { field, of, one, page, list: false, columns: &[] }
}

/// Every part of the book but its weather, which has a page of its own.
pub const PARTS: [BookPart; 18] = [
    list("jobs", "Job", "job", "/jobs", &["name", "place", "contact", "rank", "earliest", "due", "steps"]),
    list("patterns", "Pattern", "pattern", "/jobs", &["name", "steps"]),
    list("ranks", "Rank", "rank", "/prices", &["name", "late_day", "left_out"]),
    list("crews", "Crew", "crew", "/people", &["name", "people", "skills", "away", "own"]),
    list("trucks", "Truck", "truck", "/people", &["name", "crew", "tow_lb", "tows", "carries", "out"]),
    list("equipment", "Equipment", "unit", "/equipment", &["name", "kinds", "moves", "weight_lb", "place", "out"]),
    list("kinds", "Kind", "kind", "/equipment", &["name", "power", "shared", "cautions"]),
    list("things", "Thing", "thing", "/equipment", &["name", "counts_as", "rides_in", "at", "home", "seen"]),
    list("skills", "Skill", "skill's cautions", "/people", &["id", "cautions"]),
    list(
        "places",
        "Place",
        "place",
        "/places",
        &["name", "address", "road", "trailer_spots", "power_from", "stand_half_day"],
    ),
    list("roads", "Road", "road", "/places", &["name", "no_trailers", "expect_clear", "posted"]),
    list("drives", "Drive", "drive", "/places", &["from", "to", "minutes"]),
    alone("shop", "ShopFacts", "shop", "/prices"),
    alone("prices", "Prices", "price list", "/prices"),
    alone("hauling", "Hauling", "hauling", "/prices"),
    alone("chance", "Chance", "chance", "/prices"),
    alone("reports", "Reports", "report table", "/prices"),
    list(
        "weather",
        "Weather",
        "weather entry",
        "/weather",
        &["on", "at", "storm", "no_travel", "roads", "gust_mph", "low_f", "high_f", "rain"],
    ),
];

/// A part by the book's field.
pub fn part(field: &str) -> Option<BookPart> {
    PARTS.into_iter().find(|part| part.field == field)
}

/// The schema of one of the book's objects.
pub fn definition(of: &str) -> &'static Value {
    static SCHEMA: LazyLock<Value> = LazyLock::new(schema);
    &SCHEMA["$defs"][of]
}
