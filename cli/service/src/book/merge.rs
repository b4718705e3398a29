//! What differs between two states of a book, and what two changes of the same state come to together.
//!
//! Members of a list with ids are the same where their ids are; other lists are what was added to and taken from them.

use std::collections::{HashMap, HashSet};

use serde_json::{Map, Value};
use yardless_book::Path;
use yardless_edit::Edit;

/// A value that two changes of the same state want otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Conflict {
    /// Where in the book as it stands now; a member that is not there any more is one past the end of its list.
    pub at: Path,
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
    let mut seen = HashSet::with_capacity(list.len());
    ids.filter(|ids| ids.iter().all(|id| seen.insert(*id)))
}

/// What both changes of `was` come to: the one that leads to `now`, and the one that leads to `wanted`.
pub fn merge(was: &Value, now: &Value, wanted: &Value) -> Result<Value, Vec<Conflict>> {
    let mut all = Merge { conflicts: Vec::new(), wanted_wins: false };
    let merged = all.both(&Path::default(), Some(was), Some(now), Some(wanted));
    if all.conflicts.is_empty() { Ok(merged.unwrap_or_default()) } else { Err(all.conflicts) }
}

/// The same, and where both want it otherwise, as the one that leads to `wanted` has it.
pub fn over(was: &Value, now: &Value, wanted: &Value) -> Value {
    let mut all = Merge { conflicts: Vec::new(), wanted_wins: true };
    all.both(&Path::default(), Some(was), Some(now), Some(wanted)).unwrap_or_default()
}

/// Two changes coming together.
struct Merge {
    conflicts: Vec<Conflict>,
    wanted_wins: bool,
}

impl Merge {
    fn both(&mut self, at: &Path, was: Option<&Value>, now: Option<&Value>, wanted: Option<&Value>) -> Option<Value> {
        if same_or_absent(was, wanted) || same_or_absent(now, wanted) {
            return now.cloned();
        }
        if same_or_absent(was, now) {
            return wanted.cloned();
        }
        match (was, now, wanted) {
            (Some(Value::Object(was)), Some(Value::Object(now)), Some(Value::Object(wanted))) => {
                return Some(self.objects(at, was, now, wanted));
            }
            (was, Some(Value::Array(now)), Some(Value::Array(wanted))) => {
                let none = Vec::new();
                let was = was.and_then(Value::as_array).unwrap_or(&none);
                if let Some(list) = self.lists(at, was, now, wanted) {
                    return Some(list.into());
                }
            }
            _ => {}
        }
        let at = at.clone();
        self.conflicts.push(Conflict { at, was: was.cloned(), now: now.cloned(), wanted: wanted.cloned() });
        if self.wanted_wins { wanted.cloned() } else { now.cloned() }
    }

    fn objects(&mut self, at: &Path, was: &JsonObject, now: &JsonObject, wanted: &JsonObject) -> Value {
        let mut names: Vec<&String> = now.keys().collect();
        names.extend(wanted.keys().filter(|name| !now.contains_key(*name)));
        let fields = names.into_iter().filter_map(|name| {
            let at = at.field(name);
            Some((name.clone(), self.both(&at, was.get(name), now.get(name), wanted.get(name))?))
        });
        Value::Object(fields.collect())
    }

    /// `None`: nothing tells the members apart, or both have put them in another order.
    fn lists(&mut self, at: &Path, was: &[Value], now: &[Value], wanted: &[Value]) -> Option<Vec<Value>> {
        let (Some(was_ids), Some(now_ids), Some(wanted_ids)) = (ids(was), ids(now), ids(wanted)) else {
            return unnamed(was, now, wanted);
        };
        let (was_at, now_at, wanted_at) = (places(&was_ids), places(&now_ids), places(&wanted_ids));
        let in_order = |a: &[&str], in_a: &Places, b: &[&str], in_b: &Places| {
            let of_a = a.iter().filter(|id| in_b.contains_key(*id));
            of_a.eq(b.iter().filter(|id| in_a.contains_key(*id)))
        };
        // Whoever has left the order as it was follows the other one's.
        let (leads, in_leads, follows) = if in_order(&was_ids, &was_at, &wanted_ids, &wanted_at) {
            (&now_ids, &now_at, &wanted_ids)
        } else if in_order(&was_ids, &was_at, &now_ids, &now_at) {
            (&wanted_ids, &wanted_at, &now_ids)
        } else {
            return None;
        };
        let all = woven(leads, in_leads, follows);
        let find = |list: &[Value], at: &Places, id: &str| at.get(id).map(|n| list[*n].clone());
        let merged = all.into_iter().filter_map(|id| {
            let (was, now, wanted) = (find(was, &was_at, id), find(now, &now_at, id), find(wanted, &wanted_at, id));
            let at = at.index(now_at.get(id).copied().unwrap_or(now_ids.len()));
            self.both(&at, was.as_ref(), now.as_ref(), wanted.as_ref())
        });
        Some(merged.collect())
    }
}

/// Where in a list each id stands.
type Places<'v> = HashMap<&'v str, usize>;

fn places<'v>(ids: &[&'v str]) -> Places<'v> {
    ids.iter().enumerate().map(|(n, id)| (*id, n)).collect()
}

/// The ids of one list, and those of another that it lacks, each of them after what it stands behind there.
fn woven<'v>(leads: &[&'v str], in_leads: &Places, follows: &[&'v str]) -> Vec<&'v str> {
    // What comes behind each of the first list; first of all, what stands behind none.
    let mut behind: Vec<Vec<&str>> = vec![Vec::new(); leads.len() + 1];
    let mut at = 0;
    for id in follows {
        match in_leads.get(id) {
            Some(n) => at = n + 1,
            None => behind[at].push(id),
        }
    }
    let leads = std::iter::once(None).chain(leads.iter().copied().map(Some));
    leads.zip(behind).flat_map(|(id, behind)| id.into_iter().chain(behind)).collect()
}

/// Fields of an object.
type JsonObject = Map<String, Value>;

/// Members without ids: what the change adds comes after what it stands behind there, and what it takes away must be there.
fn unnamed(was: &[Value], now: &[Value], wanted: &[Value]) -> Option<Vec<Value>> {
    let (added, taken) = (without(wanted, was)?, without(was, wanted)?);
    let mut list = now.to_vec();
    let mut left = added;
    for (n, member) in wanted.iter().enumerate() {
        let Some(is) = left.iter().position(|of| same(of, member)) else { continue };
        left.remove(is);
        let before = n.checked_sub(1).map(|before| &wanted[before]);
        let of = |list: &[Value], member: &Value| list.iter().rposition(|of| same(of, member));
        let place = before.and_then(|before| of(&list, before)).map_or(0, |before| before + 1);
        // What comes last comes last, whatever came there meanwhile: a later report goes over an earlier one. Not what
        // stands in the place of another one, nor what follows one that was just put in.
        let ends = wanted[n + 1..].iter().all(|next| of(was, next).is_none());
        let follows = before.is_none_or(|before| of(was, before).is_some_and(|at| at + 1 == was.len()));
        let at = if ends && follows { list.len() } else { place };
        list.insert(at, member.clone());
    }
    without_all(&list, &taken)
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
        (Some(old), Some(new)) => {
            let new = places(&new);
            (0..from.len()).filter(|n| new.contains_key(old[*n])).collect()
        }
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
    let stays: HashSet<&usize> = kept.iter().collect();
    for n in (0..from.len()).rev().filter(|n| !stays.contains(n)) {
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
    use yardless_edit::apply;

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
        let at: Vec<String> = told.iter().map(|of| of.at.to_string()).collect();
        assert_eq!(at, ["jobs[0].due", "jobs[1]"]);
        assert_eq!((told[0].now.clone(), told[0].wanted.clone()), (Some(json!("y")), Some(json!("z"))));
        assert_eq!((told[1].now.clone(), told[1].wanted.clone()), (None, Some(json!({ "id": "b", "n": 2 }))));
        // The same change twice is one.
        assert_eq!(merge(&was, &now, &now), Ok(now.clone()));
    }

    #[test]
    fn order_is_kept_by_whoever_leaves_it_and_a_conflict_of_two_who_do_not() {
        let steps = |ids: &[&str]| Value::from(ids.iter().map(|id| json!({ "id": id })).collect::<Vec<_>>());
        // What comes back comes back to where it was.
        assert_eq!(
            merge(&steps(&["a", "c"]), &steps(&["a", "c", "d"]), &steps(&["a", "b", "c"])),
            Ok(steps(&["a", "b", "c", "d"]))
        );
        // One turns them round, the other adds one.
        assert_eq!(
            merge(&steps(&["a", "b"]), &steps(&["a", "b", "c"]), &steps(&["b", "a"])),
            Ok(steps(&["b", "c", "a"]))
        );
        assert_eq!(
            merge(&steps(&["a", "b"]), &steps(&["b", "a"]), &steps(&["a", "b", "c"])),
            Ok(steps(&["b", "c", "a"]))
        );
        assert!(merge(&steps(&["a", "b", "c"]), &steps(&["b", "a", "c"]), &steps(&["a", "c", "b"])).is_err());
        // Reports: one that is changed stays where it is, a new one comes last.
        let reports = |all: &[i32]| json!(all);
        assert_eq!(
            merge(&reports(&[1, 2, 3]), &reports(&[1, 2, 3, 4]), &reports(&[1, 9, 3])),
            Ok(reports(&[1, 9, 3, 4]))
        );
        assert_eq!(merge(&reports(&[1, 2]), &reports(&[1, 2, 3]), &reports(&[1, 2, 9])), Ok(reports(&[1, 2, 3, 9])));
        assert_eq!(merge(&reports(&[1, 3]), &reports(&[1, 3, 4]), &reports(&[1, 2, 3])), Ok(reports(&[1, 2, 3, 4])));
    }

    #[test]
    fn what_was_typed_goes_over_what_others_changed_where_both_are_the_same_thing_only() {
        let (was, now, wanted) = (
            json!({ "due": 1, "contact": "x" }),
            json!({ "due": 2, "contact": "y" }),
            json!({ "due": 3, "contact": "x" }),
        );
        assert_eq!(over(&was, &now, &wanted), json!({ "due": 3, "contact": "y" }));
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
