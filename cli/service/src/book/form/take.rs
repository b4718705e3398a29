//! From what was sent back to the value: what was not filled in is left out, and what cannot be read stays as it was
//! typed, so that the book's reader tells what is wrong with it.

use serde_json::{Map, Value, json};

use super::cells::read_number;
use super::range::{Days, sent_half_day};
use super::widget::{Widget, widget};
use super::yearly::{in_order, sent_hours, sent_place, sent_power, sent_season};
use super::{after, definition};
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
        let none_of = || (matches!(widget, Widget::Tags(_)) && required(of, name)).then(|| json!([]));
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
        Widget::Date | Widget::Zone | Widget::Word(_) | Widget::One(_) => given.map(Value::from),
        Widget::Number { whole } => given.map(|text| read_number(text, *whole)),
        Widget::Tick { default } => {
            let yes = sent.ticked(name);
            (yes != *default || was.is_some()).then(|| yes.into())
        }
        Widget::Said => match text {
            "true" => Some(true.into()),
            "false" => Some(false.into()),
            _ => None,
        },
        Widget::Texts => some(rows(name, sent).filter_map(|n| {
            let text = sent.get(&format!("{name}.{n}.is"));
            (!text.is_empty()).then(|| text.into())
        })),
        Widget::HalfDay => sent_half_day(sent, name),
        Widget::Range => Days::sent(sent, name).value(was.map_or(&[], std::slice::from_ref)),
        Widget::Ranges => {
            let was = was.and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
            some(rows(name, sent).filter_map(|n| Days::sent(sent, &format!("{name}.{n}")).value(was)))
        }
        Widget::Season => sent_season(sent, name),
        Widget::Seasons => some(rows(name, sent).filter_map(|n| sent_season(sent, &format!("{name}.{n}")))),
        Widget::Hours => some((0..2).filter_map(|n| sent_hours(sent, &format!("{name}.{n}")))),
        Widget::PowerFrom => sent_power(sent, name),
        // `true` is one, and stays so written.
        Widget::Power => match (given, was) {
            (Some("1"), Some(Value::Bool(true))) => Some(true.into()),
            (None, Some(Value::Bool(false))) => Some(false.into()),
            (given, _) => given.map(|text| read_number(text, true)),
        },
        Widget::Coordinates => sent_place(sent, name),
        Widget::After => after::sent(name, rows(name, sent), sent, was),
        Widget::Words(_) | Widget::Any(_) => listed(sent.all(name).map(str::to_owned).collect(), was),
        Widget::Tags(_) => {
            let more = format!("{name}.more");
            let all = sent.all(name).chain(sent.all(&more)).filter(|of| !of.is_empty());
            listed(all.map(str::to_owned).collect(), was)
        }
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

/// What was chosen, in the order in which it stood; that there are none may have been said, and stays.
fn listed(chosen: Vec<String>, was: Option<&Value>) -> Option<Value> {
    some(in_order(chosen, was).into_iter().map(Value::from))
        .or_else(|| was.filter(|was| was.as_array().is_some_and(Vec::is_empty)).cloned())
}

fn some(values: impl Iterator<Item = Value>) -> Option<Value> {
    let all: Vec<Value> = values.collect();
    (!all.is_empty()).then(|| all.into())
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
                Input::Group(fields) | Input::Row(fields) => filled(fields),
                Input::Rows(first, rows) => {
                    filled(first).into_iter().chain(rows.iter().flat_map(|row| filled(row))).collect()
                }
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
            ("skills", "foam"),
            ("skills.more", " air sealing "),
            ("away.0.on.from", "2026-12-07"),
            ("away.3.people", "1"),
            ("away.4.on.from", "x"),
            ("away.4.remove", "on"),
            ("own", "on"),
        ]);
        let taken = take("Crew", &json!({ "x_mine": 1 }), "", &fields);
        let expected = json!({ "x_mine": 1, "id": "a", "people": "two", "skills": ["foam", "air sealing"], "away": [{ "on": "2026-12-07" }, { "people": 1 }] });
        assert_eq!(Value::Object(taken), expected);
        assert_eq!((read_number("1.50", false), read_number("1.5", true)), (json!(1.5), json!("1.5")));
    }
}
