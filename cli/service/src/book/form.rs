//! Forms made from the book's schema: a field for everything that a part of the book holds, in the schema's own words,
//! and the way back from what was sent to the value.

mod field;
mod job;
mod name;
mod range;
mod show;
mod step_rows;
mod take;
mod widget;

pub use field::{Field, Input, all};
pub use job::job_form;
pub use name::name_by;
pub use show::{faults_at, plain, show};
pub use step_rows::arranged;
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
pub const PARTS: [BookPart; 17] = [
    list("jobs", "Job", "job", "/jobs", &["name", "place", "contact", "rank", "earliest", "due", "steps"]),
    list("patterns", "Pattern", "pattern", "/jobs", &["name", "steps"]),
    list("ranks", "Rank", "rank", "/prices", &["name", "late_day", "left_out"]),
    list("crews", "Crew", "crew", "/people", &["name", "people", "skills", "away", "own"]),
    list("trucks", "Truck", "truck", "/people", &["name", "crew", "tow_lb", "tows", "carries", "out"]),
    list("equipment", "Equipment", "unit", "/equipment", &["name", "kinds", "moves", "weight_lb", "place", "out"]),
    list("kinds", "Kind", "kind", "/equipment", &["name", "power", "shared", "cautions"]),
    list("skills", "Skill", "skill's cautions", "/people", &["id", "cautions"]),
    list(
        "places",
        "Place",
        "place",
        "/places",
        &["name", "address", "road", "trailer_spots", "power_from", "stand_half_day"],
    ),
    list("roads", "Road", "road", "/places", &["name", "no_trailers", "expect_clear"]),
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

/// A field's name in words: `power_from` is `Power from`.
pub fn label(name: &str) -> String {
    let words = match name {
        "id" => "Id".to_owned(),
        "at" => "Where".to_owned(),
        "on" => "When".to_owned(),
        "tow_lb" => "Tows up to, pounds".to_owned(),
        "weight_lb" => "Weight, pounds".to_owned(),
        "gust_mph" => "Gusts, miles per hour".to_owned(),
        "max_gust_mph" => "Most gusts, miles per hour".to_owned(),
        "low_f" => "Low, °F".to_owned(),
        "min_low_f" => "Lowest low, °F".to_owned(),
        "high_f" => "High, °F".to_owned(),
        "max_high_f" => "Highest high, °F".to_owned(),
        "told_day" => "Told otherwise, a day".to_owned(),
        "help_half_day" => "Help, a half-day".to_owned(),
        "reserve_half_day" => "A half-day too few kept open".to_owned(),
        "drive_minute" => "A minute driven".to_owned(),
        "keep_open" => "Half-days a week kept open".to_owned(),
        "noon_minutes" => "Longest drive at noon, minutes".to_owned(),
        "help" => "Most crews that may help".to_owned(),
        "with" => "With the help of".to_owned(),
        "stop_minutes" => "Minutes to a stop and away".to_owned(),
        "at_once" => "Steps at once".to_owned(),
        "usual_with" => "Works as a rule with".to_owned(),
        "stand_half_day" => "A trailer that stands here, a half-day".to_owned(),
        "hire_half_day" => "Hire, a half-day".to_owned(),
        "hire_place" => "Hired from".to_owned(),
        "open_half_day" => "A site that is open, a half-day".to_owned(),
        "told_half_days" => "Free to change from so many half-days ahead".to_owned(),
        "change_same_date" => "Change within a date".to_owned(),
        "in_part" => "May be planned in part".to_owned(),
        "what" => "What".to_owned(),
        "who" => "Who, and how to reach them".to_owned(),
        "told" => "Told to start".to_owned(),
        "due" => "Due".to_owned(),
        other => other.replace('_', " "),
    };
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
