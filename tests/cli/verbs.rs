//! check, new, schema, completions, and the table of exit codes.

use serde_json::{Value, json};

use crate::{code, data, late_inspection, run, shown, text, yardless};

#[test]
fn check_of_a_plan_that_holds_says_its_cost() {
    assert_eq!(
        shown(data(), &["check", "plan.json", "--now", "2026-12-07"]),
        "exit 0\n--- stdout\nThe plan holds. It costs $925.64.\n--- stderr\n"
    );
}

#[test]
fn check_lists_breaches_by_rule_and_ends_with_3() {
    let desk = late_inspection();
    let output = run(desk.path(), &["check", "altered.json", "--now", "2026-12-07"]);
    let printed = text(&output.stdout);
    assert_eq!(code(&output), 3);
    assert!(printed.starts_with("The plan does not hold: "), "{printed}");
    // The inspector is there on Wednesday only (T2), so Thursday is not workable for the step (W2).
    assert!(printed.lines().any(|line| line.starts_with("W2 ")), "{printed}");
    let output = run(desk.path(), &["check", "altered.json", "--json", "--now", "2026-12-07"]);
    let found: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(code(&output), 3);
    assert_eq!(found["holds"], false);
    let breach = found["breaches"].as_array().and_then(|all| all.iter().find(|breach| breach["rule"] == "W2"));
    let fact = &breach.expect("the step is not workable")["fact"];
    assert_eq!((&fact["kind"], &fact["obstacle"]), (&json!("cannot-start"), &json!("few-people")), "{fact}");
    assert!(fact["step"]["job"].is_string() && fact["step"]["step"].is_string(), "{fact}");
}

#[test]
fn storm_of_now_breaks_what_is_to_come_and_nothing_of_last_week() {
    let desk = crate::book_desk();
    let at = |args: &[&'static str], now: &'static str| run(desk.path(), &[args, &["--now", now]].concat());
    // The staging was towed on Thursday, as the road was expected clear after the last report; a report of Friday would
    // have that Thursday among the dates that are reported (H2).
    assert_eq!(code(&at(&["storm", "2026-12-18"], "2026-12-18")), 0);
    let checked = at(&["check", "plan.json"], "2026-12-18");
    let told = text(&checked.stdout);
    assert_eq!((code(&checked), told), (0, "The plan holds from 2026-12-18 am on. It costs $925.64.\n"));
    assert!(text(&checked.stderr).contains("taken to have gone as planned"), "{}", text(&checked.stderr));
    let sheet = at(&["week", "plan.json"], "2026-12-18");
    assert_eq!((code(&sheet), text(&sheet.stdout).contains("DOES NOT HOLD")), (0, false));
    assert_eq!(code(&at(&["free", "staging trailer"], "2026-12-18")), 0);
    // As of its beginning it is a plan that leans on what it may not.
    let checked = at(&["check", "plan.json"], "2026-12-07");
    assert!(code(&checked) == 3 && text(&checked.stdout).contains("H2"), "{}", text(&checked.stdout));
    assert_eq!(code(&at(&["check", "plan.json"], "2026-12-21")), 2, "after its end");
    // On Friday the 11th: the take-down of Monday is outside (W7).
    let desk = crate::book_desk();
    let at = |args: &[&'static str], now: &'static str| run(desk.path(), &[args, &["--now", now]].concat());
    assert_eq!(code(&at(&["storm", "2026-12-14"], "2026-12-11")), 0);
    let checked = at(&["check", "plan.json"], "2026-12-11");
    assert!(code(&checked) == 3 && text(&checked.stdout).contains("W7"), "{}", text(&checked.stdout));
}

#[test]
fn plan_that_a_crew_is_behind_of_does_not_hold_from_now_on() {
    let desk = crate::book_desk();
    for args in [
        &["note", "--until", "2026-12-11", "--now", "2026-12-11"][..],
        &["note", "hill-pack/pack", "left", "3", "--now", "2026-12-11"],
    ] {
        assert_eq!(code(&run(desk.path(), args)), 0, "{args:?}");
    }
    let checked = run(desk.path(), &["check", "plan.json", "--now", "2026-12-14"]);
    assert_eq!(code(&checked), 3, "{}", text(&checked.stdout));
    assert!(text(&checked.stdout).contains("Dense pack at Hill dense pack"), "{}", text(&checked.stdout));
}

#[test]
fn new_writes_a_book_that_reads_and_plans_and_never_writes_over_one() {
    let folder = tempfile::tempdir().expect("a folder");
    let made = run(folder.path(), &["new", "book.json"]);
    assert_eq!((code(&made), made.stderr.is_empty()), (0, true), "{}", text(&made.stderr));
    // Found as book.json, without being named.
    let planned = run(folder.path(), &["plan", "--from", "2026-12-07", "--weeks", "2", "--seconds", "5", "--json"]);
    assert_eq!(code(&planned), 0, "{}", text(&planned.stderr));
    let plan: Value = serde_json::from_slice(&planned.stdout).expect("JSON");
    assert_eq!(plan["left_out"], Value::Array(Vec::new()));
    let before = std::fs::read(folder.path().join("book.json")).expect("the book");
    let again = run(folder.path(), &["new", "book.json"]);
    assert_eq!(code(&again), 2);
    assert_eq!(
        text(&again.stderr),
        "new::exists: `book.json` is there already; nothing was written\n  help: give the name of a new file\n"
    );
    assert_eq!(std::fs::read(folder.path().join("book.json")).expect("the book"), before);
}

#[test]
fn book_is_found_in_the_environment_and_the_flag_goes_before_it() {
    let named = |book: &str, args: &[&str]| {
        let output = yardless(data(), args).env("YARDLESS_BOOK", book).output().expect("the command runs");
        (code(&output), text(&output.stderr).to_owned())
    };
    assert_eq!(named("book.json", &["check", "plan.json"]), (0, String::new()));
    assert!(named("none.json", &["check", "plan.json"]).1.contains("there is no book `none.json`"));
    assert_eq!(named("none.json", &["--book", "book.json", "check", "plan.json"]), (0, String::new()));
}

#[test]
fn schema_is_json_and_knows_the_books_own_fields() {
    let output = run(data(), &["schema"]);
    let schema: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(code(&output), 0);
    let fields = schema["properties"].as_object().expect("properties");
    for field in ["book", "shop", "places", "crews", "trucks", "equipment", "jobs", "weather"] {
        assert!(fields.contains_key(field), "{field}");
    }
}

#[test]
fn completions_name_the_commands() {
    for shell in ["bash", "zsh", "fish"] {
        let output = run(data(), &["completions", shell]);
        assert_eq!(code(&output), 0);
        assert!(text(&output.stdout).contains("free"), "{shell}");
    }
}

#[test]
fn exit_codes_are_the_same_in_help_and_readme() {
    let help = run(data(), &["--help"]);
    let readme = include_str!("../../README.md");
    let rows: Vec<&str> = text(&help.stdout).lines().skip_while(|line| *line != "Exit codes:").skip(1).collect();
    assert_eq!(rows.len(), 4);
    for row in rows {
        let (number, meaning) = row.trim().split_once("  ").expect("code and meaning");
        assert!(readme.contains(&format!("| {number} | {meaning} |")), "{row}");
    }
}

#[test]
fn reader_who_leaves_early_is_no_failure() {
    use std::process::Stdio;
    let mut child = yardless(data(), &["week", "plan.json", "--now", "2026-12-07"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command runs");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it ends");
    assert_eq!((code(&output), text(&output.stderr)), (0, ""));
}
