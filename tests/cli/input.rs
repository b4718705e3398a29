//! Wrong input: every form of refusal says file, place and remedy, and ends with 2.

use crate::{code, data, desk, run, shown, text};

#[test]
fn every_fault_of_a_book_is_told_at_once_with_its_place() {
    insta::assert_snapshot!(shown(data(), &["--book", "faulty.json", "plan", "--from", "2026-12-07"]));
}

#[test]
fn fault_that_only_the_horizon_shows_has_its_place_too() {
    insta::assert_snapshot!(shown(data(), &["--book", "fixed-on-sunday.json", "plan", "--from", "2026-12-07"]));
}

#[test]
fn files_that_cannot_serve_are_named_with_a_remedy() {
    let forms: Vec<String> = [
        &["--book", "none.json", "plan"][..],
        &["check", "none.json"],
        &["week", "not-json.txt"],
        &["week", "book.json"],
        &["week", "plan.json", "--week", "2026-12-21"],
        &["week", "plan.json", "--crew", "nrth"],
        &["plan", "--from", "2026-12-09"],
        &["plan", "--from", "2026-12-07", "--out", "book.json"],
    ]
    .iter()
    .map(|args| format!("$ yardless {}\n{}", args.join(" "), shown(data(), args)))
    .collect();
    insta::assert_snapshot!(forms.join("\n"));
}

#[test]
fn plan_that_cannot_be_read_says_what_is_wrong_with_it() {
    let forms: Vec<String> = [
        ("\"plan\": 1,", "\"plan\": 2,"),
        ("\"from\": \"2026-12-07\"", "\"from\": \"2026-12-08\""),
        ("\"weeks\": 2", "\"weeks\": 0"),
        ("\"step\": \"seal\", ", ""),
        ("\"2026-12-07 am\", \"end\"", "\"2026-12-07 noon\", \"end\""),
    ]
    .iter()
    .map(|(from, to)| format!("{from} -> {to}\n{}", shown(desk(from, to).path(), &["check", "altered.json"])))
    .collect();
    insta::assert_snapshot!(forms.join("\n"));
}

#[test]
fn plan_from_another_text_of_the_book_is_checked_with_a_note() {
    let desk = desk("\"book_digest\": \"\"", &format!("\"book_digest\": \"{}\"", "0".repeat(64)));
    insta::assert_snapshot!(shown(desk.path(), &["check", "altered.json", "--now", "2026-12-07"]));
}

#[test]
fn usage_ends_with_2_and_an_empty_stdout() {
    for args in [
        &["frobnicate"][..],
        &["plan", "--from", "2026-02-30"],
        &["plan", "--weeks", "0"],
        &["plan", "--weeks", "105"],
        &["plan", "--seconds", "0"],
        &["plan", "--seconds", "inf"],
        &["plan", "--steps", "-1"],
        &["plan", "--gap", "100%"],
        &["free"],
    ] {
        let output = run(data(), args);
        assert_eq!(code(&output), 2, "{args:?}");
        assert!(output.stdout.is_empty(), "{args:?}: {}", text(&output.stdout));
        assert!(!output.stderr.is_empty(), "{args:?}");
    }
}
