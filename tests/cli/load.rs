//! `yardless load` and `yardless where`: lists that a crew can follow, and where a thing is.

use serde_json::{Value, json};

use super::{code, run, text};

/// The demo, and a plan of it.
fn demo() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let data = concat!(env!("CARGO_MANIFEST_DIR"), "/../data/demo.json");
    std::fs::copy(data, folder.path().join("book.json")).expect("the demo");
    let args = ["plan", "--from", "2026-12-07", "--steps", "20", "--out", "plan.json"];
    assert_eq!(code(&run(folder.path(), &args)), 0);
    folder
}

#[test]
fn lists_have_a_box_for_each_thing_and_say_what_is_short() {
    let folder = demo();
    let args = ["load", "plan.json", "--now", "2026-12-07 am"];
    let output = run(folder.path(), &args);
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    let all = text(&output.stdout);
    assert!(all.starts_with("Load lists, week of Mon 7 Dec\n"), "{all}");
    // By the book: the bags for Cedar lie in the bay, and the foam is kept above 41 degrees in a night of 24.
    for says in ["lies at\nRented bay: 2 hauls", "TAKE INSIDE", "low 24 °F", "ROUND-UP", "☐ Put on Truck"] {
        assert!(all.contains(says), "{says}: {all}");
    }
    // A crew's own list is a part of all of them.
    let own = run(folder.path(), &[&args[..], &["--crew", "north"]].concat());
    let own = text(&own.stdout).split("\n\n").skip(1).collect::<Vec<_>>();
    assert!(
        !own.is_empty() && own.iter().all(|part| part.contains("North crew") && all.contains(part.trim())),
        "{own:?}"
    );
    // On the crew's sheet the same lines stand.
    let sheet =
        run(folder.path(), &["week", "plan.json", "--week", "2026-12-07", "--crew", "north", "--now", "2026-12-07 am"]);
    assert!(text(&sheet.stdout).contains("  ☐ "), "{}", text(&sheet.stdout));
}

#[test]
fn where_says_where_a_thing_is_and_what_was_perhaps_meant() {
    let folder = demo();
    let output = run(folder.path(), &["where", "heat camera", "--at", "2026-12-07 am"]);
    // Lee saw it on Friday, and nobody was there since.
    assert!(text(&output.stdout).starts_with("Heat camera, Mon 7 Dec am: lies at Birch Street\n"), "{output:?}");
    assert!(text(&output.stdout).contains("Last seen Fri 4 Dec pm by Lee, Birch Street."), "{output:?}");
    let wrong = run(folder.path(), &["where", "heat camra"]);
    assert_eq!(code(&wrong), 2);
    assert!(text(&wrong.stderr).contains("did you mean `Heat camera`?"), "{}", text(&wrong.stderr));
}

#[test]
fn programs_read_the_lists_and_where_a_thing_is() {
    let folder = demo();
    let read = |args: &[&str]| -> Value {
        let output = run(folder.path(), args);
        assert_eq!(code(&output), 0, "{}", text(&output.stderr));
        serde_json::from_slice(&output.stdout).expect("JSON")
    };
    let lists = read(&["load", "plan.json", "--now", "2026-12-07 am", "--json"]);
    assert_eq!((&lists["from"], &lists["to"]), (&json!("2026-12-07 am"), &json!("2026-12-13 pm")));
    let rows = |field: &str| lists[field].as_array().cloned().unwrap_or_default();
    // Whatever is not met in full is missing, and by as many.
    for want in rows("wants") {
        let met = want["met_by"].as_array().map_or(0, Vec::len) as u64;
        let same = |of: &&Value| ["at", "crew", "place", "kit"].iter().all(|field| of[*field] == want[*field]);
        let short = rows("missing").iter().find(same).map_or(0, |of| of["short"].as_u64().expect("a count"));
        assert_eq!(Some(met + short), want["count"].as_u64(), "{want}");
    }
    assert!(rows("moves").iter().any(|of| of["what"]["thing"].is_string() && of["to"]["truck"].is_string()));
    // The bags for Cedar lie in the bay.
    assert!(rows("material").iter().any(|of| of["elsewhere"]["place"] == "bay" && of["elsewhere"]["loads"] == 2));
    let camera = read(&["where", "heat camera", "--at", "2026-12-07 am", "--json"]);
    assert_eq!(camera["is"], json!({ "place": "birch" }));
    assert_eq!(camera["seen"], json!({ "when": "2026-12-04 pm", "at": "birch", "by": "Lee" }));
}

#[test]
fn what_somebody_saw_is_noted_and_goes_into_the_lists() {
    let folder = demo();
    let note = |words: &[&str]| run(folder.path(), &[&["note"], words, &["--now", "2026-12-07 am"]].concat());
    let output = note(&["Heat camera", "in", "truck-1", "--by", "Sam"]);
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    let changed = text(&output.stdout);
    assert!(
        changed.contains("seen 2026-12-04 pm at birch by Lee -> seen 2026-12-07 am in truck-1 by Sam"),
        "{changed}"
    );
    let is = run(folder.path(), &["where", "heat camera", "--at", "2026-12-07 pm", "--json"]);
    let is: Value = serde_json::from_slice(&is.stdout).expect("JSON");
    assert_eq!(is["is"], json!({ "truck": "truck-1" }));
    // A later word takes its place; nobody says who must be named.
    assert_eq!(code(&note(&["Heat camera", "at", "bay"])), 0);
    // What is no truck, unit or place is refused with what was perhaps meant, and so is what a truck cannot be.
    for (words, says) in [
        (&["Heat camera", "in", "truck-11"][..], "did you mean `truck-1`?"),
        (&["Heat camera", "at", "bey"], "did you mean `bay`?"),
        (&["truck-1", "in", "bay"], "of which that cannot be said"),
        (&["blower-1", "at", "bay", "--by", "Sam"], "--by has no meaning"),
    ] {
        let output = note(words);
        assert_eq!(code(&output), 2, "{words:?}");
        assert!(text(&output.stderr).contains(says), "{words:?}: {}", text(&output.stderr));
    }
}
