//! `yardless plan`: the data books plan, the plan given out holds, and stdout carries nothing else.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::Stdio;
use std::time::Duration;

use serde_json::Value;

use crate::{code, data, run, text, yardless};

fn books() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../data"))
}

#[test]
fn five_jobs_plan_and_the_plan_stored_holds() {
    let folder = tempfile::tempdir().expect("a folder");
    let stored = folder.path().join("plan.json");
    let stored = stored.to_str().expect("a name");
    let args = ["plan", "--from", "2026-12-07", "--weeks", "2", "--seconds", "10", "--json", "--out", stored];
    let output = run(books(), &[&["--book", "five-jobs.json"], &args[..]].concat());
    assert_eq!((code(&output), text(&output.stderr)), (0, ""));
    let plan: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(plan["left_out"], Value::Array(Vec::new()));
    assert_eq!(std::fs::read(stored).expect("the stored plan"), output.stdout);
    let checked = run(books(), &["--book", "five-jobs.json", "check", stored, "--now", "2026-12-07"]);
    assert_eq!(code(&checked), 0, "{}", text(&checked.stdout));
}

/// What is printed of a case of costs, its book changed, in one line.
fn printed(case: &str, change: impl FnOnce(&mut Value)) -> String {
    let path = format!("{}/../tests/cases/costs/{case}.json", env!("CARGO_MANIFEST_DIR"));
    let mut book: Value = serde_json::from_slice(&std::fs::read(path).expect("a case")).expect("JSON");
    change(&mut book);
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("book.json"), serde_json::to_vec(&book).expect("JSON")).expect("written");
    let args = ["--book", "book.json", "plan", "--from", "2026-12-07", "--weeks", "2", "--seconds", "20"];
    let output = run(folder.path(), &args);
    text(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn what_stands_is_hired_and_lies_open_is_told_under_the_plan() {
    let told = printed("trailer-in-the-street", |_| {});
    assert!(told.contains("Standing stage at Elm Street: 4 half-days at $10.00 ($40.00) Cost"), "{told}");
    // Without a truck it stands there all of the two weeks, of which the job takes two days.
    let told = printed("trailer-in-the-street", |book| {
        book["trucks"] = serde_json::json!([]);
        book["equipment"][0]["place"] = serde_json::json!("elm");
    });
    assert!(told.contains("stage at Elm Street: 20 half-days at $10.00, 16 of them without need ($200.00)"), "{told}");
    let told = printed("hired-lift", |_| {});
    assert!(told.contains("Hire lift: hired for 6 half-days at $25.00 ($150.00) Cost"), "{told}");
    let told = printed("one-house-after-the-other", |_| {});
    assert!(told.contains("Open 2 sites, at most 1 open at once ($140.00)"), "{told}");
    assert!(told.contains("3 half-days ($60.00)") && told.contains("4 half-days ($80.00)"), "{told}");
    // A book that has no such price says nothing of it.
    let told = printed("one-house-after-the-other", |book| book["prices"] = serde_json::json!({}));
    assert!(!told.contains("open at once") && !told.contains("Standing") && !told.contains("Hire"), "{told}");
}

#[test]
fn on_a_weekend_the_week_that_begins_is_planned_and_that_is_said() {
    for (now, from, says) in [
        ("2026-12-11 pm", "2026-12-07", ""),
        ("2026-12-12", "2026-12-14", "note: it is Saturday: planned is the week that begins on 2026-12-14"),
        ("2026-12-13 pm", "2026-12-14", "note: it is Sunday"),
        ("2026-12-14", "2026-12-14", ""),
    ] {
        let args = ["--book", "five-jobs.json", "plan", "--now", now, "--weeks", "2", "--steps", "20", "--json"];
        let output = run(books(), &args);
        let plan: Value = serde_json::from_slice(&output.stdout).expect("JSON");
        assert_eq!(plan["from"], from, "{now}");
        let told = text(&output.stderr);
        assert!(told.starts_with(says) && told.is_empty() == says.is_empty(), "{now}: {told}");
    }
}

#[test]
fn logs_go_to_stderr_and_the_result_stays_the_same() {
    let args = ["--book", "five-jobs.json", "plan", "--from", "2026-12-07", "--weeks", "2", "--steps", "50"];
    let quiet = run(books(), &args);
    let loud = run(books(), &[&["-vv"], &args[..]].concat());
    assert_eq!(text(&quiet.stdout), text(&loud.stdout));
    assert_eq!(text(&quiet.stderr), "");
    assert!(text(&loud.stderr).contains("planning"));
}

#[test]
fn interrupt_gives_the_best_plan_so_far() {
    let args = ["-v", "--book", "demo.json", "plan", "--from", "2026-12-07", "--seconds", "600"];
    let mut child =
        yardless(books(), &args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the command runs");
    // It has begun once it says so; a moment later it has a plan.
    let mut told = BufReader::new(child.stderr.take().expect("its words"));
    let mut line = String::new();
    while !line.contains("planning") {
        line.clear();
        assert!(told.read_line(&mut line).expect("its words") > 0, "it ended");
    }
    std::thread::sleep(Duration::from_millis(500));
    let asked = format!("kill -INT {}", child.id());
    let killed = std::process::Command::new("sh").args(["-c", &asked]).status().expect("a shell");
    assert!(killed.success());
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(code(&output), 0);
    assert!(text(&output.stdout).contains("THE WHOLE PLAN"));
}

#[test]
fn fixtures_are_left_alone_by_a_refused_out() {
    let before = std::fs::read(data().join("book.json")).expect("the book");
    let output = run(data(), &["--book", "book.json", "plan", "--from", "2026-12-07", "--out", "book.json"]);
    assert_eq!(code(&output), 2);
    assert_eq!(std::fs::read(data().join("book.json")).expect("the book"), before);
}
