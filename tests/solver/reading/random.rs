//! Random bytes and changed books: never a panic, and what is read is the same when written and read again.

use proptest::prelude::*;
use yardless_book::read;

use super::round_trips;

const CASES: [&str; 2] =
    [include_str!("../../cases/random-4-jobs-101.json"), include_str!("../../cases/two-machines.json")];

/// Never a panic; a fault lies within the text; a book that is read is the same when written and read again.
fn holds(bytes: &[u8]) {
    match read(bytes) {
        Ok(_) => round_trips(bytes),
        Err(faults) => {
            assert!(!faults.all.is_empty());
            for (fault, at) in faults.all {
                assert!(at.start <= at.end && at.end <= bytes.len(), "{fault} {at:?}");
                assert!(!fault.says.contains("cannot be taken in"), "schema and types disagree: {fault}");
            }
        }
    }
}

/// All places of a JSON tree, as pointers.
fn pointers(value: &serde_json::Value, at: &str, out: &mut Vec<String>) {
    out.push(at.to_owned());
    match value {
        serde_json::Value::Object(object) => {
            for (key, inner) in object {
                pointers(inner, &format!("{at}/{}", key.replace('~', "~0").replace('/', "~1")), out);
            }
        }
        serde_json::Value::Array(list) => {
            for (index, inner) in list.iter().enumerate() {
                pointers(inner, &format!("{at}/{index}"), out);
            }
        }
        _ => {}
    }
}

/// Texts that are put where something else stood.
const STRAY: [&str; 24] = [
    "null",
    "true",
    "-1",
    "-0",
    "-0.0",
    "0",
    "1.0",
    "2",
    "0.5",
    "1e2",
    "1e-400",
    "1e308",
    "18446744073709551616",
    "\"\"",
    "\"/\"",
    "\"2026-12-09\"",
    "\"2026-12-09 pm/2026-12-11\"",
    "\"12-01/02-29\"",
    "\"never\"",
    "\"a\"",
    "[]",
    "{}",
    "[[]]",
    "{\"x_a\":[1.5,null]}",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4_000))]

    #[test]
    fn random_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        holds(&bytes);
    }

    #[test]
    fn random_json_signs_never_panic(text in r#"[{}\[\]:,"\\/*'a-z0-9.+\-eEu \n\u{0}\u{a0}é]{0,60}"#) {
        holds(text.as_bytes());
    }

    #[test]
    fn books_with_bytes_changed_never_panic(
        case in 0..2_usize,
        edits in prop::collection::vec((any::<prop::sample::Index>(), 0..3_u8, any::<u8>(), 1..40_usize), 1..4),
    ) {
        let mut bytes = CASES[case].as_bytes().to_vec();
        for (index, what, byte, length) in edits {
            let at = index.index(bytes.len());
            match what {
                0 => bytes[at] ^= byte,
                1 => drop(bytes.drain(at..(at + length).min(bytes.len() - 1).max(at))),
                _ => bytes.insert(at, byte),
            }
        }
        holds(&bytes);
    }

    #[test]
    fn books_with_values_changed_never_panic(
        case in 0..2_usize,
        edits in prop::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>(), 0..6_u8), 1..4),
    ) {
        let mut book: serde_json::Value = serde_json::from_str(CASES[case]).expect("JSON");
        for (index, other, what) in edits {
            let mut all = vec![];
            pointers(&book, "", &mut all);
            let at = &all[index.index(all.len())];
            let with = match what {
                0 => serde_json::from_str(STRAY[other.index(STRAY.len())]).expect("JSON"),
                1 => book.pointer(&all[other.index(all.len())]).expect("a place").clone(),
                _ => serde_json::Value::Null,
            };
            let (above, last) = at.rsplit_once('/').unwrap_or_default();
            match (what, book.pointer_mut(above)) {
                // A field taken out, or renamed by its last letter; an element taken out, or given twice.
                (2 | 3, Some(serde_json::Value::Object(object))) => {
                    let value = object.remove(last);
                    if let (3, Some(value)) = (what, value) {
                        object.insert(last[..last.len() - 1].to_owned(), value);
                    }
                }
                (2 | 3, Some(serde_json::Value::Array(list))) if list.len() > last.parse().unwrap_or(usize::MAX) => {
                    let value = list.remove(last.parse().expect("an index"));
                    if what == 3 {
                        list.extend([value.clone(), value]);
                    }
                }
                (4, _) => if let Some(place) = book.pointer_mut(at) {
                    *place = serde_json::Value::from(format!("{place}"));
                },
                _ => if let Some(place) = book.pointer_mut(at) {
                    *place = with;
                },
            }
        }
        holds(serde_json::to_string_pretty(&book).expect("JSON").as_bytes());
    }
}
