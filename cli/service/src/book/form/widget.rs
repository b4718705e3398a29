//! From a field's schema to how it is filled in.

use serde_json::Value;
use yardless_edit::spoken::refers_to;

use super::definition;

/// The steps of the job whose form it is, where a list of the book would be named.
pub const STEPS: &str = "steps";
/// The ways of the step whose fields they are, likewise.
pub const WAYS: &str = "ways";
/// Trucks and units, likewise: what things ride in.
pub const CARRIERS: &str = "carriers";
/// Places, trucks and units, likewise: where things belong.
pub const SPOTS: &str = "spots";

/// How a field is filled in, before there is a value.
#[derive(Clone, Debug, PartialEq)]
pub enum Widget {
    /// A text on one line.
    Text,
    /// A date.
    Date,
    /// A number; whole ones alone.
    Number { whole: bool },
    /// Texts, a row each.
    Texts,
    /// A half-day: a date, and which half of it.
    HalfDay,
    /// A range of half-days: from and to.
    Range,
    /// Ranges of half-days, a row each.
    Ranges,
    /// A time of the year.
    Season,
    /// Times of the year, a row each.
    Seasons,
    /// Hours on the clock, of morning and afternoon.
    Hours,
    /// A date from which there is power, or never.
    PowerFrom,
    /// A time zone.
    Zone,
    /// Units that give power: a number, or yes.
    Power,
    /// Yes or no, and which where nothing is said.
    Tick { default: bool },
    /// Yes, no or nothing said, or what was said is taken back.
    Said,
    /// One of the schema's words.
    Word(Vec<String>),
    /// Any of the schema's words.
    Words(Vec<String>),
    /// One of what a list of the book, or of the job, has.
    One(&'static str),
    /// Any of what a list of the book has.
    Any(&'static str),
    /// Any of what a list of the book has, and others that are typed.
    Tags(&'static str),
    /// Latitude and longitude.
    Coordinates,
    /// The steps before, which may also be none on purpose.
    After,
    /// An object.
    Group(String),
    /// A list of objects.
    List(String),
}

/// The widget of a field of one of the book's objects; `None`: it has none.
pub fn widget(of: &str, field: &str, schema: &Value) -> Option<Widget> {
    let named = match (of, field) {
        (_, "note") => Widget::Text,
        ("Parked", "from" | "to") => Widget::One(STEPS),
        ("Fixed" | "DoneStep" | "Progress", "way") => Widget::One(WAYS),
        ("Thing" | "Seen", "rides_in") => Widget::One(CARRIERS),
        ("Thing", "home") => Widget::One(SPOTS),
        ("Crew", "skills") => Widget::Tags("skills"),
        ("Equipment", "kinds") => Widget::Tags("kinds"),
        ("Step" | "StepWay", "needs_power") => Widget::Power,
        ("ShopFacts", "time_zone") => Widget::Zone,
        ("ShopFacts", "hours") => Widget::Hours,
        ("Step", "after") => Widget::After,
        // Nothing said of a job: as the shop says.
        ("Weather", "storm" | "no_travel" | "rain") | ("Job", "in_part") => Widget::Said,
        ("Place", "at") => Widget::Coordinates,
        _ => {
            let widget = of_schema(schema)?;
            return Some(match (refers_to(of, field), widget) {
                (Some(list), Widget::Texts) => Widget::Any(list),
                (Some(list), _) => Widget::One(list),
                (None, widget) => widget,
            });
        }
    };
    Some(named)
}

fn of_schema(schema: &Value) -> Option<Widget> {
    if let Some(reference) = schema.get("$ref").and_then(Value::as_str) {
        let of = reference.rsplit('/').next()?;
        let target = definition(of);
        if target["type"] == "object" {
            return Some(Widget::Group(of.to_owned()));
        }
        return of_schema(target);
    }
    if let Some(words) = words(schema) {
        return Some(Widget::Word(words));
    }
    if is_range(schema) {
        return Some(Widget::Range);
    }
    if let Some(choices) = schema.get("anyOf").and_then(Value::as_array) {
        // What a report may also take back.
        return of_schema(choices.first()?);
    }
    match schema.get("type").and_then(Value::as_str)? {
        "boolean" => Some(Widget::Tick { default: schema["default"] == true }),
        "integer" => Some(Widget::Number { whole: true }),
        "number" => Some(Widget::Number { whole: false }),
        "string" => Some(match schema["format"].as_str() {
            Some("date") => Widget::Date,
            Some("half-day") => Widget::HalfDay,
            Some("season") => Widget::Season,
            Some("power-from") => Widget::PowerFrom,
            _ => Widget::Text,
        }),
        "array" => {
            let items = schema.get("items")?;
            if is_range(items) {
                return Some(Widget::Ranges);
            }
            if of_schema(items) == Some(Widget::Season) {
                return Some(Widget::Seasons);
            }
            let target = items.get("$ref").and_then(Value::as_str).and_then(|of| of.rsplit('/').next());
            match target.map(|of| (of, definition(of))) {
                Some((of, target)) if target["type"] == "object" => Some(Widget::List(of.to_owned())),
                Some((_, target)) if words(target).is_some() => Some(Widget::Words(words(target)?)),
                _ => Some(Widget::Texts),
            }
        }
        _ => None,
    }
}

/// Whether a range is meant, in text or with weekdays.
fn is_range(schema: &Value) -> bool {
    schema["anyOf"].as_array().into_iter().flatten().any(|of| of["$ref"] == "#/$defs/When")
}

/// The words of a schema that knows no other.
fn words(schema: &Value) -> Option<Vec<String>> {
    let texts = |list: &Value, of: &dyn Fn(&Value) -> Value| -> Option<Vec<String>> {
        list.as_array()?.iter().map(|one| of(one).as_str().map(str::to_owned)).collect()
    };
    schema
        .get("enum")
        .and_then(|list| texts(list, &Value::clone))
        .or_else(|| schema.get("oneOf").and_then(|list| texts(list, &|one| one["const"].clone())))
}
