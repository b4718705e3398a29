//! Small fields that make one value together: dates, choices, boxes to tick.

use serde_json::{Value, json};

use super::{Field, Input};

/// The days of the week, by the names that the book gives them.
pub const WEEK: [(&str, &str); 7] =
    [("mon", "Mon"), ("tue", "Tue"), ("wed", "Wed"), ("thu", "Thu"), ("fri", "Fri"), ("sat", "Sat"), ("sun", "Sun")];

/// A field within a row of them.
pub fn cell(name: String, label: &str, input: Input) -> Field {
    Field {
        name,
        label: label.to_owned(),
        hint: String::new(),
        required: false,
        default: String::new(),
        faults: Vec::new(),
        input,
    }
}

/// A date.
pub fn date(value: &str) -> Input {
    Input::Line { value: value.to_owned(), kind: "date", keys: "text" }
}

/// Hours and minutes.
pub fn time(value: &str) -> Input {
    Input::Line { value: value.to_owned(), kind: "time", keys: "text" }
}

/// A number.
pub fn number(value: &str, whole: bool) -> Input {
    Input::Line { value: value.to_owned(), kind: "text", keys: if whole { "numeric" } else { "decimal" } }
}

/// A text.
pub fn text(value: &str) -> Input {
    Input::Line { value: value.to_owned(), kind: "text", keys: "text" }
}

/// One of several.
pub fn pick(all: &[(&str, &str)], chosen: &str) -> Input {
    Input::Pick(all.iter().map(|(of, says)| ((*of).to_owned(), (*says).to_owned())).collect(), chosen.to_owned())
}

/// Yes or no.
pub fn tick(yes: bool) -> Input {
    Input::Tick(yes)
}

/// A value as it is typed.
pub fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Null => String::new(),
        other => other.to_string(),
    }
}

/// A number where it is one.
pub fn read_number(text: &str, whole: bool) -> Value {
    if let Ok(number) = text.parse::<i64>() {
        return number.into();
    }
    match text.parse::<f64>() {
        Ok(number) if !whole && number.is_finite() => json!(number),
        _ => text.into(),
    }
}
