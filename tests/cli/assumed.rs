//! Days that nobody noted are taken to have gone as planned: the answers are those of a book in which that is noted.

use std::path::Path;

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::{bytes, code, five_jobs, run, text};

/// The book and the plan of another folder.
fn copied(from: &Path) -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for name in ["book.json", "plan.json"] {
        std::fs::copy(from.join(name), folder.path().join(name)).expect("copied");
    }
    folder
}

fn value(folder: &TempDir, name: &str) -> Value {
    serde_json::from_slice(&bytes(folder.path(), name)).expect("JSON")
}

fn done(folder: &TempDir, args: &[&str]) {
    let output = run(folder.path(), args);
    assert_eq!(code(&output), 0, "{args:?}: {}", text(&output.stderr));
}

const LINE: &str = "taken to have gone as planned";

/// What a command answers in both folders: the same, and only the first says what it assumes.
fn alike(unsaid: &TempDir, noted: &TempDir, args: &[&str]) -> String {
    let (a, b) = (run(unsaid.path(), args), run(noted.path(), args));
    assert_eq!(code(&b), 0, "{args:?}: {}", text(&b.stderr));
    assert_eq!(code(&a), 0, "{args:?}: {}", text(&a.stderr));
    assert_eq!(text(&a.stdout), text(&b.stdout), "{args:?}");
    let lines = |output: &std::process::Output| text(&output.stderr).lines().filter(|line| line.contains(LINE)).count();
    assert_eq!((lines(&a), lines(&b)), (1, 0), "{args:?}: {}", text(&a.stderr));
    text(&a.stderr).to_owned()
}

/// The steps that a plan has begun before a half-day, in the order of the book.
fn begun(folder: &TempDir, until: &str) -> Vec<String> {
    let (book, plan) = (value(folder, "book.json"), value(folder, "plan.json"));
    let rows = plan["steps"].as_array().expect("rows");
    let mut found = Vec::new();
    for job in book["jobs"].as_array().expect("jobs") {
        for step in job["steps"].as_array().expect("steps") {
            let is = |row: &&Value| row["job"] == job["id"] && row["step"] == step["id"];
            if rows.iter().find(is).is_some_and(|row| row["start"].as_str().expect("a half-day") < until) {
                found.push(format!("{}/{}", job["id"].as_str().expect("an id"), step["id"].as_str().expect("an id")));
            }
        }
    }
    found
}

const QUESTIONS: [&[&str]; 5] = [
    &["free", "blowing machine", "--for", "2", "--at", "Hill Farm"],
    &["offer", "elm-gable", "--steps", "200"],
    &["why", "elm-gable", "--steps", "100"],
    &["worth", "--rows", "2", "--steps", "200"],
    &["chance", "--seasons", "200"],
];

/// The five-job book with a spread, so that there is a chance to ask of, and its plan.
fn five_jobs_with_a_spread() -> TempDir {
    let folder = five_jobs();
    let mut book = value(&folder, "book.json");
    book["jobs"][2]["steps"][1]["spread"] = json!({ "low": 1, "likely": 1, "high": 1.6 });
    std::fs::write(folder.path().join("book.json"), serde_json::to_vec_pretty(&book).expect("JSON")).expect("written");
    folder
}

#[test]
fn questions_are_answered_as_if_the_days_before_had_been_noted_and_the_book_stays_as_it_is() {
    let unsaid = five_jobs_with_a_spread();
    let before = bytes(unsaid.path(), "book.json");
    for now in ["2026-12-08 am", "2026-12-09 pm", "2026-12-11 am"] {
        let noted = copied(unsaid.path());
        done(&noted, &["note", "--until", now, "--now", now]);
        let begun = begun(&unsaid, now);
        assert!(!begun.is_empty(), "{now}");
        for question in QUESTIONS {
            let args = [question, &["--now", now]].concat();
            let says = alike(&unsaid, &noted, &args);
            let correct =
                format!("`yardless note --until \"{now}\"` writes that down, `yardless note JOB/STEP left N`");
            assert!(says.contains(&correct), "{says}");
            let json = |folder: &TempDir| -> Value {
                let output = run(folder.path(), &[&args[..], &["--json"]].concat());
                serde_json::from_slice(&output.stdout).expect("JSON")
            };
            assert_eq!(json(&unsaid)["assumed"], json!({ "until": now, "steps": begun }), "{args:?}");
            assert_eq!(json(&noted)["assumed"], Value::Null, "{args:?}");
        }
    }
    assert_eq!(bytes(unsaid.path(), "book.json"), before);
}

#[test]
fn what_was_noted_of_some_steps_stands_and_the_rest_is_assumed() {
    let (unsaid, now) = (five_jobs_with_a_spread(), "2026-12-09 pm");
    let begun = begun(&unsaid, now);
    let step = begun.first().expect("a step").as_str();
    done(&unsaid, &["note", step, "left", "2", "--now", "2026-12-09 am"]);
    let noted = copied(unsaid.path());
    done(&noted, &["note", "--until", now, "--now", now]);
    for question in QUESTIONS {
        let args = [question, &["--now", now]].concat();
        let (a, b) = (run(unsaid.path(), &args), run(noted.path(), &args));
        assert_eq!((code(&a), text(&a.stdout)), (code(&b), text(&b.stdout)), "{}", text(&a.stderr));
        if code(&a) == 0 {
            assert!(!text(&a.stderr).contains(step), "{}", text(&a.stderr));
        }
    }
}

/// A plan without what depends on the book's text.
fn bare(mut plan: Value) -> Value {
    plan.as_object_mut().expect("a plan").retain(|name, _| name != "book_digest" && name != "so_far");
    plan
}

#[test]
fn plans_made_without_notes_are_those_made_with_them_and_go_on_being_asked() {
    let unsaid = five_jobs_with_a_spread();
    let noted = copied(unsaid.path());
    let before = bytes(unsaid.path(), "book.json");
    let (first, second) = ("2026-12-08 pm", "2026-12-10 am");
    // A storm on the days to come, so that there is something to change.
    for folder in [&unsaid, &noted] {
        done(folder, &["storm", "2026-12-11/2026-12-14", "--no-travel", "--now", first]);
    }
    let stormy = bytes(unsaid.path(), "book.json");
    assert_ne!(stormy, before);
    done(&noted, &["note", "--until", first, "--now", first]);
    let replan = ["replan", "--now", first, "--steps", "300", "--out", "new.json"];
    alike(&unsaid, &noted, &replan);
    assert_eq!(bare(value(&unsaid, "new.json")), bare(value(&noted, "new.json")));
    // It holds by the book as it is, though that does not say what went before.
    for verb in ["check", "week"] {
        let output = run(unsaid.path(), &[verb, "new.json", "--now", first]);
        assert_eq!(code(&output), 0, "{verb}: {}", text(&output.stdout));
    }
    // Two days on, nothing noted still.
    done(&noted, &["note", "--until", second, "--kept", "new.json", "--now", second]);
    for question in QUESTIONS {
        alike(&unsaid, &noted, &[question, &["--plan", "new.json", "--now", second]].concat());
    }
    alike(&unsaid, &noted, &["replan", "--kept", "new.json", "--now", second, "--steps", "300", "--out", "third.json"]);
    assert_eq!(bare(value(&unsaid, "third.json")), bare(value(&noted, "third.json")));
    assert_eq!(code(&run(unsaid.path(), &["check", "third.json", "--now", second])), 0);
    assert_eq!(bytes(unsaid.path(), "book.json"), stormy);
    // Noted late, all of it comes into the book.
    done(&unsaid, &["note", "--until", second, "--kept", "new.json", "--now", second]);
    assert_eq!(value(&unsaid, "book.json"), value(&noted, "book.json"));
}

#[test]
fn steps_that_cannot_have_gone_as_planned_are_planned_again_and_the_rest_is_assumed() {
    let (folder, now) = (five_jobs_with_a_spread(), "2026-12-10 am");
    let planned = begun(&folder, now);
    // A storm of days by now past, reported after the plan was given out.
    done(&folder, &["storm", "2026-12-08/2026-12-09", "--no-travel", "--now", "2026-12-08"]);
    for question in QUESTIONS {
        let output = run(folder.path(), &[question, &["--now", now]].concat());
        let says = text(&output.stderr);
        let refused = ["plan::not-noted", "plan::not-begun", "plan::breach"].iter().any(|code| says.contains(code));
        assert!(code(&output) != 0 && output.stdout.is_empty() && refused, "{question:?}: {says}");
    }
    let replan = ["replan", "--now", now, "--steps", "200", "--out", "new.json"];
    // The wall at Pond Lane began before the storm, which stopped it: how far it is has to be said.
    let output = run(folder.path(), &replan);
    let says = text(&output.stderr);
    assert!(code(&output) == 2 && says.contains("plan::not-noted") && says.contains("pond-wall/frame"), "{says}");

    done(&folder, &["note", "pond-wall/frame", "left", "1", "--now", "2026-12-08 am"]);
    let output = run(folder.path(), &replan);
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains(LINE), "{}", text(&output.stderr));
    assert!(text(&output.stdout).contains("it was to have begun by now"), "{}", text(&output.stdout));
    // On the days of the storm nothing was done, before it all.
    let said = "pond-wall/frame";
    let assumed: Vec<String> = planned.iter().filter(|step| before(&folder, step, "2026-12-08 am")).cloned().collect();
    assert!(!assumed.is_empty() && assumed.len() < planned.len());
    let rows = value(&folder, "new.json")["steps"].as_array().expect("rows").clone();
    for step in &planned {
        let row = rows.iter().find(|row| format!("{}/{}", text_of(&row["job"]), text_of(&row["step"])) == *step);
        let row = row.unwrap_or_else(|| panic!("{step} is planned"));
        assert_eq!(text_of(&row["start"]) < "2026-12-08", assumed.contains(step) || step == said, "{row}");
    }
    done(&folder, &["check", "new.json", "--now", now]);
}

/// Whether the plan begins a step before a half-day.
fn before(folder: &TempDir, step: &str, at: &str) -> bool {
    begun(folder, at).iter().any(|of| of == step)
}

fn text_of(value: &Value) -> &str {
    value.as_str().expect("a text")
}

#[test]
fn step_that_its_crew_passed_over_has_not_begun() {
    let (folder, now) = (five_jobs(), "2026-12-10 am");
    // The north crew was at Oak Street first by the plan; the south crew, of which nobody has said anything, at Pond Lane.
    let planned = begun(&folder, now);
    for step in ["oak-attic/seal", "oak-attic/blow", "elm-attic/seal", "pond-wall/frame"] {
        assert!(planned.iter().any(|of| of == step), "{planned:?}");
    }
    done(&folder, &["note", "elm-attic/seal", "done", "--now", now]);
    let output = run(folder.path(), &["replan", "--now", now, "--steps", "200", "--json"]);
    let says = text(&output.stderr);
    assert_eq!(code(&output), 0, "{says}");
    assert!(says.contains("pond-wall/frame") && !says.contains("oak-attic"), "{says}");
    let plan: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let rows = plan["steps"].as_array().expect("rows").iter();
    let oak: Vec<&str> = rows.filter(|row| row["job"] == "oak-attic").map(|row| text_of(&row["start"])).collect();
    assert!(oak.len() == 2 && oak.iter().all(|start| *start >= now), "{oak:?}");
}

#[test]
fn step_that_has_not_begun_by_what_was_said_is_planned_again_and_not_assumed() {
    let (folder, now) = (five_jobs_with_a_spread(), "2026-12-08 am");
    for step in begun(&folder, now) {
        done(&folder, &["note", &step, "again", "--now", "2026-12-07 pm"]);
    }
    let output = run(folder.path(), &["why", "elm-gable", "--now", now]);
    assert_eq!(code(&output), 2);
    assert!(text(&output.stderr).contains("plan::not-begun"), "{}", text(&output.stderr));
    let output = run(folder.path(), &["replan", "--now", now, "--steps", "100"]);
    assert_eq!(code(&output), 0);
    assert!(!text(&output.stderr).contains(LINE), "{}", text(&output.stderr));
    assert!(text(&output.stdout).contains("it was to have begun by now"), "{}", text(&output.stdout));
}

#[test]
fn plans_that_lean_on_each_other_without_end_are_refused() {
    let (folder, now) = (five_jobs(), "2026-12-08 pm");
    done(&folder, &["replan", "--now", now, "--steps", "20", "--out", "new.json"]);
    let new = value(&folder, "new.json");
    assert!(new["so_far"].is_object());
    for (depth, says) in [(40, "plans in a row were made without a note"), (400, "recursion limit")] {
        let mut plan = new.clone();
        for _ in 0..depth {
            let mut next = new.clone();
            next["so_far"] = plan;
            plan = next;
        }
        std::fs::write(folder.path().join("deep.json"), plan.to_string()).expect("written");
        let output = run(folder.path(), &["why", "elm-gable", "--plan", "deep.json", "--now", "2026-12-09 pm"]);
        assert_eq!(code(&output), 2, "{depth}: {}", text(&output.stderr));
        assert!(text(&output.stderr).contains(says), "{depth}: {}", text(&output.stderr));
    }
}
