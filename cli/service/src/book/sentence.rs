//! What is said of a change that a form makes: `Changed the job Birch attic: wanted by, steps`.

use serde_json::Value;
use yardless_edit::spoken::label;

use crate::book::form::BookPart;
use crate::book::merge::same;

fn called(of: &Value) -> String {
    of["name"].as_str().or(of["id"].as_str()).map(|name| format!(" {name}")).unwrap_or_default()
}

/// A new member.
pub fn added(part: BookPart, value: &Value) -> String {
    format!("Added the {}{}", part.one, called(value))
}

/// A member that goes.
pub fn removed(part: BookPart, was: &Value) -> String {
    format!("Removed the {}{}", part.one, called(was))
}

/// A part or a member with other values.
pub fn changed(part: BookPart, was: &Value, value: &Value) -> String {
    let names = |of: &Value| of.as_object().map(|of| of.keys().cloned().collect::<Vec<_>>()).unwrap_or_default();
    let mut fields = names(value);
    fields.extend(names(was).into_iter().filter(|name| value.get(name).is_none()));
    fields.retain(|name| !same(&was[name.as_str()], &value[name.as_str()]));
    let fields: Vec<String> = fields.iter().map(|name| label(part.of, name).to_lowercase()).collect();
    let of = if part.list { called(was) } else { String::new() };
    format!("Changed the {}{of}: {}", part.one, fields.join(", "))
}
