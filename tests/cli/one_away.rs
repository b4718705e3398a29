//! The book of four people who pair up: when one is away, who is left pairs up anew.

use serde_json::Value;

use super::{code, run, text};

/// The crews of each row of a stored plan, helpers too, with its dates.
fn rows(folder: &std::path::Path, plan: &str) -> Vec<(Value, Vec<Value>)> {
    let plan: Value = serde_json::from_slice(&std::fs::read(folder.join(plan)).expect("a plan")).expect("JSON");
    let rows = plan["steps"].as_array().expect("rows").clone();
    let crews = |row: &Value| {
        let with = row["with"].as_array().cloned().unwrap_or_default();
        std::iter::once(row["crew"].clone()).chain(with).collect()
    };
    rows.into_iter().map(|row| (row.clone(), crews(&row))).collect()
}

#[test]
fn who_is_left_pairs_up_when_one_is_away() {
    let folder = tempfile::tempdir().expect("a folder");
    let book = concat!(env!("CARGO_MANIFEST_DIR"), "/../data/one-away.json");
    std::fs::copy(book, folder.path().join("book.json")).expect("copied");
    let told = |args: &[&str]| {
        let output = run(folder.path(), args);
        assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    };
    told(&["plan", "--from", "2026-12-07", "--weeks", "2", "--steps", "400", "--out", "plan.json"]);
    told(&["note", "--until", "2026-12-14 am", "--now", "2026-12-14 am"]);
    told(&["note", "ann", "away", "2026-12-15", "--now", "2026-12-14 am"]);
    told(&["replan", "--now", "2026-12-14 am", "--steps", "400", "--out", "new.json"]);
    // All but the patching take two at least (W17), and all four work in the plan made before.
    let pairs = |rows: &[(Value, Vec<Value>)]| {
        rows.iter().filter(|(row, _)| row["step"] != "patch").all(|(_, crews)| crews.len() >= 2)
    };
    let (before, after) = (rows(folder.path(), "plan.json"), rows(folder.path(), "new.json"));
    assert!(before.len() == 6 && pairs(&before) && pairs(&after), "{before:?}\n{after:?}");
    let of_ann = |(row, crews): &&(Value, Vec<Value>)| {
        crews.contains(&Value::from("ann")) && row["start"].as_str() >= Some("2026-12-14")
    };
    let on_the_day =
        |row: &Value| row["start"].as_str() <= Some("2026-12-15 pm") && row["end"].as_str() >= Some("2026-12-15 am");
    assert!(before.iter().filter(of_ann).any(|(row, _)| on_the_day(row)), "{before:?}");
    assert_eq!(code(&run(folder.path(), &["check", "new.json", "--now", "2026-12-14 am"])), 0);
    let ben = |(_, crews): &&(Value, Vec<Value>)| crews.contains(&Value::from("ben"));
    assert!(after.iter().filter(ben).any(|(_, crews)| crews.len() >= 2), "{after:?}");
}
