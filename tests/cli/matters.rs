//! `yardless matters`: asked on the terminal, printed, and written into the book where that is said.

use std::io::Write;
use std::path::Path;
use std::process::{Output, Stdio};

use serde_json::Value;

use crate::{bytes, code, run, text, yardless};

/// The demo and a plan of six weeks.
fn demo() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let book = Path::new(env!("CARGO_MANIFEST_DIR")).join("../data/demo.json");
    std::fs::copy(book, folder.path().join("book.json")).expect("copied");
    let args = ["plan", "--from", "2026-12-07", "--steps", "60", "--out", "plan.json"];
    assert_eq!(code(&run(folder.path(), &args)), 0);
    folder
}

/// The command with answers typed into it.
fn answering(folder: &Path, answers: &str, more: &[&str]) -> Output {
    let args = [&["matters", "--now", "2026-12-07", "--steps", "10"], more].concat();
    let mut command = yardless(folder, &args);
    let mut child =
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it runs");
    child.stdin.take().expect("its input").write_all(answers.as_bytes()).expect("written");
    child.wait_with_output().expect("it ends")
}

#[test]
fn five_choices_are_asked_and_the_prices_are_written_only_where_that_is_said() {
    let folder = demo();
    let before = bytes(folder.path(), "book.json");
    let output = answering(folder.path(), "a\nperhaps\nb\n?\na\nb\na\n", &[]);
    let (shown, asked) = (text(&output.stdout), text(&output.stderr));
    assert_eq!(code(&output), 0, "{asked}");
    assert!(asked.contains("1 of 5: which of these two would you rather have?"), "{asked}");
    assert_eq!(asked.matches("Write a, b or ?").count(), 1, "{asked}");
    let questions = asked.split("which of these two").skip(1);
    for question in questions {
        let table = question.split("a, b, or ?").next().expect("a table");
        assert!(!table.contains('$'), "never by money: {table}");
        assert!(table.lines().filter(|line| line.starts_with("  ")).count() >= 2, "{table}");
    }
    assert!(shown.contains("IN THE BOOK") && shown.contains("A day late (Promised)"), "{shown}");
    assert!(asked.contains("--write keeps them"), "{asked}");
    assert_eq!(bytes(folder.path(), "book.json"), before);
    // The same answers for programs, and into the book.
    let json = answering(folder.path(), "a\nb\n?\na\nb\na\n", &["--json"]);
    let told: Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let set: Vec<&Value> =
        told["prices"].as_array().expect("prices").iter().filter(|price| price["is"] != price["was"]).collect();
    assert!(!set.is_empty(), "{told}");
    let written = answering(folder.path(), "a\nb\n?\na\nb\na\n", &["--write"]);
    assert!(text(&written.stdout).contains("Written to book.json; `yardless undo` takes it back."), "{written:?}");
    let after: Value = serde_json::from_slice(&bytes(folder.path(), "book.json")).expect("a book");
    let mut expected: Value = serde_json::from_slice(&before).expect("a book");
    for price in set {
        match price["price"].as_str().and_then(|name| name.split_once('.')).expect("a name") {
            ("price", field) => expected["prices"][field] = price["is"].clone(),
            ("rank", id) => {
                let ranks = expected["ranks"].as_array_mut().expect("ranks");
                let rank = ranks.iter_mut().find(|rank| rank["id"] == id).expect("the rank");
                rank["late_day"] = price["is"].clone();
            }
            other => panic!("{other:?}"),
        }
    }
    let cents = |book: &Value| -> Vec<(String, i64)> {
        let all = book["prices"].as_object().expect("prices").iter();
        all.map(|(name, price)| (name.clone(), (price.as_f64().expect("dollars") * 100.0).round() as i64)).collect()
    };
    let (mut are, mut want) = (cents(&after), cents(&expected));
    are.sort();
    want.sort();
    assert_eq!(are, want);
    assert_eq!(after["jobs"], expected["jobs"]);
    assert_eq!(code(&run(folder.path(), &["undo"])), 0);
    assert_eq!(bytes(folder.path(), "book.json"), before);
    // Answers that end before the questions do set what they say.
    let few = answering(folder.path(), "a\n", &[]);
    assert_eq!(code(&few), 0);
    let none = answering(folder.path(), "", &["--write"]);
    assert!(text(&none.stderr).contains("No price changes") && bytes(folder.path(), "book.json") == before);
}
