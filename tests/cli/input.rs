//! Wrong input: every form of refusal says file, place and remedy, and ends with 2.

use std::fs::{self, File};
use std::path::Path;
use std::time::{Duration, Instant};

use crate::{book_desk, code, data, desk, run, shown, text};

/// Far longer than a refusal takes, however busy the machine.
const PATIENCE: Duration = Duration::from_secs(60);

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

#[test]
#[cfg(unix)]
fn what_is_no_file_or_too_large_is_refused_unread() {
    let desk = book_desk();
    let large = File::create(desk.path().join("large.json")).expect("a file");
    large.set_len(3_000_000_000).expect("a sparse file");
    fs::create_dir(desk.path().join("folder")).expect("a folder");
    let pipe = std::process::Command::new("mkfifo").arg(desk.path().join("pipe")).status().expect("mkfifo runs");
    assert!(pipe.success());
    let began = Instant::now();
    for (name, says) in [
        ("large.json", "more than"),
        ("folder", "it is a folder"),
        ("pipe", "it is a pipe or a device"),
        ("/dev/zero", "it is a pipe or a device"),
    ] {
        for args in [
            &["--book", name, "plan", "--from", "2026-12-07"][..],
            &["--book", name, "note", "elm-attic/seal", "done"],
            &["check", name],
            &["plan", "--from", "2026-12-07", "--start", name],
        ] {
            let output = run(desk.path(), args);
            let told = text(&output.stderr);
            assert!(code(&output) == 2 && told.contains(says) && told.contains(name), "{args:?}: {told}");
        }
        // Nor is any of them written over.
        if name != "large.json" {
            let output = run(desk.path(), &["plan", "--from", "2026-12-07", "--out", name]);
            assert_eq!(code(&output), 2, "{name}");
        }
    }
    assert!(began.elapsed() < PATIENCE, "{:?}", began.elapsed());
}

#[test]
fn plan_of_no_calendar_is_refused_at_once() {
    let began = Instant::now();
    for date in ["+262142-12-30", "-262143-01-05", "0000-01-03", "9999-12-27", "1899-12-25", "2200-01-06", "2199-12-30"]
    {
        let altered = desk("\"from\": \"2026-12-07\"", &format!("\"from\": \"{date}\""));
        for verb in ["week", "check"] {
            let output = run(altered.path(), &[verb, "altered.json"]);
            let told = text(&output.stderr);
            assert!(code(&output) == 2 && told.contains("outside the years 1900 to 2199"), "{verb} {date}: {told}");
        }
    }
    assert!(began.elapsed() < PATIENCE, "{:?}", began.elapsed());
}

#[test]
fn the_first_hundred_of_very_many_faults_are_told_and_how_many_more_there_are() {
    let folder = tempfile::tempdir().expect("a folder");
    let book = fs::read_to_string(data().join("book.json")).expect("a book");
    let twice = ", \"x_a\": 1".repeat(100_000);
    fs::write(folder.path().join("book.json"), format!("{}{twice}}}", book.trim_end().trim_end_matches('}')))
        .expect("written");
    let began = Instant::now();
    let output = run(folder.path(), &["plan", "--from", "2026-12-07"]);
    assert!(began.elapsed() < PATIENCE, "{:?}", began.elapsed());
    let told = text(&output.stderr);
    assert_eq!(code(&output), 2);
    assert_eq!(told.matches("book::duplicate-key").count(), 100);
    assert!(told.ends_with("and 99899 more; 99999 faults in book.json\n"), "{}", &told[told.len() - 200..]);
}

#[test]
fn names_neither_steer_a_terminal_nor_turn_a_line_around() {
    let desk = book_desk();
    let path: &Path = &desk.path().join("book.json");
    let book = fs::read_to_string(path).expect("a book");
    // Escape and the end of a device control, a line break, and the override that turns what follows around.
    let hostile = book.replace("\"name\": \"Elm attic\"", "\"name\": \"Elm\\u001b[2J\\u009b\\n\u{202e}attic\"");
    assert_ne!(book, hostile);
    fs::write(path, hostile).expect("written");
    let args = ["plan", "--from", "2026-12-07", "--weeks", "2", "--steps", "20"];
    let sheet = run(desk.path(), &args);
    let sheet = text(&sheet.stdout);
    let steers = |c: char| (c.is_control() && c != '\n') || c == '\u{202e}';
    assert!(!sheet.contains(steers), "{sheet}");
    assert!(sheet.contains("Elm\\u001b[2J"), "{sheet}");
    // A fault points into the text, and a plan as JSON says the same as before.
    let json = run(desk.path(), &[&args[..], &["--json"]].concat());
    assert!(serde_json::from_slice::<serde_json::Value>(&json.stdout).is_ok_and(|plan| plan["plan"] == 1));
}
