//! `yardless note`: what happened, by the book and the kept plan of the fixtures.
//!
//! What the commands must write is worked out from the fixtures by hand: half-days of the plan as its rows give them,
//! what is left by rule W3 (South crew dense-packs outside from Wednesday am on, a storm stops it on Thursday, and on
//! Friday the shop works in the am only), places by the hauls before the half-day asked for.

use std::path::Path;

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::{book_desk, bytes, code, data, run, session, text};

fn book(folder: &Path) -> Value {
    serde_json::from_slice(&bytes(folder, "book.json")).expect("a book")
}

/// The desk after some commands that must succeed.
fn after(commands: &[&[&str]]) -> TempDir {
    let desk = book_desk();
    for args in commands {
        let output = run(desk.path(), args);
        assert_eq!(code(&output), 0, "{args:?}: {}", text(&output.stderr));
    }
    desk
}

#[test]
fn steps_are_noted_as_planned_and_otherwise() {
    let desk = book_desk();
    insta::assert_snapshot!(session(
        desk.path(),
        &[
            &["note", "elm-attic/seal", "done", "--now", "2026-12-08"],
            &[
                "note",
                "elm-attic/blow",
                "done",
                "--start",
                "2026-12-08 pm",
                "--end",
                "2026-12-09 am",
                "--crew",
                "North crew"
            ],
            &["note", "hill-pack/set-up", "done", "--now", "2026-12-09"],
            &["note", "hill-pack/pack", "left", "2", "--now", "2026-12-09 pm"],
            &["note", "hill-pack/pack", "left", "1", "--now", "2026-12-11"],
            &["note", "hill-pack/pack", "left", "1", "--now", "2026-12-11"],
            &["note", "far-frame/frame", "done", "--now", "2026-12-14", "--dry-run"],
            &["note", "elm-attic/blow", "again"],
        ],
    ));
    let book = book(desk.path());
    let (elm, hill) = (&book["jobs"][0]["steps"], &book["jobs"][1]);
    assert_eq!(elm[0]["done"], json!({ "crew": "north", "start": "2026-12-07 am", "end": "2026-12-07 pm" }));
    assert_eq!(elm[1].get("done"), None);
    assert_eq!(
        hill["steps"][1]["progress"],
        json!({ "crew": "south", "start": "2026-12-09 am", "left": 1, "units": ["blower"], "x_said": "2026-12-11 am" })
    );
    assert_eq!(hill["parked"][0]["units"], json!(["staging"]));
    assert_eq!((&book["equipment"][0]["place"], &book["equipment"][1]["place"]), (&json!("hill"), &json!("hill")));
    assert_eq!(book["jobs"][2]["steps"][0].get("done"), None);
}

#[test]
fn again_takes_a_job_back_to_its_beginning_and_the_text_with_it() {
    let desk = after(&[
        &["note", "staging", "at", "Hill Farm"],
        &["note", "hill-pack/set-up", "left", "1", "--now", "2026-12-08", "--kept", "plan.json"],
    ]);
    let begun = book(desk.path());
    assert_eq!(begun["jobs"][1]["parked"][0]["units"], json!(["staging"]));
    run(desk.path(), &["note", "hill-pack/set-up", "again", "--now", "2026-12-07"]);
    run(desk.path(), &["note", "staging", "at", "yard"]);
    assert_eq!(bytes(desk.path(), "book.json"), bytes(data(), "book.json"));
}

#[test]
fn week_that_went_as_planned_is_one_command_and_one_undo() {
    let desk = book_desk();
    insta::assert_snapshot!(session(
        desk.path(),
        &[
            &["note", "--until", "2026-12-10", "--now", "2026-12-10", "--dry-run"],
            &["note", "--until", "2026-12-10", "--now", "2026-12-10"],
            &["note", "--until", "2026-12-10", "--now", "2026-12-10"],
        ],
    ));
    let noted = book(desk.path());
    let done = |crew: &str, start: &str, end: &str| json!({ "crew": crew, "start": start, "end": end });
    let elm = &noted["jobs"][0]["steps"];
    assert_eq!(elm[0]["done"], done("north", "2026-12-07 am", "2026-12-07 pm"));
    assert_eq!(elm[1]["done"], done("north", "2026-12-08 am", "2026-12-08 pm"));
    assert_eq!(elm[2]["done"], done("inspector", "2026-12-09 am", "2026-12-09 am"));
    let hill = &noted["jobs"][1];
    assert_eq!(hill["steps"][0]["done"], done("south", "2026-12-08 am", "2026-12-08 am"));
    // 3 half-days, Wednesday am and pm worked.
    let progress = json!({
        "crew": "south", "start": "2026-12-09 am", "left": 1, "units": ["blower"], "x_planned": "2026-12-10 am"
    });
    assert_eq!(hill["steps"][1]["progress"], progress);
    assert_eq!(hill["parked"][0]["units"], json!(["staging"]));
    assert_eq!(noted["jobs"][2]["steps"][0].get("done"), None);
    let places: Vec<&str> =
        noted["equipment"].as_array().expect("units").iter().filter_map(|unit| unit["place"].as_str()).collect();
    assert_eq!(places, ["hill", "hill", "elm", "far"]);
    run(desk.path(), &["undo"]);
    assert_eq!(bytes(desk.path(), "book.json"), bytes(data(), "book.json"));
}

#[test]
fn what_is_left_is_counted_in_labor_hours_where_the_step_is() {
    // 16 labor hours, two people, 4 hours a half-day: 8 are done by Monday noon.
    let desk = after(&[&["note", "--until", "2026-12-07 pm", "--now", "2026-12-07 pm"]]);
    let noted = book(desk.path());
    assert_eq!(
        noted["jobs"][0]["steps"][0]["progress"],
        json!({ "crew": "north", "start": "2026-12-07 am", "left": 8, "x_planned": "2026-12-07 pm" })
    );
    // The staging went up at the start of Monday am, the blower goes in the evening only.
    assert_eq!((&noted["equipment"][0]["place"], &noted["equipment"][1]["place"]), (&json!("yard"), &json!("hill")));
    // The rest of the week from the same plan: done, whatever was noted before.
    run(desk.path(), &["note", "--until", "2026-12-14", "--now", "2026-12-14"]);
    let noted = book(desk.path());
    assert_eq!(noted["jobs"][0]["steps"][0].get("progress"), None);
    assert_eq!(
        noted["jobs"][0]["steps"][0]["done"],
        json!({ "crew": "north", "start": "2026-12-07 am", "end": "2026-12-07 pm" })
    );
}

#[test]
fn overtime_counts_in_what_is_left() {
    // Three half-days from Friday on: its am, for the shop closes at noon, and Saturday, in overtime.
    let desk = book_desk();
    let alter = |name: &str, from: &str, to: &str| {
        let was = String::from_utf8(bytes(desk.path(), name)).expect("UTF-8");
        assert!(was.contains(from), "nothing to alter in {name}: {from}");
        std::fs::write(desk.path().join(name), was.replace(from, to)).expect("written");
    };
    alter("book.json", "\"closed\":", "\"overtime_days\": [\"sat\"], \"closed\":");
    let rows: [&str; 2] = ["\"start\": \"2026-12-09 am\", \"end\": \"2026-12-11 am\"", "\"overtime\": true,"];
    let late = rows[1].to_owned() + "\"start\": \"2026-12-11 am\", \"end\": \"2026-12-12 pm\"";
    alter("plan.json", rows[0], &late);
    let note = ["note", "--until", "2026-12-12 pm", "--now", "2026-12-12 pm"];
    let output = run(desk.path(), &note);
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    assert_eq!(book(desk.path())["jobs"][1]["steps"][1]["progress"]["left"], json!(1));
}

#[test]
fn units_trucks_and_crews_come_and_go() {
    let desk = book_desk();
    insta::assert_snapshot!(session(
        desk.path(),
        &[
            &["note", "blower", "at", "hill"],
            &["note", "tool", "out", "2026-12-14/2026-12-16"],
            &["note", "tool", "out", "2026-12-15"],
            &["note", "tool", "back", "2026-12-15 pm"],
            &["note", "t1", "out", "2026-12-14"],
            &["note", "Truck 1", "back", "2026-12-10"],
            &["note", "north", "away", "2026-12-15 pm/2026-12-16", "--people", "1"],
            &["note", "north", "back", "2026-12-16", "--now", "2026-12-16"],
            &["note", "north", "back", "--now", "2026-12-18"],
        ],
    ));
    let book = book(desk.path());
    assert_eq!(book["equipment"][3]["out"], json!(["2026-12-07", "2026-12-14/2026-12-15 am"]));
    assert_eq!(book["trucks"][0].get("out"), None);
    let away = json!([{ "on": "2026-12-10", "people": 1 }, { "on": "2026-12-15 pm", "people": 1 }]);
    assert_eq!(book["crews"][0]["away"], away);
}

#[test]
fn what_cannot_be_noted_says_what_to_write() {
    let desk = book_desk();
    let before = bytes(desk.path(), "book.json");
    insta::assert_snapshot!(session(
        desk.path(),
        &[
            &["note"],
            &["note", "blower"],
            &["note", "blower", "broken"],
            &["note", "blowr", "at", "yard"],
            &["note", "blower", "at", "hil"],
            &["note", "north", "out", "2026-12-14"],
            &["note", "elm-attic", "done"],
            &["note", "elm-attic/sael", "done"],
            &["note", "elm-attik/seal", "done"],
            &["note", "twin-pack/pack", "done"],
            &["note", "twin-pack/pack", "left", "1"],
            &["note", "hill-pack/pack", "done", "--now", "2026-12-10"],
            &["note", "hill-pack/set-up", "left", "0.5", "--now", "2026-12-08"],
            &["note", "elm-attic/seal", "done", "--now", "2026-12-08", "--crew", "nrth"],
            &["note", "elm-attic/seal", "done", "--now", "2026-12-08", "--end", "2026-12-06"],
            &["note", "tool", "out", "2026-12-16/2026-12-14"],
            &["note", "tool", "back", "2026-12-16"],
            &["note", "north", "away", "2026-12-16", "--people", "3"],
            &["note", "blower", "at", "yard", "--crew", "north"],
            &["note", "--until", "2026-12-10", "--kept", "none.json"],
        ],
    ));
    assert_eq!(bytes(desk.path(), "book.json"), before);
    assert!(!desk.path().join("book.json.undo").exists());
}

#[test]
fn without_a_kept_plan_all_is_asked_for() {
    let desk = book_desk();
    std::fs::remove_file(desk.path().join("plan.json")).expect("removed");
    let at = ["--start", "2026-12-08", "--end", "2026-12-08"];
    insta::assert_snapshot!(session(
        desk.path(),
        &[
            &["note", "--until", "2026-12-10"],
            &["note", "hill-pack/set-up", "done"],
            &[&["note", "hill-pack/set-up", "done", "--crew", "south"], &at[..]].concat(),
            &[&["note", "hill-pack/set-up", "done", "--crew", "south", "--parked", "staging trailer=Staging"], &at[..]]
                .concat(),
        ],
    ));
    assert_eq!(book(desk.path())["jobs"][1]["parked"][0]["units"], json!(["staging"]));
}

#[test]
fn id_of_several_lists_asks_which() {
    let desk = book_desk();
    let altered = text(&bytes(desk.path(), "book.json")).replace("\"id\": \"t2\"", "\"id\": \"tool\"");
    std::fs::write(desk.path().join("book.json"), altered).expect("written");
    insta::assert_snapshot!(session(
        desk.path(),
        &[&["note", "tool", "out", "2026-12-15"], &["note", "tool", "out", "2026-12-15", "--as", "truck"]],
    ));
    assert_eq!(book(desk.path())["trucks"][1]["out"], json!(["2026-12-15"]));
}

#[test]
fn change_that_would_break_the_book_is_told_as_the_reader_tells_it() {
    let desk = after(&[
        &["note", "hill-pack/set-up", "done", "--now", "2026-12-09"],
        &["note", "hill-pack/pack", "left", "2", "--now", "2026-12-09 pm"],
    ]);
    let before = bytes(desk.path(), "book.json");
    insta::assert_snapshot!(session(desk.path(), &[&["note", "blower", "at", "elm"]]));
    assert_eq!(bytes(desk.path(), "book.json"), before);
}

#[test]
fn broken_book_is_told_and_left_alone() {
    let desk = book_desk();
    std::fs::copy(data().join("faulty.json"), desk.path().join("book.json")).expect("copied");
    let output = run(desk.path(), &["note", "blower", "at", "yard"]);
    assert_eq!((code(&output), text(&output.stdout)), (2, ""));
    assert!(text(&output.stderr).contains("faults in book.json"), "{}", text(&output.stderr));
    assert_eq!(bytes(desk.path(), "book.json"), bytes(data(), "faulty.json"));
    assert!(!desk.path().join("book.json.undo").exists());
}

/// The South crew set up, and says on Wednesday evening that two half-days of the dense pack are left, where the plan has
/// one: Friday am.
const SAID: [&[&str]; 2] = [
    &["note", "hill-pack/set-up", "done", "--now", "2026-12-09"],
    &["note", "hill-pack/pack", "left", "2", "--now", "2026-12-09 pm"],
];

#[test]
fn what_a_crew_said_stands_where_the_plan_says_otherwise_until_the_owner_takes_the_plans_word() {
    let desk = after(&SAID);
    let until = |at: &'static str| ["note", "--until", at, "--now", "2026-12-15"];
    let over = [&until("2026-12-15")[..], &["--over", "hill-pack/pack"]].concat();
    insta::assert_snapshot!(session(
        desk.path(),
        &[&until("2026-12-11"), &until("2026-12-12"), &until("2026-12-12"), &until("2026-12-15")],
    ));
    // Friday am is taken off; the take-down comes after the pack, and its machine and staging are still there.
    let noted = book(desk.path());
    let hill = &noted["jobs"][1]["steps"];
    let one_left =
        json!({ "crew": "south", "start": "2026-12-09 am", "left": 1, "units": ["blower"], "x_said": "2026-12-11 pm" });
    assert_eq!((&hill[1]["progress"], hill[2].get("done")), (&one_left, None));
    let places = |book: &Value| [0, 1].map(|n| book["equipment"][n]["place"].clone());
    assert_eq!(places(&noted), [json!("hill"), json!("hill")]);
    // Far Mill has nothing to do with it.
    assert!(noted["jobs"][2]["steps"][0]["done"].is_object());
    let output = run(desk.path(), &over);
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    let hill = &book(desk.path())["jobs"][1]["steps"];
    let done = |start: &str, end: &str| json!({ "crew": "south", "start": start, "end": end });
    assert_eq!(hill[1]["done"], done("2026-12-09 am", "2026-12-11 am"));
    assert_eq!(hill[2]["done"], done("2026-12-14 am", "2026-12-14 am"));
}

#[test]
fn what_was_said_counts_from_then_and_in_labor_hours_too() {
    // 12 of 16 labor hours left on Monday noon, 8 of them are done in the pm; by the plan all are.
    let desk = after(&[
        &["note", "elm-attic/seal", "left", "12", "--now", "2026-12-07"],
        &["note", "--until", "2026-12-10", "--now", "2026-12-10"],
    ]);
    let noted = book(desk.path());
    let elm = &noted["jobs"][0]["steps"];
    assert_eq!((&elm[0]["progress"]["left"], &elm[0]["progress"]["x_said"]), (&json!(4), &json!("2026-12-09 pm")));
    // What comes after it has not begun.
    assert_eq!(elm.as_array().expect("steps").iter().filter(|step| step.get("done").is_some()).count(), 0);
    // 8 left on Monday noon: done on Monday pm, as planned, and so is the rest.
    let desk = after(&[&["note", "elm-attic/seal", "left", "8", "--now", "2026-12-07"]]);
    let output = run(desk.path(), &["note", "--until", "2026-12-10", "--now", "2026-12-10"]);
    assert_eq!((code(&output), text(&output.stderr)), (0, ""));
    assert_eq!(book(desk.path())["jobs"][0]["steps"][0]["done"]["end"], json!("2026-12-07 pm"));
    assert!(book(desk.path())["jobs"][0]["steps"][2]["done"].is_object());
    // Less left than planned: 1 of 3 half-days on Wednesday am, so it is done on Wednesday pm.
    let desk = after(&[SAID[0], &["note", "hill-pack/pack", "left", "1", "--now", "2026-12-09"]]);
    let output = run(desk.path(), &["note", "--until", "2026-12-10", "--now", "2026-12-10"]);
    assert!(text(&output.stderr).contains("so done on 2026-12-09 pm; by the plan: 1 half-day left"), "{output:?}");
    assert_eq!(book(desk.path())["jobs"][1]["steps"][1]["done"]["end"], json!("2026-12-09 pm"));
}

#[test]
fn unit_that_is_held_longer_than_planned_is_not_hauled_on() {
    // The attic takes two half-days more: the blower is still there, so the dense pack cannot have begun with it.
    let desk = after(&[
        &["note", "--until", "2026-12-08", "--now", "2026-12-08"],
        &["note", "elm-attic/blow", "left", "2", "--now", "2026-12-08 pm"],
    ]);
    let output = run(desk.path(), &["note", "--until", "2026-12-15", "--now", "2026-12-15"]);
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    let told = text(&output.stderr);
    for says in [
        "hill-pack/pack cannot have begun and is not noted: blower is held by elm-attic/blow",
        "hill-pack/take-down cannot",
    ] {
        assert!(told.contains(says), "{told}");
    }
    let noted = book(desk.path());
    let hill = &noted["jobs"][1];
    assert!(hill["steps"][0]["done"].is_object() && hill["steps"][1].get("done").is_none());
    assert_eq!(hill["parked"][0]["units"], json!(["staging"]));
    assert_eq!((&noted["equipment"][0]["place"], &noted["equipment"][1]["place"]), (&json!("elm"), &json!("hill")));
}

#[test]
fn step_that_was_said_not_to_have_begun_is_not_done_by_the_plan() {
    let desk = after(&[
        &["note", "--until", "2026-12-10", "--now", "2026-12-10"],
        &["note", "elm-attic/inspect", "again", "--now", "2026-12-10"],
    ]);
    let until = ["note", "--until", "2026-12-11", "--now", "2026-12-11"];
    let output = run(desk.path(), &until);
    let told = text(&output.stderr);
    assert!(told.contains("not begun as of 2026-12-10 am; by the plan: done on 2026-12-09 am"), "{told}");
    let inspect = |desk: &TempDir| book(desk.path())["jobs"][0]["steps"][2].clone();
    assert_eq!((inspect(&desk).get("done"), &inspect(&desk)["x_said"]), (None, &json!("2026-12-10 am")));
    // Told to be done after all, nothing of that is left.
    run(desk.path(), &["note", "elm-attic/inspect", "done", "--now", "2026-12-11"]);
    assert_eq!((inspect(&desk)["done"].is_object(), inspect(&desk).get("x_said")), (true, None));
    // What it is said of before it was to begin is planned as ever.
    let desk = after(&[&["note", "elm-attic/inspect", "again", "--now", "2026-12-08 pm"], &until]);
    assert!(inspect(&desk)["done"].is_object());
}

#[test]
fn what_a_hand_wrote_into_the_book_stands_too() {
    let desk = after(&SAID);
    let by_hand = text(&bytes(desk.path(), "book.json")).replace(r#", "x_said": "2026-12-09 pm""#, "");
    assert!(!by_hand.contains("x_said"), "{by_hand}");
    std::fs::write(desk.path().join("book.json"), by_hand).expect("written");
    let output = run(desk.path(), &["note", "--until", "2026-12-12", "--now", "2026-12-12"]);
    let told = text(&output.stderr);
    assert!(told.contains("2 half-days left by the book; by the plan: done on 2026-12-11 am"), "{told}");
    assert_eq!(book(desk.path())["jobs"][1]["steps"][1]["progress"]["left"], json!(2));
}

#[test]
fn plan_that_was_made_with_what_was_said_carries_it_on() {
    // In progress on Wednesday: a half-day more is left than planned, and the new plan knows.
    let desk = crate::five_jobs();
    assert_eq!(code(&run(desk.path(), &["note", "--until", "2026-12-09", "--now", "2026-12-09"])), 0);
    let begun = book(desk.path());
    let steps = begun["jobs"]
        .as_array()
        .expect("jobs")
        .iter()
        .flat_map(|job| job["steps"].as_array().expect("steps").iter().map(move |step| (&job["id"], step)));
    let (job, step) = steps.into_iter().find(|(_, step)| step["progress"].is_object()).expect("one in progress");
    let of = format!("{}/{}", job.as_str().expect("id"), step["id"].as_str().expect("id"));
    let more = (step["progress"]["left"].as_f64().expect("left") + 1.0).to_string();
    for args in [
        &["note", &of, "left", &more, "--now", "2026-12-09"][..],
        &["replan", "--now", "2026-12-09", "--steps", "400", "--out", "plan.json"],
        &["note", "--until", "2026-12-19", "--now", "2026-12-19"],
    ] {
        let output = run(desk.path(), args);
        assert_eq!(code(&output), 0, "{}", text(&output.stderr));
        assert!(!text(&output.stderr).contains("as it was said"), "{}", text(&output.stderr));
    }
}

/// A folder with a case's book and a plan of it written by hand.
fn case_desk(case: &str, plan: &Value) -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let case = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../tests/cases/may_split/{case}.json"));
    std::fs::copy(case, folder.path().join("book.json")).expect("copied");
    let mut whole = json!({ "plan": 1, "from": "2026-12-07", "weeks": 1, "cost": 0 });
    whole.as_object_mut().expect("a plan").extend(plan.as_object().expect("fields").clone());
    std::fs::write(folder.path().join("plan.json"), whole.to_string()).expect("written");
    folder
}

fn row(name: &str, crew: &str, (start, end): (&str, &str), units: &[&str], span: u32) -> Value {
    let (job, step) = name.split_once('/').expect("job/step");
    json!({ "job": job, "step": step, "way": "usual", "crew": crew, "start": start, "end": end, "units": units, "span": span })
}

fn carried(unit: &str, from: &str, to: &str, at: &str, evening: bool) -> Value {
    let minutes = if [from, to].contains(&"lot") { 45 } else { 40 };
    json!({ "unit": unit, "from": from, "to": to, "at": at, "evening": evening, "truck": "t1", "minutes": minutes })
}

/// What the first step's progress says, but for the mark of who said it.
fn in_progress(folder: &Path) -> Value {
    let mut progress = book(folder)["jobs"][0]["steps"][0]["progress"].clone();
    progress.as_object_mut().expect("in progress").remove("x_planned");
    progress
}

/// Five half-days: two on Monday with the one machine, which then leaves for repair, three from Tuesday pm with the other.
fn two_spans() -> TempDir {
    let plan = json!({
        "steps": [
            row("x/blow", "north", ("2026-12-07 am", "2026-12-07 pm"), &["blower"], 1),
            row("x/blow", "north", ("2026-12-08 pm", "2026-12-09 pm"), &["second"], 2)
        ],
        "hauls": [carried("blower", "a", "lot", "2026-12-07 pm", true), carried("second", "lot", "a", "2026-12-08 pm", false)]
    });
    case_desk("other-machine", &plan)
}

#[test]
fn step_between_its_spans_holds_nothing_and_the_plan_still_holds() {
    let desk = two_spans();
    let note = |at: &str| {
        let output = run(desk.path(), &["note", "--until", at, "--now", at]);
        assert_eq!(code(&output), 0, "{at}: {}", text(&output.stderr));
        text(&output.stdout).to_owned()
    };
    let holds = |at: &str| {
        let output = run(desk.path(), &["replan", "--now", at, "--steps", "100", "--out", "new.json"]);
        assert_eq!(code(&output), 0, "{at}: {}", text(&output.stderr));
        let told = text(&output.stdout).to_owned();
        assert!(told.contains("Nothing: the plan given out still holds"), "{at}: {told}");
        let plan: Value = serde_json::from_slice(&bytes(desk.path(), "new.json")).expect("JSON");
        let rows = plan["steps"].as_array().expect("rows").iter();
        (told, rows.map(|row| row["span"].clone()).collect::<Vec<_>>(), plan["costs"]["returns"].clone())
    };
    let progress = || in_progress(desk.path());
    // All of Tuesday am, and up to its noon, lies between the spans.
    for at in ["2026-12-08 am", "2026-12-08 pm"] {
        let told = note(at);
        assert!(at.ends_with("pm") || told.contains("holding nothing until its crew comes back to it"), "{told}");
        assert_eq!(progress(), json!({ "crew": "north", "start": "2026-12-07 am", "left": 3 }));
        assert_eq!(book(desk.path())["equipment"][0]["place"], "lot");
        let (sheet, rows, returns) = holds(at);
        assert!(sheet.contains("the rest"), "{sheet}");
        assert_eq!((rows, returns), (vec![json!(2)], json!(80)));
    }
    // Then it is within the second, whose machine it holds; that it was come back to is behind it.
    note("2026-12-09 am");
    let within = json!({ "crew": "north", "start": "2026-12-07 am", "left": 2, "units": ["second"] });
    assert_eq!(progress(), within);
    let (_, rows, returns) = holds("2026-12-09 am");
    assert_eq!((rows, returns), (vec![json!(1)], json!(0)));
}

#[test]
fn step_is_said_by_hand_to_hold_nothing_and_some_of_its_units_are_not_enough() {
    let desk = two_spans();
    let left = |more: &[&str]| run(desk.path(), &[&["note", "x/blow", "left", "3"], more].concat());
    // By the plan it holds the one machine on Monday, and nothing on Tuesday am.
    assert_eq!(code(&left(&["--now", "2026-12-07 pm"])), 0);
    let progress = || in_progress(desk.path());
    assert_eq!(progress()["units"], json!(["blower"]));
    assert_eq!(code(&left(&["--now", "2026-12-08 am"])), 0);
    assert_eq!(progress().get("units"), None);
    assert_eq!(code(&left(&["--now", "2026-12-08 pm", "--units", "second"])), 0);
    assert_eq!(progress()["units"], json!(["second"]));
    assert_eq!(code(&left(&["--now", "2026-12-08 pm", "--units", ""])), 0);
    assert_eq!(progress().get("units"), None);
    // With two needed, one named is a fault; so is none where the step may not split.
    let refused = |from: &str, to: &str, units: &str, says: &str| {
        let whole = String::from_utf8(bytes(desk.path(), "book.json")).expect("UTF-8");
        assert!(whole.contains(from), "nothing to alter: {from}");
        std::fs::write(desk.path().join("book.json"), whole.replace(from, to)).expect("written");
        let output = left(&["--now", "2026-12-08 pm", "--units", units]);
        assert_eq!(code(&output), 2, "{}", text(&output.stdout));
        assert!(text(&output.stderr).contains(says), "{}", text(&output.stderr));
        std::fs::write(desk.path().join("book.json"), whole).expect("written");
    };
    refused("\"count\": 1", "\"count\": 2", "second", "or none where its crew has left it");
    refused("\"may_split\": true", "\"may_split\": false", "", "no unit of `blower` is named for a need of it");
}

#[test]
fn step_let_go_at_once_holds_nothing_once_the_plan_has_begun() {
    // In progress on Tuesday am: its blower goes to y for the rainy day, and comes back on Wednesday.
    let plan = json!({
        "now": "2026-12-08 am",
        "steps": [
            row("y/blow", "south", ("2026-12-08 am", "2026-12-08 am"), &["blower"], 1),
            row("x/blow", "north", ("2026-12-09 am", "2026-12-09 am"), &["blower"], 2)
        ],
        "hauls": [carried("blower", "a", "b", "2026-12-08 am", false), carried("blower", "b", "a", "2026-12-08 pm", true)]
    });
    let desk = case_desk("lets-go", &plan);
    let note = |at: &str| run(desk.path(), &["note", "--until", at, "--now", at]);
    let progress = || in_progress(desk.path());
    // Nothing has happened yet.
    assert_eq!(code(&note("2026-12-08 am")), 0);
    assert_eq!(progress()["units"], json!(["blower"]));
    let output = note("2026-12-08 pm");
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    assert_eq!(progress(), json!({ "crew": "north", "start": "2026-12-07 am", "left": 1 }));
    assert_eq!(book(desk.path())["equipment"][0]["place"], "b");
    let output = run(desk.path(), &["replan", "--now", "2026-12-08 pm", "--steps", "100"]);
    assert!(text(&output.stdout).contains("Nothing: the plan given out still holds"), "{}", text(&output.stdout));
}

/// E7: the staging is parked at x for its second step alone, from Tuesday am to pm; its plan is that of the case.
#[test]
fn what_is_parked_for_one_step_is_named_while_that_lasts() {
    let folder = tempfile::tempdir().expect("a folder");
    let case = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/cases/equipment/staging-for-one-step.json");
    std::fs::copy(case, folder.path().join("book.json")).expect("copied");
    let plan = ["plan", "--from", "2026-12-07", "--weeks", "2", "--steps", "200", "--out", "plan.json"];
    assert_eq!(code(&run(folder.path(), &plan)), 0);
    let until = |half: &str| {
        let output = run(folder.path(), &["note", "--until", half, "--now", half]);
        assert_eq!(code(&output), 0, "{half}: {}", text(&output.stderr));
        book(folder.path())["jobs"][0]["parked"][0]["units"].clone()
    };
    // Before it begins, within it, and when it is over: then it may stand in the book, and holds no more.
    assert_eq!(until("2026-12-08 am"), Value::Null);
    assert_eq!(until("2026-12-08 pm"), json!(["stage"]));
    assert_eq!(until("2026-12-09 am"), json!(["stage"]));
    let output = run(folder.path(), &["replan", "--weeks", "2", "--now", "2026-12-09 am", "--steps", "50", "--json"]);
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    let plan: Value = serde_json::from_slice(&output.stdout).expect("a plan");
    assert_eq!((&plan["parked"], &plan["cost"]), (&json!([]), &json!(22.15)));
    // It has not begun after all: nothing is named any more.
    assert_eq!(code(&run(folder.path(), &["note", "x/pack", "again", "--now", "2026-12-08 am"])), 0);
    assert_eq!(book(folder.path())["jobs"][0]["parked"][0].get("units"), None);
}
