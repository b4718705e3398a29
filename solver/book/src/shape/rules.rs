//! What the schema asks of one value: its own entry and all that it refers to.

use std::fmt::Write;

use serde_json::{Map, Value};

use super::super::schema;

/// The schema entries that hold for one value, the nearest first.
#[derive(Clone)]
pub(super) struct Rules(Vec<&'static Map<String, Value>>);

impl Rules {
    /// The rules of a schema entry, references followed.
    pub(super) fn of(entry: &'static Value) -> Self {
        let mut rules = Self(vec![]);
        rules.add(entry);
        rules
    }

    /// Further rules for the same value.
    pub(super) fn add(&mut self, entry: &'static Value) {
        let mut next = entry.as_object();
        while let Some(entry) = next {
            self.0.push(entry);
            next = entry
                .get("$ref")
                .and_then(Value::as_str)
                .and_then(|reference| schema::shared().pointer(reference.trim_start_matches('#')))
                .and_then(Value::as_object);
        }
    }

    /// The nearest value of a keyword.
    pub(super) fn get(&self, keyword: &str) -> Option<&'static Value> {
        self.0.iter().find_map(|entry| entry.get(keyword))
    }
    /// The nearest text of a keyword.
    pub(super) fn text(&self, keyword: &str) -> &'static str {
        self.get(keyword).and_then(Value::as_str).unwrap_or_default()
    }
    /// The nearest number of a keyword.
    pub(super) fn number(&self, keyword: &str) -> Option<f64> {
        self.get(keyword).and_then(Value::as_f64)
    }
    /// The nearest list of a keyword.
    pub(super) fn list(&self, keyword: &str) -> &'static [Value] {
        self.get(keyword).and_then(Value::as_array).map_or(&[], Vec::as_slice)
    }
    /// The entry of a field.
    pub(super) fn field(&self, name: &str) -> Option<&'static Value> {
        self.get("properties")?.get(name)
    }
    /// The names of all fields.
    pub(super) fn fields(&self) -> impl Iterator<Item = &'static str> {
        self.get("properties").and_then(Value::as_object).into_iter().flat_map(|map| map.keys().map(String::as_str))
    }
    /// Whether a field must be there.
    pub(super) fn requires(&self, name: &str) -> bool {
        self.list("required").iter().any(|required| required == name)
    }

    /// The type of value that is taken; empty where any is, or where there is a choice.
    pub(super) fn takes(&self) -> &'static str {
        match (self.text("type"), self.get("const")) {
            ("", Some(Value::Null)) => "null",
            ("", _) if self.get("oneOf").is_some() => "string",
            (named, _) => named,
        }
    }

    /// The words that are allowed; empty where any text is.
    pub(super) fn words(&self) -> Vec<&'static str> {
        let listed = self.list("enum").iter();
        listed
            .chain(self.list("oneOf").iter().filter_map(|choice| choice.get("const")))
            .filter_map(Value::as_str)
            .collect()
    }

    /// The types of value that are taken, in the owner's words.
    pub(super) fn wanted(&self) -> String {
        let choices: Vec<Rules> = self.list("anyOf").iter().map(Rules::of).collect();
        if choices.is_empty() {
            let example = match self.text("format") {
                "date" => "2026-12-09",
                "range" => "2026-12-09 pm/2026-12-11",
                "half-day" => "2026-12-09 am",
                "season" => "11-15/04-15",
                "clock-hours" => "07:30-11:30",
                _ if self.takes() == "array" => return format!("{}, also for one alone", in_words("array")),
                _ => return in_words(self.takes()).to_owned(),
            };
            return format!("text such as \"{example}\"");
        }
        choices.iter().map(Rules::wanted).collect::<Vec<_>>().join(", or ")
    }

    /// The limits of a number, in the owner's words: `0 to 1,000`, `above 0 and at most 12`.
    pub(super) fn limits(&self) -> String {
        let (least, above, most) = (self.number("minimum"), self.number("exclusiveMinimum"), self.number("maximum"));
        let mut out = String::new();
        match (above, least, most) {
            (Some(above), _, Some(most)) => write!(out, "above {} and at most {}", grouped(above), grouped(most)),
            (Some(above), _, None) => write!(out, "above {}", grouped(above)),
            (None, Some(least), Some(most)) if (least - most).abs() < f64::EPSILON => write!(out, "{}", grouped(least)),
            (None, Some(least), Some(most)) => write!(out, "{} to {}", grouped(least), grouped(most)),
            (None, Some(least), None) => write!(out, "at least {}", grouped(least)),
            (None, None, Some(most)) => write!(out, "at most {}", grouped(most)),
            (None, None, None) => Ok(()),
        }
        .expect("a text takes every write");
        out
    }
}

/// A schema's type in the owner's words.
pub(super) fn in_words(named: &str) -> &'static str {
    match named {
        "string" => "text in quotes",
        "integer" => "a whole number",
        "number" => "a number",
        "boolean" => "true or false",
        "array" => "a list [ ... ]",
        "object" => "a group of fields { ... }",
        _ => "null to take an earlier report back",
    }
}

/// A limit with thousands set apart; the limits of a book are whole.
fn grouped(number: f64) -> String {
    let digits = format!("{:.0}", number.abs());
    let mut out = String::from(if number < 0.0 { "-" } else { "" });
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 {
            out.push(',');
        }
        out.push(digit);
    }
    out
}
