//! From a value to the fields of its form.

use std::collections::BTreeMap;
use std::fmt::Write;

use serde_json::{Map, Value};
use yardless_book::{Fault, Path, PathPart};

use super::range::typed;
use super::widget::{STEPS, Widget, widget};
use super::{Field, Input, definition, label};

/// The fields of one of the book's objects. `prefix`: what their names begin with; `book`: what references may name;
/// `faults`: by the field's name.
pub fn show(of: &str, value: &Value, prefix: &str, book: &Value, faults: &BTreeMap<String, Vec<String>>) -> Vec<Field> {
    within(of, value, prefix, &Known { book, steps: &Value::Null }, faults)
}

/// What references may name: the lists of the book, and the steps of the job or pattern whose form it is.
struct Known<'b> {
    book: &'b Value,
    steps: &'b Value,
}

fn within(of: &str, value: &Value, prefix: &str, known: &Known, faults: &BTreeMap<String, Vec<String>>) -> Vec<Field> {
    let of_job = Known { steps: &value["steps"], ..*known };
    let known = if ["Job", "Pattern"].contains(&of) { &of_job } else { known };
    let definition = definition(of);
    let required: Vec<&str> =
        definition["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    let none = Map::new();
    let fields = definition["properties"].as_object().unwrap_or(&none);
    let one = |(name, schema): (&String, &Value)| {
        let at = if prefix.is_empty() { name.clone() } else { format!("{prefix}.{name}") };
        let widget = widget(of, name, schema)?;
        let input = input(&widget, value.get(name), &at, known, faults);
        let chosen = matches!(widget, Widget::One(_));
        Some(Field {
            label: if name == "id" && chosen { label(&of.to_lowercase()) } else { label(name) },
            hint: if name == "id" && fields.contains_key("name") {
                format!("{} Left empty: made from the name.", hint(&widget, schema))
            } else {
                hint(&widget, schema)
            },
            required: (name != "id" || chosen) && required.contains(&name.as_str()),
            faults: of_field(&widget, &at, faults),
            name: at,
            default: schema["default"].as_f64().map_or_else(String::new, |default| default.to_string()),
            input,
        })
    };
    fields.iter().filter_map(one).collect()
}

/// The faults of a field; of one without fields of its own those of its entries too, and of a list those of whole rows.
fn of_field(widget: &Widget, at: &str, faults: &BTreeMap<String, Vec<String>>) -> Vec<String> {
    let within = |name: &str| name.strip_prefix(at).and_then(|rest| rest.strip_prefix('.')).map(str::to_owned);
    let mine = |name: &str| {
        name == at
            || within(name).is_some_and(|rest| match widget {
                Widget::Group(_) => false,
                Widget::List(_) => rest.parse::<usize>().is_ok(),
                _ => true,
            })
    };
    let row = |name: &str| {
        let n = within(name).and_then(|rest| rest.parse::<usize>().ok()).filter(|_| matches!(widget, Widget::List(_)));
        n.map_or(String::new(), |n| format!("{}: ", n + 1))
    };
    let all = faults.iter().filter(|(name, _)| mine(name));
    all.flat_map(|(name, says)| says.iter().map(|says| format!("{}{says}", row(name)))).collect()
}

/// Without the rules' numbers and the marks of the book's format: `(C1)`, `` `due` ``.
fn plainly(text: &str) -> String {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut plain = String::new();
    let mut rest = text.as_str();
    while let Some((before, after)) = rest.split_once(" (") {
        plain.push_str(before);
        let (inside, next) = after.split_once(')').unwrap_or((after, ""));
        let rule = |word: &str| {
            word.len() >= 2
                && word.starts_with(|c: char| c.is_ascii_uppercase())
                && word[1..].bytes().all(|byte| byte.is_ascii_digit())
        };
        if !inside.split(", ").all(rule) {
            let _ = write!(plain, " ({inside})");
        }
        rest = next;
    }
    plain.push_str(rest);
    plain.replace('`', "")
}

fn hint(widget: &Widget, schema: &Value) -> String {
    let says = plainly(schema["description"].as_str().unwrap_or_default());
    let how = match widget {
        Widget::After => {
            " One a line: `seal`, or `job/step`, or with waits `seal; wait 2; within 4` in half-days. `none`: free."
        }
        Widget::Lines => " One a line.",
        Widget::Range => {
            " As `2026-12-07/2026-12-18`; of some weekdays or a half `2026-12-07/2026-12-18; wed thu; am`."
        }
        Widget::Ranges => {
            " One a line: `2026-12-09`, `2026-12-07/` without an end, of some weekdays or a half `2026-12-07/; wed thu; am`."
        }
        Widget::Coordinates => " As `44.10, -72.60`.",
        Widget::One(STEPS) => " One of the job's steps; a new one can be chosen once it is kept.",
        _ => "",
    };
    format!("{says}{how}")
}

fn input(
    widget: &Widget,
    value: Option<&Value>,
    name: &str,
    known: &Known,
    faults: &BTreeMap<String, Vec<String>>,
) -> Input {
    let value = value.filter(|value| !value.is_null());
    let text = value.map_or_else(String::new, plain);
    let line = |kind, keys| Input::Line { value: text.clone(), kind, keys };
    match widget {
        // A line would lose its breaks.
        Widget::Text if text.contains('\n') => Input::Lines(text),
        Widget::Text => line("text", "text"),
        Widget::Date => line("date", "text"),
        Widget::Number { whole: true } => line("text", "numeric"),
        Widget::Number { whole: false } => line("text", "decimal"),
        Widget::Lines => Input::Lines(lines(value).join("\n")),
        Widget::Range => Input::Line { value: value.map_or_else(String::new, typed), kind: "text", keys: "text" },
        Widget::Ranges => {
            let ranges = value.and_then(Value::as_array).into_iter().flatten().map(typed);
            Input::Lines(ranges.collect::<Vec<_>>().join("\n"))
        }
        Widget::Power => {
            let units = match value {
                Some(Value::Bool(any)) => {
                    if *any {
                        "1".to_owned()
                    } else {
                        String::new()
                    }
                }
                _ => text,
            };
            Input::Line { value: units, kind: "text", keys: "numeric" }
        }
        Widget::Coordinates => Input::Line { value: lines(value).join(", "), kind: "text", keys: "text" },
        Widget::After => Input::Lines(after(value)),
        Widget::Tick { default } => Input::Tick(value.map_or(*default, |value| *value == true)),
        Widget::Said => {
            let words = [("true", "yes"), ("false", "no")].map(|(of, name)| (of.to_owned(), name.to_owned()));
            Input::Pick(words.to_vec(), text)
        }
        Widget::Word(words) => Input::Pick(words.iter().map(|word| (word.clone(), word.clone())).collect(), text),
        Widget::Words(words) => {
            let chosen = lines(value);
            let all = words.iter().map(|word| (word.clone(), word.clone(), chosen.contains(word)));
            Input::Several(all.collect())
        }
        Widget::One(list) => Input::Pick(with(all_of(known, list), std::slice::from_ref(&text)), text),
        Widget::Any(list) => {
            let chosen = lines(value);
            let all = with(all_of(known, list), &chosen);
            Input::Several(all.into_iter().map(|(id, name)| (id.clone(), name, chosen.contains(&id))).collect())
        }
        Widget::Group(of) => Input::Group(within(of, value.unwrap_or(&Value::Null), name, known, faults)),
        Widget::List(of) => {
            let none = Vec::new();
            let rows = value.and_then(Value::as_array).unwrap_or(&none);
            let all = rows.iter().chain([&Value::Null]).enumerate();
            let rows = all.map(|(n, row)| within(of, row, &format!("{name}.{n}"), known, faults)).collect();
            Input::List(definition(of)["title"].as_str().unwrap_or(of).to_owned(), rows)
        }
    }
}

/// A value as it is typed.
pub fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Null => String::new(),
        other => other.to_string(),
    }
}

fn lines(value: Option<&Value>) -> Vec<String> {
    match value {
        Some(Value::Array(list)) => list.iter().map(plain).collect(),
        Some(other) => vec![plain(other)],
        None => Vec::new(),
    }
}

fn after(value: Option<&Value>) -> String {
    let Some(Value::Array(list)) = value else { return value.map_or_else(String::new, plain) };
    if list.is_empty() {
        return "none".to_owned();
    }
    let one = |link: &Value| {
        let mut says = plain(link.get("step").unwrap_or(link));
        for (field, word) in [("wait_half_days", "wait"), ("within_half_days", "within")] {
            if let Some(n) = link.get(field) {
                let _ = write!(says, "; {word} {n}");
            }
        }
        says
    };
    list.iter().map(one).collect::<Vec<_>>().join("\n")
}

/// What a list of the book has: id and name.
pub(super) fn members(book: &Value, list: &str) -> Vec<(String, String)> {
    all_of(&Known { book, steps: &Value::Null }, list)
}

/// What a list has: id and name. Skills and kinds are what crews and units have, named or not.
fn all_of(known: &Known, list: &str) -> Vec<(String, String)> {
    let of = |list: &str| if list == STEPS { known.steps } else { &known.book[list] };
    let members = |list: &str| of(list).as_array().cloned().unwrap_or_default();
    let used = |list: &str, field: &str| -> Vec<String> {
        members(list).iter().flat_map(|member| lines(member.get(field))).collect()
    };
    let mut all: Vec<(String, String)> = Vec::new();
    let mut add = |id: String, name: String| {
        if !all.iter().any(|(of, _)| *of == id) {
            all.push((id, name));
        }
    };
    if list != "skills" {
        for member in members(list) {
            let id = member["id"].as_str().unwrap_or_default().to_owned();
            let name = member["name"].as_str().map_or_else(|| id.clone(), str::to_owned);
            add(id, name);
        }
    }
    let more = match list {
        "skills" => used("crews", "skills"),
        "kinds" => used("equipment", "kinds"),
        _ => Vec::new(),
    };
    for id in more {
        add(id.clone(), id);
    }
    all
}

/// With what is chosen and not known: it is kept, and its fault told.
fn with(mut known: Vec<(String, String)>, chosen: &[String]) -> Vec<(String, String)> {
    for id in chosen.iter().filter(|id| !id.is_empty()) {
        if !known.iter().any(|(of, _)| of == id) {
            known.push((id.clone(), format!("{id} (not in the book)")));
        }
    }
    known
}

/// Faults below a path, by the field's name from there on; the others in one line each.
pub fn faults_at<'f>(
    path: &Path,
    faults: impl Iterator<Item = &'f Fault>,
) -> (BTreeMap<String, Vec<String>>, Vec<String>) {
    let (mut by_field, mut others) = (BTreeMap::<String, Vec<String>>::new(), Vec::new());
    for fault in faults {
        let help = fault.help.as_ref().map_or(String::new(), |help| format!(" ({help})"));
        let says = format!("{}{help}", fault.says).replace('`', "");
        match fault.path.0.strip_prefix(path.0.as_slice()) {
            Some(rest) if !rest.is_empty() => {
                let parts = rest.iter().map(|part| match part {
                    PathPart::Field(name) => name.clone(),
                    PathPart::Index(n) => n.to_string(),
                });
                by_field.entry(parts.collect::<Vec<_>>().join(".")).or_default().push(says);
            }
            _ => others.push(format!("{}: {says}", fault.path)),
        }
    }
    (by_field, others)
}
