//! What differs between two states of a book, and what two changes of the same state come to together.
//!
//! Members of a list with ids are the same where their ids are; other lists are what was added to and taken from them.

use serde_json::{Map, Value};
use yardless_solver::book::Path;

use crate::edit::Edit;

/// A value that two changes of the same state want otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Conflict {
    /// Where, as `jobs[birch-attic].due`.
    pub at: String,
    /// Before either; `None`: not there.
    pub was: Option<Value>,
    /// As it stands now.
    pub now: Option<Value>,
    /// As this change wants it.
    pub wanted: Option<Value>,
}

/// Whether two values are the same to a reader: `20` is `20.0`.
pub fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => a.as_f64() == b.as_f64(),
        (Value::Array(a), Value::Array(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b)),
        (Value::Object(a), Value::Object(b)) => {
            a.len() == b.len() && a.iter().all(|(name, a)| b.get(name).is_some_and(|b| same(a, b)))
        }
        _ => a == b,
    }
}

fn same_or_absent(a: Option<&Value>, b: Option<&Value>) -> bool {
    match (a, b) {
        (None, None) => true,
        (Some(a), Some(b)) => same(a, b),
        _ => false,
    }
}

/// The ids of a list whose members all have one, each another.
fn ids(list: &[Value]) -> Option<Vec<&str>> {
    let ids: Option<Vec<&str>> = list.iter().map(|member| member.get("id")?.as_str()).collect();
    ids.filter(|ids| ids.iter().enumerate().all(|(n, id)| !ids[..n].contains(id)))
}

/// What both changes of `was` come to: the one that leads to `now`, and the one that leads to `wanted`.
pub fn merge(was: &Value, now: &Value, wanted: &Value) -> Result<Value, Vec<Conflict>> {
    let mut conflicts = Vec::new();
    let merged = both("", Some(was), Some(now), Some(wanted), &mut conflicts);
    if conflicts.is_empty() { Ok(merged.unwrap_or_default()) } else { Err(conflicts) }
}

fn both(
    at: &str,
    was: Option<&Value>,
    now: Option<&Value>,
    wanted: Option<&Value>,
    conflicts: &mut Vec<Conflict>,
) -> Option<Value> {
    if same_or_absent(was, wanted) || same_or_absent(now, wanted) {
        return now.cloned();
    }
    if same_or_absent(was, now) {
        return wanted.cloned();
    }
    match (was, now, wanted) {
        (Some(Value::Object(was)), Some(Value::Object(now)), Some(Value::Object(wanted))) => {
            return Some(objects(at, was, now, wanted, conflicts));
        }
        (was, Some(Value::Array(now)), Some(Value::Array(wanted))) => {
            let none = Vec::new();
            let was = was.and_then(Value::as_array).unwrap_or(&none);
            if let Some(list) = lists(at, was, now, wanted, conflicts) {
                return Some(list.into());
            }
        }
        _ => {}
    }
    let at = if at.is_empty() { "the book".to_owned() } else { at.to_owned() };
    conflicts.push(Conflict { at, was: was.cloned(), now: now.cloned(), wanted: wanted.cloned() });
    now.cloned()
}

fn objects(
    at: &str,
    was: &Map<String, Value>,
    now: &Map<String, Value>,
    wanted: &Map<String, Value>,
    conflicts: &mut Vec<Conflict>,
) -> Value {
    let mut names: Vec<&String> = now.keys().collect();
    names.extend(wanted.keys().filter(|name| !now.contains_key(*name)));
    let dot = if at.is_empty() { "" } else { "." };
    let fields = names.into_iter().filter_map(|name| {
        let at = format!("{at}{dot}{name}");
        Some((name.clone(), both(&at, was.get(name), now.get(name), wanted.get(name), conflicts)?))
    });
    Value::Object(fields.collect())
}

/// `None`: the lists have nothing by which their members could be told apart.
fn lists(
    at: &str,
    was: &[Value],
    now: &[Value],
    wanted: &[Value],
    conflicts: &mut Vec<Conflict>,
) -> Option<Vec<Value>> {
    if let (Some(was_ids), Some(now_ids), Some(wanted_ids)) = (ids(was), ids(now), ids(wanted)) {
        let mut all = now_ids.clone();
        all.extend(wanted_ids.iter().filter(|id| !now_ids.contains(id)));
        all.extend(was_ids.iter().filter(|id| !now_ids.contains(id) && !wanted_ids.contains(id)));
        let find = |list, ids: &[&str], id| {
            let list: &[Value] = list;
            ids.iter().position(|of| *of == id).map(|n| list[n].clone())
        };
        let merged = all.into_iter().filter_map(|id| {
            let (was, now, wanted) = (find(was, &was_ids, id), find(now, &now_ids, id), find(wanted, &wanted_ids, id));
            both(&format!("{at}[{id}]"), was.as_ref(), now.as_ref(), wanted.as_ref(), conflicts)
        });
        return Some(merged.collect());
    }
    // What the change takes away must still be there; what it adds comes last.
    let (added, taken) = (without(wanted, was)?, without(was, wanted)?);
    let mut list = without_all(now, &taken)?;
    list.extend(added);
    Some(list)
}

/// The members of one list that another does not have as often; `None`: what both have stands in another order.
fn without(list: &[Value], other: &[Value]) -> Option<Vec<Value>> {
    let mut left: Vec<&Value> = other.iter().collect();
    let mut more = Vec::new();
    let mut last = 0;
    for member in list {
        match left.iter().position(|of| same(of, member)) {
            Some(n) if n >= last => {
                left.remove(n);
                last = n;
            }
            Some(_) => return None,
            None => more.push(member.clone()),
        }
    }
    Some(more)
}

fn without_all(list: &[Value], taken: &[Value]) -> Option<Vec<Value>> {
    let mut list = list.to_vec();
    for member in taken {
        list.remove(list.iter().position(|of| same(of, member))?);
    }
    Some(list)
}

/// The edits that make one value of another, as few and as small as they can be.
pub fn edits(path: &Path, from: &Value, to: &Value) -> Vec<Edit> {
    let mut edits = Vec::new();
    differ(path, from, to, &mut edits);
    edits
}

fn differ(path: &Path, from: &Value, to: &Value, edits: &mut Vec<Edit>) {
    match (from, to) {
        _ if same(from, to) => {}
        (Value::Object(from), Value::Object(to)) => {
            for name in from.keys().filter(|name| !to.contains_key(*name)) {
                edits.push(Edit::Remove(path.field(name)));
            }
            for (name, value) in to {
                match from.get(name) {
                    Some(old) => differ(&path.field(name), old, value, edits),
                    None => edits.push(Edit::Set(path.field(name), value.clone())),
                }
            }
        }
        (Value::Array(from), Value::Array(to)) => list_differs(path, from, to, edits),
        _ => edits.push(Edit::Set(path.clone(), to.clone())),
    }
}

/// Members are taken out, changed where they stand, and added last; where that does not lead there, the list is set.
fn list_differs(path: &Path, from: &[Value], to: &[Value], edits: &mut Vec<Edit>) {
    let kept: Vec<usize> = match (ids(from), ids(to)) {
        (Some(old), Some(new)) => (0..from.len()).filter(|n| new.contains(&old[*n])).collect(),
        _ if from.len() <= to.len() => (0..from.len()).collect(),
        _ => (0..from.len()).filter(|n| to.iter().any(|of| same(of, &from[*n]))).collect(),
    };
    let in_order = match (ids(from), ids(to)) {
        (Some(old), Some(new)) => kept.iter().zip(&new).all(|(n, id)| old[*n] == *id),
        _ => kept.len() <= to.len(),
    };
    if !in_order || (kept.is_empty() && !from.is_empty()) {
        edits.push(Edit::Set(path.clone(), to.to_vec().into()));
        return;
    }
    for n in (0..from.len()).rev().filter(|n| !kept.contains(n)) {
        edits.push(Edit::Remove(path.index(n)));
    }
    for (n, (old, new)) in kept.iter().zip(to).enumerate() {
        differ(&path.index(n), &from[*old], new, edits);
    }
    edits.extend(to.iter().skip(kept.len()).map(|new| Edit::Append(path.clone(), new.clone())));
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::edit::apply;

    #[test]
    fn changes_of_different_things_come_together() {
        let was =
            json!({ "jobs": [{ "id": "a", "due": "x" }, { "id": "b" }], "weather": [1, 2], "prices": { "p": 1 } });
        let now = json!({ "jobs": [{ "id": "a", "due": "y" }, { "id": "b" }, { "id": "c" }], "weather": [1, 2, 3], "prices": { "p": 1 } });
        let wanted =
            json!({ "jobs": [{ "id": "a", "due": "x", "note": "n" }], "weather": [2, 4], "prices": { "p": 2 } });
        let both = json!({ "jobs": [{ "id": "a", "due": "y", "note": "n" }, { "id": "c" }], "weather": [2, 3, 4], "prices": { "p": 2 } });
        assert_eq!(merge(&was, &now, &wanted), Ok(both));
    }

    #[test]
    fn changes_of_the_same_thing_are_told_and_neither_is_lost() {
        let was = json!({ "jobs": [{ "id": "a", "due": "x" }, { "id": "b", "n": 1 }] });
        let now = json!({ "jobs": [{ "id": "a", "due": "y" }] });
        let wanted = json!({ "jobs": [{ "id": "a", "due": "z" }, { "id": "b", "n": 2 }] });
        let told = merge(&was, &now, &wanted).expect_err("two conflicts");
        let at: Vec<&str> = told.iter().map(|of| of.at.as_str()).collect();
        assert_eq!(at, ["jobs[a].due", "jobs[b]"]);
        assert_eq!((told[0].now.clone(), told[0].wanted.clone()), (Some(json!("y")), Some(json!("z"))));
        assert_eq!((told[1].now.clone(), told[1].wanted.clone()), (None, Some(json!({ "id": "b", "n": 2 }))));
        // The same change twice is one.
        assert_eq!(merge(&was, &now, &now), Ok(now.clone()));
    }

    #[test]
    fn edits_lead_from_any_value_to_any_other() {
        fn value(draw: &mut fastrand::Rng, depth: usize) -> Value {
            match draw.usize(..if depth == 0 { 3 } else { 6 }) {
                0 => json!(draw.i32(..3)),
                1 => json!(["a", "b"][draw.usize(..2)]),
                2 => json!(draw.bool()),
                3 => (0..draw.usize(..4)).map(|_| value(draw, depth - 1)).collect::<Vec<_>>().into(),
                4 => {
                    let id = |n: usize, draw: &mut fastrand::Rng| json!({ "id": format!("{n}"), "v": value(draw, depth - 1) });
                    let mut ids: Vec<usize> = (0..4).filter(|_| draw.bool()).collect();
                    draw.shuffle(&mut ids);
                    ids.into_iter().map(|n| id(n, draw)).collect::<Vec<_>>().into()
                }
                _ => Value::Object((0..draw.usize(..4)).map(|n| (format!("f{n}"), value(draw, depth - 1))).collect()),
            }
        }
        for seed in 0..3_000 {
            let mut draw = fastrand::Rng::with_seed(seed);
            let object =
                |draw: &mut fastrand::Rng| Value::Object((0..3).map(|n| (format!("f{n}"), value(draw, 3))).collect());
            let (from, to) = (object(&mut draw), object(&mut draw));
            let edits = edits(&Path::default(), &from, &to);
            let text = apply(&from.to_string(), &edits).unwrap_or_else(|at| panic!("seed {seed}: nowhere: {at}"));
            assert_eq!(serde_json::from_str::<Value>(&text).ok(), Some(to), "seed {seed}: {edits:?}");
        }
    }
}
