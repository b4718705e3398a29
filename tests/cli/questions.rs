//! `offer`, `why`, `worth`, `chance` and what `free` says of moving work, on the five-job book.

use std::path::Path;

use serde_json::{Value, json};

use crate::{bytes, code, five_jobs, run, session, text};

const NOW: [&str; 2] = ["--now", "2026-12-07"];

#[test]
fn questions_are_answered_in_a_sentence_and_then_the_evidence() {
    let folder = five_jobs();
    let ask = |args: &[&'static str]| [args, &NOW].concat();
    let asked = [
        ask(&["free", "blowing machine", "--for", "4", "--at", "Hill Farm"]),
        ask(&["offer", "Elm gable", "--steps", "2000"]),
        ask(&["why", "elm-gable", "--steps", "200"]),
        ask(&["worth", "--rows", "3", "--steps", "800"]),
    ];
    let asked: Vec<&[&str]> = asked.iter().map(Vec::as_slice).collect();
    insta::assert_snapshot!(session(folder.path(), &asked));
}

#[test]
fn plan_that_went_as_planned_is_one_that_questions_are_asked_of() {
    // By Tuesday am the Hill dense pack is over, and its staging is nobody's any more.
    let (folder, until) = (five_jobs(), ["--now", "2026-12-15 am"]);
    assert_eq!(code(&run(folder.path(), &["note", "--until", "2026-12-15 am"])), 0);
    let asked = [
        &["why", "elm-gable", "--steps", "100"][..],
        &["offer", "elm-gable", "--steps", "100"],
        &["worth", "--rows", "1", "--steps", "100"],
        &["free", "staging trailer"],
    ];
    for words in asked {
        let output = run(folder.path(), &[words, &until].concat());
        assert_eq!(code(&output), 0, "{words:?}: {}", text(&output.stderr));
    }
    let output = run(folder.path(), &["replan", "--now", "2026-12-15 am", "--steps", "400", "--json"]);
    let (kept, new): (Value, Value) = (
        serde_json::from_slice(&bytes(folder.path(), "plan.json")).expect("JSON"),
        serde_json::from_slice(&output.stdout).expect("JSON"),
    );
    assert_eq!(new["stopped"], "the kept plan stands");
    let told = |plan: &Value| {
        let rows = plan["steps"].as_array().expect("rows").iter();
        let rows = rows.map(|row| ["job", "step", "crew", "start", "end"].map(|field| row[field].to_string()));
        rows.collect::<std::collections::BTreeSet<_>>()
    };
    assert_eq!(told(&new), told(&kept));
}

#[test]
fn step_that_gets_on_better_than_planned_breaks_nothing() {
    let folder = five_jobs();
    // The dense pack goes on; a half-day less is left of it than the plan has.
    let begun = ["note", "--until", "2026-12-11 am"];
    assert_eq!(code(&run(folder.path(), &begun)), 0);
    let left = run(folder.path(), &["note", "hill-pack/pack", "left", "1"]);
    assert_eq!(code(&left), 0, "{}", text(&left.stderr));
    let output = run(folder.path(), &["why", "elm-gable", "--steps", "100", "--now", "2026-12-11 am"]);
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
}

#[test]
fn chance_of_a_date_is_on_the_sheet_where_the_book_gives_a_spread() {
    let folder = five_jobs();
    let path = folder.path().join("book.json");
    let mut book: Value = serde_json::from_slice(&bytes(folder.path(), "book.json")).expect("JSON");
    // The dense pack may take two half-days more: it then ends on the Monday or Tuesday after, still by its due date.
    book["jobs"][2]["steps"][1]["spread"] = json!({ "low": 1, "likely": 1, "high": 1.6 });
    std::fs::write(path, serde_json::to_vec_pretty(&book).expect("JSON")).expect("written");
    let output = run(folder.path(), &["week", "plan.json", "--now", "2026-12-07"]);
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    let sheet = text(&output.stdout);
    let at = sheet.find("Chance").expect("a chance");
    assert!(sheet[at..].contains("Hill dense pack: over 99 % by Fri 18 Dec"), "{}", &sheet[at..]);
    insta::assert_snapshot!(session(folder.path(), &[&["chance", "--seasons", "500", "--now", "2026-12-07"]]));
    book["jobs"][2]["steps"][1]["spread"] = json!({ "low": 1, "likely": 2, "high": 1.6 });
    std::fs::write(folder.path().join("book.json"), serde_json::to_vec_pretty(&book).expect("JSON")).expect("written");
    let output = run(folder.path(), &["week", "plan.json", "--now", "2026-12-07"]);
    assert_eq!(code(&output), 2);
    assert!(text(&output.stderr).contains("book::spread"), "{}", text(&output.stderr));
}

#[test]
fn what_cannot_be_asked_says_what_there_is() {
    let folder = five_jobs();
    let job =
        |skill: &str| json!({ "id": "new", "place": "elm", "steps": [{ "id": "s", "skill": skill, "half_days": 1 }] });
    let write = |name: &str, job: &Value| {
        std::fs::write(Path::new(folder.path()).join(name), serde_json::to_vec_pretty(job).expect("JSON"))
            .expect("written");
    };
    write("plumbing.json", &job("plumbing"));
    write("attic.json", &job("insulation"));
    let ask = |args: &[&'static str]| [args, &NOW].concat();
    let asked = [
        ask(&["offer", "elm-gabel"]),
        ask(&["offer", "--job", "plumbing.json"]),
        ask(&["offer", "--job", "missing.json"]),
        ask(&["why", "nothing like it"]),
        ask(&["free", "blowing machine", "--count", "5"]),
        ask(&["free", "blowing machine", "--at", "Hil Farm"]),
        ask(&["chance"]),
    ];
    let asked: Vec<&[&str]> = asked.iter().map(Vec::as_slice).collect();
    insta::assert_snapshot!(session(folder.path(), &asked));
    let output = run(folder.path(), &ask(&["offer", "--job", "attic.json", "--steps", "800"]));
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    assert!(text(&output.stdout).starts_with("new: start "), "{}", text(&output.stdout));
    for args in [
        &["offer", "elm-gable", "--steps", "99"][..],
        &["why", "elm-gable"],
        &["worth", "--rows", "1", "--steps", "99"],
        &["free", "blowing machine"],
    ] {
        let output = run(folder.path(), &[args, &NOW, &["--json"]].concat());
        assert_eq!(code(&output), 0, "{args:?}: {}", text(&output.stderr));
        serde_json::from_slice::<Value>(&output.stdout).expect("JSON");
    }
}
