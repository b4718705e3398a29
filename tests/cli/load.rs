//! `yardless load` and `yardless where`: lists that a crew can follow, and where a thing is.

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
