//! From what was sent back to the value: what was not filled in is left out, and what cannot be read stays as it was
//! typed, so that the book's reader tells what is wrong with it.

use serde_json::{Map, Value, json};

use super::widget::{Widget, widget};
use super::{definition, range};
use crate::request::sent::Fields;

/// One of the book's objects from a form. What the form does not show of it stays: fields of one's own.
pub fn take(of: &str, was: &Value, prefix: &str, sent: &Fields) -> Map<String, Value> {
    let none = Map::new();
    let mut value = was.as_object().cloned().unwrap_or_default();
    for (name, schema) in definition(of)["properties"].as_object().unwrap_or(&none) {
        let at = if prefix.is_empty() { name.clone() } else { format!("{prefix}.{name}") };
        let Some(widget) = widget(of, name, schema) else { continue };
        // A remark that is no text cannot be typed.
        if name == "note" && was.get(name).is_some_and(|note| !note.is_string()) {
            continue;
        }
        // A report that takes something back is not asked for, and stays.
        let back = || was.get(name).filter(|was| was.is_null()).cloned();
        let taken = one(&widget, was.get(name), &at, sent).or_else(back);
        // A list that has to be said is said to be empty: a person may have no skill.
        let none_of = || (matches!(widget, Widget::Lines) && required(of, name)).then(|| json!([]));
        let taken = taken.or_else(none_of);
        let says_nothing = was.get(name).is_none() && taken.as_ref().is_some_and(|taken| schema["default"] == *taken);
        match taken.filter(|_| !says_nothing) {
            Some(taken) => {
                value.insert(name.clone(), taken);
            }
            None => {
                value.shift_remove(name);
            }
        }
    }
    value
}

fn required(of: &str, name: &str) -> bool {
    definition(of)["required"].as_array().into_iter().flatten().any(|of| of == name)
}

fn one(widget: &Widget, was: Option<&Value>, name: &str, sent: &Fields) -> Option<Value> {
    let text = sent.get(name);
    let given = Some(text).filter(|text| !text.is_empty());
    match widget {
        Widget::Text => given.map(|text| text.replace("\r\n", "\n").into()),
        Widget::Date | Widget::Word(_) | Widget::One(_) => given.map(Value::from),
        Widget::Number { whole } => given.map(|text| number(text, *whole)),
        Widget::Tick { default } => {
            let yes = sent.ticked(name);
            (yes != *default || was.is_some()).then(|| yes.into())
        }
        Widget::Said => match text {
            "true" => Some(true.into()),
            "false" => Some(false.into()),
            _ => None,
        },
        Widget::Lines => some(text.lines().map(str::trim).filter(|line| !line.is_empty()).map(Value::from)),
        Widget::Range => given.map(|text| range::read(text, was.map_or(&[], std::slice::from_ref))),
        Widget::Ranges => {
            let was = was.and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
            some(text.lines().map(str::trim).filter(|line| !line.is_empty()).map(|line| range::read(line, was)))
        }
        // `true` is one, and stays so written.
        Widget::Power => match (given, was) {
            (Some("1"), Some(Value::Bool(true))) => Some(true.into()),
            (None, Some(Value::Bool(false))) => Some(false.into()),
            (given, _) => given.map(|text| number(text, true)),
        },
        Widget::Coordinates => {
            given.map(|text| text.split(',').map(|part| number(part.trim(), false)).collect::<Vec<_>>().into())
        }
        Widget::After => after(text, was),
        // That there are none may have been said, and stays.
        Widget::Words(_) | Widget::Any(_) => some(sent.all(name).map(Value::from))
            .or_else(|| was.filter(|was| was.as_array().is_some_and(Vec::is_empty)).cloned()),
        Widget::Group(of) => {
            let value = take(of, was.unwrap_or(&Value::Null), name, sent);
            (!value.is_empty()).then(|| value.into())
        }
        Widget::List(of) => some(rows(name, sent).filter_map(|n| {
            let at = format!("{name}.{n}");
            // By its id, as rows before it may have been taken out.
            let id = Some(sent.get(&format!("{at}.id"))).filter(|id| !id.is_empty());
            let of_id = |was: &'_ Value| was.as_array()?.iter().position(|of| of["id"].as_str() == id && id.is_some());
            let n = was.and_then(of_id).unwrap_or(n);
            let was = was.and_then(|was| was.get(n)).unwrap_or(&Value::Null);
            let row = take(of, was, &at, sent);
            (!sent.ticked(&format!("{at}.remove")) && !row.is_empty()).then(|| Value::Object(row))
        })),
    }
}

/// The places in a list that something was sent for.
fn rows(name: &str, sent: &Fields) -> impl Iterator<Item = usize> {
    let of = |field: &str| field.strip_prefix(name)?.strip_prefix('.')?.split('.').next()?.parse().ok();
    let all: std::collections::BTreeSet<usize> = sent.names().filter_map(of).collect();
    all.into_iter()
}

fn some(values: impl Iterator<Item = Value>) -> Option<Value> {
    let all: Vec<Value> = values.collect();
    (!all.is_empty()).then(|| all.into())
}

/// A number where it is one.
fn number(text: &str, whole: bool) -> Value {
    if let Ok(number) = text.parse::<i64>() {
        return number.into();
    }
    match text.parse::<f64>() {
        Ok(number) if !whole && number.is_finite() => json!(number),
        _ => text.into(),
    }
}

/// `seal; wait 2; within 4`, one a line; `none` is free, nothing is the step before.
fn after(text: &str, was: Option<&Value>) -> Option<Value> {
    let lines: Vec<&str> = text.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    if let ["none"] = lines.as_slice() {
        return Some(json!([]));
    }
    some(lines.into_iter().map(|line| {
        let mut parts = line.split(';').map(str::trim);
        let step = parts.next().unwrap_or_default();
        let known = was.and_then(Value::as_array).into_iter().flatten().find(|of| of["step"] == step);
        let mut link = known.and_then(Value::as_object).cloned().unwrap_or_default();
        link.shift_remove("wait_half_days");
        link.shift_remove("within_half_days");
        link.insert("step".to_owned(), step.into());
        for part in parts {
            let (field, n) = match part.split_once(' ') {
                Some(("wait", n)) => ("wait_half_days", n),
                Some(("within", n)) => ("within_half_days", n),
                // Told by the reader, as no step of that name is.
                _ => return line.into(),
            };
            link.insert(field.to_owned(), number(n.trim(), true));
        }
        if link.len() == 1 { step.into() } else { link.into() }
    }))
}

#[cfg(test)]
mod tests {
    use super::super::{Field, Input, show};
    use super::*;
    use crate::request::sent::Fields;

    /// What a browser sends of the fields as they are shown.
    fn filled(fields: &[Field]) -> Vec<(String, String)> {
        fields
            .iter()
            .flat_map(|field| match &field.input {
                Input::Line { value, .. } | Input::Lines(value) | Input::Pick(_, value) => {
                    vec![(field.name.clone(), value.clone())]
                }
                Input::Tick(yes) => yes.then(|| (field.name.clone(), "on".to_owned())).into_iter().collect(),
                Input::Several(all) => {
                    all.iter().filter(|(_, _, on)| *on).map(|(id, _, _)| (field.name.clone(), id.clone())).collect()
                }
                Input::Group(fields) => filled(fields),
                Input::List(_, rows) => rows.iter().flat_map(|row| filled(row)).collect(),
            })
            .collect()
    }

    #[test]
    fn form_sent_back_as_it_was_shown_changes_nothing() {
        let books = [
            include_str!("../../../../../data/demo.json"),
            include_str!("../../../../../data/five-jobs.json"),
            include_str!("../../../../../data/new.json"),
            include_str!("../../../../../tests/cases/parked-since-before.json"),
            include_str!("../../../../../tests/cases/may_split/lets-go.json"),
            include_str!("../../../../../tests/cases/kept-otherwise.json"),
            r#"{ "kinds": [{ "id": "cutter", "cautions": [] }], "crews": [{ "id": "c", "people": 1, "skills": ["foam"] }],
                 "skills": [{ "id": "foam", "cautions": ["combustion", "foam"] }, { "id": "seal", "cautions": [] }] }"#,
        ];
        for text in books {
            let book: Value = serde_json::from_str(text).expect("JSON");
            for part in super::super::PARTS {
                let members = match &book[part.field] {
                    Value::Array(list) => list.clone(),
                    Value::Null => vec![],
                    one => vec![one.clone()],
                };
                for member in members {
                    let fields = show(part.of, &member, "", &book, &std::collections::BTreeMap::new());
                    let back = take(part.of, &member, "", &Fields::of(filled(&fields)));
                    assert!(
                        crate::book::merge::same(&Value::Object(back.clone()), &member),
                        "{}: {member}\n{}",
                        part.one,
                        Value::Object(back)
                    );
                }
            }
        }
    }

    #[test]
    fn parked_need_of_a_pattern_names_the_steps_of_that_pattern() {
        let book: Value = serde_json::from_str(include_str!("../../../../../data/demo.json")).expect("JSON");
        let pattern = book["patterns"].as_array().and_then(|all| all.iter().find(|of| of["parked"].is_array()));
        let fields = show("Pattern", pattern.expect("one that parks"), "", &book, &std::collections::BTreeMap::new());
        let page = super::super::field::all(&fields);
        assert!(page.contains("Take down staging") && !page.contains("(not in the book)"), "{page}");
    }

    #[test]
    fn skill_is_chosen_among_those_of_the_crews_before_all_else() {
        let book = json!({ "crews": [{ "id": "c", "people": 1, "skills": ["foam", "staging"] }] });
        let fields = show("Skill", &json!({}), "", &book, &std::collections::BTreeMap::new());
        let id = fields.iter().find(|field| field.name == "id").expect("the skill");
        let Input::Pick(choices, chosen) = &id.input else { panic!("{id:?}") };
        let ids: Vec<&str> = choices.iter().map(|(id, _)| id.as_str()).filter(|id| !id.is_empty()).collect();
        assert_eq!(
            (ids, chosen.as_str(), id.label.as_str(), id.required),
            (vec!["foam", "staging"], "", "Skill", true)
        );
        let page = super::super::field::all(&fields);
        assert!(page.find("name=\"id\"").expect("its field") < page.find("<details").unwrap_or(page.len()), "{page}");
    }

    #[test]
    fn what_cannot_be_read_stays_as_it_was_typed() {
        let sent = |pairs: &[(&str, &str)]| {
            Fields::of(pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect())
        };
        let fields = sent(&[
            ("id", "a"),
            ("people", "two"),
            ("skills", "foam\n\n air sealing "),
            ("away.0.on", "2026-12-07"),
            ("away.3.people", "1"),
            ("away.4.on", "x"),
            ("away.4.remove", "on"),
            ("own", "on"),
        ]);
        let taken = take("Crew", &json!({ "x_mine": 1 }), "", &fields);
        let expected = json!({ "x_mine": 1, "id": "a", "people": "two", "skills": ["foam", "air sealing"], "away": [{ "on": "2026-12-07" }, { "people": 1 }] });
        assert_eq!(Value::Object(taken), expected);
        assert_eq!(
            after("seal\n other/step; wait 2; within 4", None),
            Some(json!(["seal", { "step": "other/step", "wait_half_days": 2, "within_half_days": 4 }]))
        );
        assert_eq!(
            (after("none", None), after(" \n", None), number("1.50", false), number("1.5", true)),
            (Some(json!([])), None, json!(1.5), json!("1.5"))
        );
    }
}
