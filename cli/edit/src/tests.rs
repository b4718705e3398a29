//! Any edits of any text: the values that were meant, everything else as it was, and the way back to the byte.

use serde_json::{Map, Value, json};
use yardless_book::{Path, PathPart};

use super::journal::Entry;
use super::{Edit, apply};

/// A value by chance, to a depth.
fn value(draw: &mut fastrand::Rng, depth: usize) -> Value {
    match draw.usize(..if depth == 0 { 4 } else { 7 }) {
        0 => json!(draw.i32(-9..99)),
        1 => json!(["", "elm", "é \"quoted\" \\ /", "}],{["][draw.usize(..4)]),
        2 => json!(draw.bool()),
        3 => Value::Null,
        4 | 5 => (0..draw.usize(..4)).map(|n| (format!("f{n}"), value(draw, depth - 1))).collect::<Map<_, _>>().into(),
        _ => (0..draw.usize(..4)).map(|_| value(draw, depth - 1)).collect::<Vec<_>>().into(),
    }
}

/// The value written as some hand might have: white space by chance, wherever JSON allows it.
fn scrawled(value: &Value, draw: &mut fastrand::Rng) -> String {
    let mut space = || ["", " ", "  ", "\n  ", "\r\n\t", " \n\n "][draw.usize(..6)].to_owned();
    let (a, b) = (space(), space());
    let inside: Vec<String> = match value {
        Value::Object(fields) => fields
            .iter()
            .map(|(name, value)| {
                let text = scrawled(value, draw);
                format!("{a}{}{b}:{a}{text}{b}", Value::from(name.as_str()))
            })
            .collect(),
        Value::Array(list) => list.iter().map(|value| format!("{b}{}{a}", scrawled(value, draw))).collect(),
        other => return other.to_string(),
    };
    let inside = if inside.is_empty() { a } else { inside.join(",") };
    if value.is_object() { format!("{{{inside}}}") } else { format!("[{inside}]") }
}

/// Every path of a value, the top apart.
fn paths(value: &Value, at: &Path, all: &mut Vec<Path>) {
    let inner: Vec<(Path, &Value)> = match value {
        Value::Object(fields) => fields.iter().map(|(name, value)| (at.field(name), value)).collect(),
        Value::Array(list) => list.iter().enumerate().map(|(n, value)| (at.index(n), value)).collect(),
        _ => Vec::new(),
    };
    for (path, value) in inner {
        all.push(path.clone());
        paths(value, &path, all);
    }
}

fn at<'v>(value: &'v mut Value, parts: &[PathPart]) -> &'v mut Value {
    parts.iter().fold(value, |value, part| match part {
        PathPart::Field(name) => &mut value[name.as_str()],
        PathPart::Index(n) => &mut value[*n],
    })
}

/// An edit by chance, made to the value as well.
fn edit(value: &mut Value, draw: &mut fastrand::Rng) -> Edit {
    let new = self::value(draw, 2);
    let mut all = Vec::new();
    paths(value, &Path::default(), &mut all);
    let some = (!all.is_empty()).then(|| all[draw.usize(..all.len())].clone());
    let path = match some {
        Some(path) if draw.bool() => path,
        other => {
            // A field that is perhaps not there yet, of some object.
            let object = other.filter(|path| at(value, &path.0).is_object()).unwrap_or_default();
            object.field(["new", "f0"][draw.usize(..2)])
        }
    };
    let (last, above) = path.0.split_last().expect("not the top");
    let there = match (at(value, above), last) {
        (Value::Object(fields), PathPart::Field(name)) => fields.contains_key(name),
        _ => true,
    };
    if draw.u8(..3) == 0 {
        match (at(value, above), last) {
            (Value::Object(fields), PathPart::Field(name)) => drop(fields.shift_remove(name)),
            (Value::Array(list), PathPart::Index(n)) => drop(list.remove(*n)),
            _ => unreachable!("paths are those of the value"),
        }
        return Edit::Remove(path);
    }
    let old = at(value, &path.0);
    if let (true, Value::Array(list)) = (draw.bool(), &mut *old) {
        list.push(new.clone());
        return Edit::Append(path, new);
    }
    if !there && draw.bool() {
        *old = json!([new]);
        return Edit::Append(path, new);
    }
    *old = new.clone();
    Edit::Set(path, new)
}

#[test]
fn any_edits_change_just_what_they_say_and_lead_back_to_the_byte() {
    for seed in 0..3_000 {
        let mut draw = fastrand::Rng::with_seed(seed);
        let mut meant = Value::Object((0..3).map(|n| (format!("f{n}"), value(&mut draw, 3))).collect());
        let first = scrawled(&meant, &mut draw);
        let mut text = first.clone();
        let (mut way_back, mut edits) = (Vec::new(), Vec::new());
        for _ in 0..draw.usize(1..6) {
            let edit = edit(&mut meant, &mut draw);
            let new = apply(&text, std::slice::from_ref(&edit))
                .unwrap_or_else(|path| panic!("seed {seed}: nowhere: {path} in {text}"));
            let read: Value =
                serde_json::from_str(&new).unwrap_or_else(|e| panic!("seed {seed}: {edit:?}: {e}: {new}"));
            assert_eq!(read, meant, "seed {seed}: {edit:?}");
            way_back.push(Entry::new(String::new(), &text, &new));
            edits.push(edit);
            text = new;
        }
        assert_eq!(apply(&first, &edits).as_ref(), Ok(&text), "seed {seed}: all at once: {edits:?}");
        for entry in way_back.iter().rev() {
            text = entry.reverse(&text).expect("the text before");
        }
        assert_eq!(text, first, "seed {seed}");
    }
}

#[test]
fn what_is_added_and_taken_away_again_leaves_every_byte_as_it_was() {
    let mut tried = 0;
    for seed in 0..3_000 {
        let mut draw = fastrand::Rng::with_seed(seed);
        let mut whole = Value::Object((0..2).map(|n| (format!("f{n}"), value(&mut draw, 3))).collect());
        let text = scrawled(&whole, &mut draw);
        let mut all = Vec::new();
        paths(&whole, &Path::default(), &mut all);
        for path in all {
            let new = value(&mut draw, 2);
            let there_and_back = match at(&mut whole, &path.0) {
                Value::Object(fields) if !fields.is_empty() => {
                    vec![Edit::Set(path.field("new"), new), Edit::Remove(path.field("new"))]
                }
                Value::Array(list) if !list.is_empty() => {
                    vec![Edit::Append(path.clone(), new), Edit::Remove(path.index(list.len()))]
                }
                _ => continue,
            };
            tried += 1;
            assert_ne!(apply(&text, &there_and_back[..1]).as_ref(), Ok(&text), "seed {seed}");
            assert_eq!(apply(&text, &there_and_back).as_ref(), Ok(&text), "seed {seed}: {there_and_back:?}");
        }
    }
    assert!(tried > 1_000, "{tried}");
}

#[test]
fn many_added_to_a_list_or_taken_out_at_once_are_as_one_after_the_other() {
    for seed in 0..3_000 {
        let mut draw = fastrand::Rng::with_seed(seed);
        let mut list: Vec<Value> = (0..draw.usize(..5)).map(|_| value(&mut draw, 2)).collect();
        let text = scrawled(&json!({ "a": { "list": list, "b": 1 } }), &mut draw);
        let path = Path::default().field("a").field("list");
        let mut edits = Vec::new();
        for n in (0..list.len()).rev().filter(|_| draw.u8(..3) == 0).collect::<Vec<_>>() {
            list.remove(n);
            edits.push(Edit::Remove(path.index(n)));
        }
        for _ in 0..draw.usize(..5) {
            // Some of them too long for a line.
            let new =
                if draw.u8(..4) == 0 { json!({ "a": "x".repeat(160), "b": [1, 2] }) } else { value(&mut draw, 2) };
            list.push(new.clone());
            edits.push(Edit::Append(path.clone(), new));
        }
        let one_by_one = edits.iter().fold(text.clone(), |text, edit| {
            apply(&text, std::slice::from_ref(edit)).unwrap_or_else(|at| panic!("seed {seed}: nowhere: {at}"))
        });
        assert_eq!(apply(&text, &edits).as_ref(), Ok(&one_by_one), "seed {seed}: {edits:?} of {text}");
        let read: Value = serde_json::from_str(&one_by_one).expect("JSON");
        assert_eq!(read["a"]["list"], json!(list), "seed {seed}");
    }
}

#[test]
fn new_text_looks_like_its_neighbours() {
    let done = json!({ "crew": "north", "end": "2026-12-07 pm" });
    let step = Path::default().field("steps").index(0).field("done");
    for (before, after) in [
        (
            r#"{ "steps": [{ "id": "seal" }] }"#,
            r#"{ "steps": [{ "id": "seal", "done": { "crew": "north", "end": "2026-12-07 pm" } }] }"#,
        ),
        (r#"{"steps":[{"id":"seal"}]}"#, r#"{"steps":[{"id":"seal","done":{"crew":"north","end":"2026-12-07 pm"}}]}"#),
        (
            "{\r\n  \"steps\": [\r\n    {\r\n      \"id\": \"seal\",\r\n\r\n      \"skill\": \"a\"\r\n    }\r\n  ]\r\n}\r\n",
            "{\r\n  \"steps\": [\r\n    {\r\n      \"id\": \"seal\",\r\n\r\n      \"skill\": \"a\",\r\n      \"done\": \
             { \"crew\": \"north\", \"end\": \"2026-12-07 pm\" }\r\n    }\r\n  ]\r\n}\r\n",
        ),
    ] {
        assert_eq!(apply(before, &[Edit::Set(step.clone(), done.clone())]).as_deref(), Ok(after));
    }
    let weather = Path::default().field("weather");
    for (before, after) in [
        ("{ \"weather\": [\n    1,\n    2\n  ] }", "{ \"weather\": [\n    1,\n    2,\n    3\n  ] }"),
        ("{ \"weather\": [1] }", "{ \"weather\": [1, 3] }"),
        ("{ \"weather\": [] }", "{ \"weather\": [3] }"),
        ("{ \"jobs\": [] }", "{ \"jobs\": [], \"weather\": [3] }"),
        ("{\n\t\"jobs\": []\n}", "{\n\t\"jobs\": [],\n\t\"weather\": [3]\n}"),
    ] {
        assert_eq!(apply(before, &[Edit::Append(weather.clone(), json!(3))]).as_deref(), Ok(after));
    }
}

#[test]
fn path_that_leads_nowhere_is_named() {
    let path = Path::default().field("jobs").index(3).field("done");
    assert_eq!(apply("{ \"jobs\": [] }", &[Edit::Set(path.clone(), json!(1))]), Err(path));
}
