//! From a value to the fields of its form.

use std::collections::BTreeMap;

use serde_json::{Map, Value};
use yardless_book::{Code, Fault, Path, PathPart};
use yardless_edit::spoken::{fault_words, label, noun, place, weekday};

use super::cells::plain;
use super::range::{Days, half_day_fields};
use super::widget::{CARRIERS, SPOTS, STEPS, WAYS, Widget, widget};
use super::yearly::{hours_fields, place_fields, power_fields, season_fields, tag_fields, text_field};
use super::{Field, Input, after, definition, hints};

/// The list of a job's or a pattern's steps.
const STEPS_OF: &str = "steps";

/// The fields of one of the book's objects. `prefix`: what their names begin with; `book`: what references may name;
/// `faults`: by the field's name.
pub fn show(of: &str, value: &Value, prefix: &str, book: &Value, faults: &BTreeMap<String, Vec<String>>) -> Vec<Field> {
    within(of, value, prefix, &Known { book, job: &Value::Null, step: &Value::Null }, faults)
}

/// What references may name: the lists of the book, and of the form at hand the steps of its job or pattern and the ways of
/// the step.
struct Known<'b> {
    book: &'b Value,
    job: &'b Value,
    step: &'b Value,
}

fn within(of: &str, value: &Value, prefix: &str, known: &Known, faults: &BTreeMap<String, Vec<String>>) -> Vec<Field> {
    let inner = match of {
        "Job" | "Pattern" => Known { job: value, ..*known },
        "Step" => Known { step: value, ..*known },
        _ => Known { ..*known },
    };
    let known = &inner;
    let definition = definition(of);
    let required: Vec<&str> =
        definition["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    let none = Map::new();
    let fields = definition["properties"].as_object().unwrap_or(&none);
    let one = |(name, schema): (&String, &Value)| {
        let at = if prefix.is_empty() { name.clone() } else { format!("{prefix}.{name}") };
        let widget = widget(of, name, schema)?;
        let chosen = matches!(widget, Widget::One(_));
        let mut entry = input(&widget, value.get(name), &at, known, faults);
        let mut wrong = of_field(&widget, &at, faults);
        // A value of several fields is marked at the first of them.
        if let Input::Row(cells) = &mut entry
            && let Some(first) = cells.first_mut()
        {
            first.faults = std::mem::take(&mut wrong);
        }
        let default = match (&entry, name.as_str()) {
            (Input::Line { .. }, "name") => plain(&value["id"]),
            _ => schema["default"].as_f64().map_or_else(String::new, |default| default.to_string()),
        };
        Some(Field {
            label: label(of, name),
            hint: hints::hint(of, name, &widget, schema),
            required: (name != "id" || chosen) && required.contains(&name.as_str()),
            faults: wrong,
            name: at,
            default,
            input: entry,
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
                // Each is told in its row.
                _ if in_rows(widget) => false,
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

/// Whether it is a list whose members are a row of small fields each.
fn in_rows(widget: &Widget) -> bool {
    matches!(widget, Widget::Ranges | Widget::Seasons | Widget::Texts | Widget::Hours | Widget::After)
}

/// Rows with what is wrong with each of them at its first field.
fn rows_of(name: &str, first: Vec<Field>, mut rows: Vec<Vec<Field>>, faults: &BTreeMap<String, Vec<String>>) -> Input {
    for (n, row) in rows.iter_mut().enumerate() {
        let at = format!("{name}.{n}");
        let within = |of: &str| of == at || of.strip_prefix(&at).is_some_and(|rest| rest.starts_with('.'));
        if let Some(first) = row.first_mut() {
            first.faults = faults.iter().filter(|(of, _)| within(of)).flat_map(|(_, says)| says.clone()).collect();
        }
    }
    Input::Rows(first, rows)
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
        Widget::Texts => {
            let texts = each(value, |text, at| text_field(&plain(text), at, "Code"), name);
            rows_of(name, Vec::new(), texts, faults)
        }
        Widget::HalfDay => Input::Row(half_day_fields(&text, name)),
        // What has weekdays beside it does without them in the range.
        Widget::Range => {
            let grouped = value.is_some_and(Value::is_object);
            Input::Row(value.map_or_else(Days::default, Days::of).fields(name, grouped))
        }
        Widget::Ranges => {
            let ranges = each(value, |range, at| Days::of(range).fields(at, true), name);
            rows_of(name, Vec::new(), ranges, faults)
        }
        Widget::Season => Input::Row(season_fields(&text, name)),
        Widget::Seasons => {
            let seasons = each(value, |season, at| season_fields(&plain(season), at), name);
            rows_of(name, Vec::new(), seasons, faults)
        }
        Widget::Hours => {
            let hours = lines(value);
            let of = |n: usize| hours_fields(hours.get(n).map_or("", String::as_str), &format!("{name}.{n}"));
            rows_of(name, Vec::new(), vec![of(0), of(1)], faults)
        }
        Widget::PowerFrom => Input::Row(power_fields(&text, name)),
        Widget::Zone => Input::Pick(with(zones(), std::slice::from_ref(&text)), text),
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
        Widget::Coordinates => Input::Row(place_fields(&lines(value), name)),
        Widget::After => match after::rows(value, &after::choices(known.book, known.job), name) {
            Input::Rows(first, rows) => rows_of(name, first, rows, faults),
            other => other,
        },
        Widget::Tick { default } => Input::Tick(value.map_or(*default, |value| *value == true)),
        Widget::Said => {
            let words = [("true", "yes"), ("false", "no")].map(|(of, name)| (of.to_owned(), name.to_owned()));
            Input::Pick(words.to_vec(), text)
        }
        Widget::Word(words) => Input::Pick(words.iter().map(|word| (word.clone(), in_words(word))).collect(), text),
        Widget::Words(words) => {
            let chosen = lines(value);
            let all = words.iter().map(|word| (word.clone(), in_words(word), chosen.contains(word)));
            Input::Several(all.collect())
        }
        Widget::One(list) => Input::Pick(with(all_of(known, list), std::slice::from_ref(&text)), text),
        Widget::Any(list) => {
            let chosen = lines(value);
            let all = with(all_of(known, list), &chosen);
            Input::Several(all.into_iter().map(|(id, name)| (id.clone(), name, chosen.contains(&id))).collect())
        }
        Widget::Tags(list) => {
            let chosen = lines(value);
            Input::Row(tag_fields(with_own(all_of(known, list), &chosen), &chosen, name, "These"))
        }
        Widget::Group(of) => Input::Group(within(of, value.unwrap_or(&Value::Null), name, known, faults)),
        Widget::List(of) => {
            let none = Vec::new();
            let rows = value.and_then(Value::as_array).unwrap_or(&none);
            let all = rows.iter().chain([&Value::Null]).enumerate();
            let rows = all.map(|(n, row)| within(of, row, &format!("{name}.{n}"), known, faults)).collect();
            Input::List(noun(of).to_owned(), rows)
        }
    }
}

fn lines(value: Option<&Value>) -> Vec<String> {
    match value {
        Some(Value::Array(list)) => list.iter().map(plain).collect(),
        Some(other) => vec![plain(other)],
        None => Vec::new(),
    }
}

/// The fields of each of a list, and of an empty one behind.
fn each(value: Option<&Value>, fields: impl Fn(&Value, &str) -> Vec<Field>, name: &str) -> Vec<Vec<Field>> {
    let none = Vec::new();
    let all = value.and_then(Value::as_array).unwrap_or(&none).iter().chain([&Value::Null]).enumerate();
    all.map(|(n, one)| fields(one, &format!("{name}.{n}"))).collect()
}

/// A word of the book as one says it.
fn in_words(word: &str) -> String {
    match word {
        "am" => "mornings".to_owned(),
        "pm" => "afternoons".to_owned(),
        word => weekday(word).to_owned(),
    }
}

/// Time zones: those of the United States first.
fn zones() -> Vec<(String, String)> {
    let all = chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
    let (first, rest): (Vec<&str>, Vec<&str>) =
        all.partition(|name| name.starts_with("US/") || name.starts_with("America/"));
    first.into_iter().chain(rest).map(|name| (name.to_owned(), name.replace('_', " "))).collect()
}

/// What a list of the book has: id and name.
pub(super) fn members(book: &Value, list: &str) -> Vec<(String, String)> {
    all_of(&Known { book, job: &Value::Null, step: &Value::Null }, list)
}

/// What a list has: id and name. Skills and kinds are what crews and units have, named or not.
fn all_of(known: &Known, list: &str) -> Vec<(String, String)> {
    let of = |list: &str| match list {
        STEPS => &known.job["steps"],
        WAYS => &known.step["ways"],
        list => &known.book[list],
    };
    let members = |list: &str| {
        let lists: &[&str] = match list {
            CARRIERS => &["trucks", "equipment"],
            SPOTS => &["places", "trucks", "equipment"],
            _ => &[list],
        };
        lists.iter().flat_map(|list| of(list).as_array().cloned().unwrap_or_default()).collect::<Vec<Value>>()
    };
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

/// With what is chosen besides: it is made known by being chosen.
fn with_own(mut known: Vec<(String, String)>, chosen: &[String]) -> Vec<(String, String)> {
    for id in chosen {
        if !known.iter().any(|(of, _)| of == id) {
            known.push((id.clone(), id.clone()));
        }
    }
    known
}

/// Faults below a path, by the field's name from there on; the others in one line each. `books`: what has them, and what was
/// before.
pub fn faults_at<'f>(
    books: &[&Value],
    path: &Path,
    faults: impl Iterator<Item = &'f Fault>,
) -> (BTreeMap<String, Vec<String>>, Vec<String>) {
    let (mut by_field, mut others) = (BTreeMap::<String, Vec<String>>::new(), Vec::new());
    for fault in faults {
        let (says, help) = fault_words(books, fault);
        let help = help.map_or(String::new(), |help| format!(" ({help})"));
        let says = format!("{says}{help}");
        match fault.path.0.strip_prefix(path.0.as_slice()) {
            Some(rest) if !rest.is_empty() => {
                let parts = rest.iter().map(|part| match part {
                    PathPart::Field(name) => name.clone(),
                    PathPart::Index(n) => n.to_string(),
                });
                let mut field = parts.collect::<Vec<_>>().join(".");
                // How long a step takes is missing at the step, and entered in a field of it.
                if let (Code::Duration, [.., PathPart::Field(list), PathPart::Index(_)]) = (fault.code, rest)
                    && list == STEPS_OF
                {
                    field.push_str(".half_days");
                }
                by_field.entry(field).or_default().push(says);
            }
            _ => others.push(format!("{}: {says}", place(books.first().unwrap_or(&&Value::Null), &fault.path))),
        }
    }
    (by_field, others)
}
