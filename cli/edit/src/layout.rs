//! How a new value is written: on one line where it is short, spaced as its neighbours are.

use serde::Serialize;
use serde_json::Value;

/// Longest value on one line, in characters.
const ONE_LINE: usize = 160;

/// What the text around a new value looks like.
#[derive(Clone, Copy, Debug)]
pub struct Style<'t> {
    /// No spaces at all: `{"id":"elm"}`.
    pub tight: bool,
    /// The line break that the text uses.
    pub newline: &'t str,
    /// The white space at the head of the line that the value begins on.
    pub indent: &'t str,
}

/// A part of the book as JSON, numbers without needless decimals: `2`, `1.5`.
pub fn value(part: &impl Serialize) -> Value {
    // Parts of a book hold only texts, numbers and dates, which JSON can always write.
    plain(serde_json::to_value(part).unwrap_or_default())
}

fn plain(value: Value) -> Value {
    match value {
        Value::Number(number) => match number.as_f64() {
            Some(whole) if whole.fract() == 0.0 && whole.abs() < 1e15 => (whole as i64).into(),
            _ => Value::Number(number),
        },
        Value::Array(list) => list.into_iter().map(plain).collect(),
        Value::Object(fields) => fields.into_iter().map(|(name, value)| (name, plain(value))).collect(),
        other => other,
    }
}

/// The value written out.
pub fn written(value: &Value, style: Style) -> String {
    let line = one_line(value, style.tight);
    if style.tight || line.chars().count() <= ONE_LINE {
        return line;
    }
    let rows: Vec<String> = match value {
        Value::Object(fields) => {
            fields.iter().map(|(name, value)| format!("{}: {}", text(name), one_line(value, false))).collect()
        }
        Value::Array(elements) => elements.iter().map(|element| one_line(element, false)).collect(),
        _ => return line,
    };
    let (open, close) = if value.is_object() { ('{', '}') } else { ('[', ']') };
    let (newline, indent) = (style.newline, style.indent);
    let rows = rows.join(&format!(",{newline}{indent}  "));
    format!("{open}{newline}{indent}  {rows}{newline}{indent}{close}")
}

/// A text as JSON writes it.
pub fn text(name: &str) -> String {
    Value::from(name).to_string()
}

fn one_line(value: &Value, tight: bool) -> String {
    let (comma, colon) = if tight { (",", ":") } else { (", ", ": ") };
    match value {
        Value::Object(fields) if fields.is_empty() => "{}".to_owned(),
        Value::Object(fields) => {
            let fields: Vec<String> =
                fields.iter().map(|(name, value)| format!("{}{colon}{}", text(name), one_line(value, tight))).collect();
            let pad = if tight { "" } else { " " };
            format!("{{{pad}{}{pad}}}", fields.join(comma))
        }
        Value::Array(elements) => {
            let elements: Vec<String> = elements.iter().map(|element| one_line(element, tight)).collect();
            format!("[{}]", elements.join(comma))
        }
        other => other.to_string(),
    }
}
