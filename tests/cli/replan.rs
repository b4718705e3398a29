//! `yardless replan`: a storm that touches nothing changes nothing, one that bites is told with its reason, and what was
//! done stays done.

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::{code, five_jobs, run, text};

fn replan(folder: &TempDir, now: &str, more: &[&str]) -> String {
    let args = ["replan", "--now", now, "--steps", "400"];
    let output = run(folder.path(), &[&args[..], more].concat());
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    text(&output.stdout).to_owned()
}

/// The sheet of changes alone.
fn changes(sheet: &str) -> &str {
    sheet.find("sheet 1 of").map_or(sheet, |at| &sheet[..sheet[..at].rfind('\n').unwrap_or(0)])
}

fn rows(folder: &TempDir, plan: &str) -> Value {
    let plan: Value = serde_json::from_slice(&std::fs::read(folder.path().join(plan)).expect("a plan")).expect("JSON");
    plan["steps"].clone()
}

#[test]
fn storm_that_touches_nothing_changes_nothing_and_one_taken_back_neither() {
    let folder = five_jobs();
    let before = rows(&folder, "plan.json");
    let nothing = "Nothing: the plan given out still holds";
    assert!(replan(&folder, "2026-12-07", &["--out", "new.json"]).contains(nothing));
    // The last Saturday and Sunday: nobody works then.
    let storm = ["storm", "2026-12-19/2026-12-20", "--now", "2026-12-07"];
    assert_eq!(code(&run(folder.path(), &storm)), 0);
    assert!(replan(&folder, "2026-12-07", &["--out", "new.json"]).contains(nothing));
    assert_eq!(rows(&folder, "new.json"), before);
    // One that bites, taken back again.
    let storm = ["storm", "2026-12-10/2026-12-14", "--no-travel", "--now", "2026-12-07"];
    assert_eq!(code(&run(folder.path(), &storm)), 0);
    assert!(!replan(&folder, "2026-12-07", &["--out", "stormy.json"]).contains(nothing));
    assert_ne!(rows(&folder, "stormy.json"), before);
    // Planned again from that, nothing changes.
    let again = replan(&folder, "2026-12-07", &["--kept", "stormy.json", "--out", "again.json"]);
    assert!(again.contains(nothing), "{again}");
    assert_eq!(rows(&folder, "again.json"), rows(&folder, "stormy.json"));
    assert_eq!(code(&run(folder.path(), &["undo"])), 0);
    assert!(replan(&folder, "2026-12-07", &["--out", "new.json"]).contains(nothing));
    assert_eq!(rows(&folder, "new.json"), before);
}

#[test]
fn week_that_has_begun_is_planned_on_and_the_changes_say_why() {
    let folder = five_jobs();
    assert_eq!(code(&run(folder.path(), &["note", "--until", "2026-12-09", "--now", "2026-12-09"])), 0);
    // The plan given out still holds as it was given out, whatever the book says has happened since.
    assert_eq!(code(&run(folder.path(), &["check", "plan.json", "--now", "2026-12-07"])), 0);
    let storm = ["storm", "2026-12-10/2026-12-11", "--no-travel", "--now", "2026-12-09"];
    assert_eq!(code(&run(folder.path(), &storm)), 0);
    let sheet = replan(&folder, "2026-12-09", &["--out", "new.json"]);
    insta::assert_snapshot!(changes(&sheet));
    // What was done is in the new plan as it was.
    let (old, new) = (rows(&folder, "plan.json"), rows(&folder, "new.json"));
    let over = |row: &&Value| row["end"].as_str().expect("a half-day") < "2026-12-09 am";
    let told = |row: &Value| ["job", "step", "crew", "start", "end"].map(|field| row[field].clone());
    let news: Vec<_> = new.as_array().expect("rows").iter().map(told).collect();
    let olds: Vec<_> = old.as_array().expect("rows").iter().filter(over).map(told).collect();
    assert!(!olds.is_empty() && olds.iter().all(|row| news.contains(row)));
    let checked = run(folder.path(), &["check", "new.json", "--kept", "plan.json", "--now", "2026-12-09"]);
    assert_eq!(code(&checked), 0, "{}", text(&checked.stdout));
}

#[test]
fn sheets_mark_what_is_moved_new_dropped_and_come_back_to() {
    let folder = five_jobs();
    // The dense pack may be left, is late each day, and its machine is wanted for a new job while its road is closed.
    let path = folder.path().join("book.json");
    let mut book: Value = serde_json::from_slice(&std::fs::read(&path).expect("a book")).expect("JSON");
    book["jobs"][2]["steps"][1]["may_split"] = true.into();
    book["jobs"][2]["due"] = "2026-12-11".into();
    book["jobs"][2]["late_day"] = 300.into();
    let mut blow = book["jobs"][1]["steps"][1].clone();
    blow["after"] = json!([]);
    let new = json!({
        "id": "oak-floor", "name": "Oak floor", "place": "oak", "steps": [blow],
        "earliest": "2026-12-14", "due": "2026-12-14", "late_day": 400
    });
    book["jobs"].as_array_mut().expect("jobs").push(new);
    std::fs::write(&path, serde_json::to_vec_pretty(&book).expect("JSON")).expect("written");
    let happened: [&[&str]; 3] = [
        &["storm", "2026-12-14/2026-12-15", "--no-travel", "--at", "hill"],
        &["storm", "2026-12-11/2026-12-20", "--no-travel", "--at", "elm"],
        &["note", "south", "away", "2026-12-11 pm"],
    ];
    for args in happened {
        assert_eq!(code(&run(folder.path(), &[args, &["--now", "2026-12-07"]].concat())), 0, "{args:?}");
    }
    let sheet = replan(&folder, "2026-12-07", &[]);
    // Without the foot, which is that of any plan.
    insta::assert_snapshot!(sheet[..sheet.find("THE WHOLE PLAN").expect("a foot")]);
}

#[test]
fn choices_are_listed_and_each_may_be_taken() {
    let folder = five_jobs();
    let storm = ["storm", "2026-12-08/2026-12-11", "--no-travel", "--now", "2026-12-07"];
    assert_eq!(code(&run(folder.path(), &storm)), 0);
    let sheet = replan(&folder, "2026-12-07", &["--choices", "3", "--out", "first.json"]);
    assert!(sheet.contains("CHOICES"), "{sheet}");
    let output =
        run(folder.path(), &["replan", "--now", "2026-12-07", "--steps", "9", "--choices", "3", "--choice", "9"]);
    assert_eq!(code(&output), 2);
    assert!(text(&output.stderr).contains("there is no choice 9"), "{}", text(&output.stderr));
}
