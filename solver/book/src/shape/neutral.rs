//! Stand-ins for faulty values, so that the rest of the book can still be looked through.

use serde_json::{Map, Value, json};

use super::rules::Rules;

/// A value that keeps the schema and means as little as possible. Never part of a book that is handed out.
pub(super) fn neutral(rules: &Rules) -> Value {
    let mut rules = rules.clone();
    if let Some(first) = rules.list("anyOf").first() {
        rules.add(first);
    }
    match rules.takes() {
        "string" => match (rules.words().first(), rules.text("format")) {
            (Some(word), _) => (*word).into(),
            (None, "date" | "range") => "2000-01-03".into(),
            (None, "half-day") => "2000-01-03 am".into(),
            (None, "season") => "01-01/01-01".into(),
            (None, "clock-hours") => "07:30-11:30".into(),
            (None, "power-from") => "never".into(),
            (None, "time-zone") => "UTC".into(),
            (None, _) => "".into(),
        },
        "integer" => json!(rules.number("minimum").unwrap_or(0.0) as i64),
        "number" => json!(rules.number("minimum").unwrap_or(1.0)),
        "boolean" => false.into(),
        "array" => {
            let item = rules.get("items").map_or(Value::Null, |entry| neutral(&Rules::of(entry)));
            vec![item; rules.number("minItems").unwrap_or(0.0) as usize].into()
        }
        "object" => {
            let required = rules.list("required").iter().filter_map(Value::as_str);
            let fields = required.filter_map(|name| Some((name.to_owned(), neutral(&Rules::of(rules.field(name)?)))));
            Value::Object(fields.collect::<Map<_, _>>())
        }
        _ => Value::Null,
    }
}
