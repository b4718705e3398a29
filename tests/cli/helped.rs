//! `note --with`: who helped with a step, where it was not as planned.

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::{bytes, code, run, text};

/// The book of four people who pair up, planned.
fn four() -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let book = concat!(env!("CARGO_MANIFEST_DIR"), "/../data/one-away.json");
    std::fs::copy(book, folder.path().join("book.json")).expect("copied");
    let args = ["plan", "--from", "2026-12-07", "--weeks", "2", "--steps", "400", "--out", "plan.json"];
    assert_eq!(code(&run(folder.path(), &args)), 0);
    folder
}

#[test]
fn who_helped_is_said_where_it_was_not_as_planned() {
    let folder = four();
    let plan: Value = serde_json::from_slice(&bytes(folder.path(), "plan.json")).expect("JSON");
    let row = plan["steps"].as_array().expect("rows").iter().min_by_key(|row| row["start"].as_str());
    let row = row.expect("a row");
    let (job, step) = (row["job"].as_str().expect("an id"), row["step"].as_str().expect("an id"));
    let (of, crew) = (format!("{job}/{step}"), row["crew"].as_str().expect("a crew"));
    let others: Vec<&str> = ["ann", "ben", "cal", "dee"].into_iter().filter(|of| *of != crew).collect();
    let now = ["--now", "2026-12-07 am"];
    let noted = |args: &[&str]| {
        let output = run(folder.path(), &[&["note", of.as_str()], args, &now].concat());
        assert_eq!(code(&output), 0, "{args:?}: {}", text(&output.stderr));
        let book: Value = serde_json::from_slice(&bytes(folder.path(), "book.json")).expect("JSON");
        let jobs = book["jobs"].as_array().expect("jobs").clone();
        let of_job = jobs.into_iter().find(|of| of["id"] == job).expect("the job");
        let found = of_job["steps"].as_array().expect("steps").iter().find(|of| of["id"] == step).cloned();
        found.expect("the step")
    };
    // Two others than any plan has: by id, by name.
    let with = format!("{},{}", others[2], others[1]);
    assert_eq!(noted(&["left", "1", "--with", &with])["progress"]["with"], json!([others[2], others[1]]));
    // Not said again: as the book has it; then one, then none.
    assert_eq!(noted(&["left", "2"])["progress"]["with"], json!([others[2], others[1]]));
    assert_eq!(noted(&["left", "2", "--with", others[0]])["progress"]["with"], json!([others[0]]));
    assert_eq!(
        noted(&["done", "--end", "2026-12-07 am", "--with", &with])["done"]["with"],
        json!([others[2], others[1]])
    );
    assert_eq!(noted(&["done", "--with", ""])["done"].get("with"), None);
    // All that is wrong is told at once, and nothing is written.
    let before = bytes(folder.path(), "book.json");
    let wrong = format!("{0},{0},nobody,{crew}", others[0]);
    let refused = run(folder.path(), &[&["note", of.as_str(), "done", "--with", &wrong][..], &now].concat());
    let says = text(&refused.stderr);
    assert_eq!(code(&refused), 2);
    assert!(says.contains("note::with") && says.contains("no crew `nobody`"), "{says}");
    assert!(says.contains(&format!("`{}` is named twice", others[0])), "{says}");
    assert!(says.contains(&format!("`{crew}` does it")), "{says}");
    let refused = run(folder.path(), &[&["note", of.as_str(), "again", "--with", others[0]][..], &now].concat());
    assert!(code(&refused) == 2 && text(&refused.stderr).contains("--with has no meaning with `again`"));
    assert_eq!(bytes(folder.path(), "book.json"), before);
}
