//! What a book does not say and a plan needs is said in plain words wherever it matters.

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::{code, run, text};

/// A shop of three places; `more` is put over it.
fn shop(more: &Value) -> TempDir {
    let mut book = json!({
        "book": 1, "shop": { "name": "Shop", "time_zone": "America/New_York" },
        "places": [{ "id": "yard", "name": "Yard" }, { "id": "elm", "name": "Elm Street" }, { "id": "oak", "name": "Oak Road" }],
        "drives": [{ "from": "yard", "to": "oak", "minutes": 20 }],
        "crews": [{ "id": "north", "name": "North crew", "people": 2, "skills": ["insulation"] }],
        "trucks": [{ "id": "truck", "crew": "north", "tow_lb": 7000, "tows": 2 }],
        "equipment": [{ "id": "trailer", "name": "Trailer", "kinds": ["staging"], "moves": "towed", "place": "yard", "weight_lb": 3000 }],
        "jobs": [
            { "id": "elm-wall", "name": "Elm wall", "place": "elm", "steps": [{ "id": "pack", "skill": "insulation", "half_days": 2, "needs": [{ "kind": "staging" }] }] },
            { "id": "oak-wall", "name": "Oak wall", "place": "oak", "steps": [{ "id": "pack", "skill": "insulation", "half_days": 2, "needs": [{ "kind": "staging" }] }] }
        ]
    });
    for (field, value) in more.as_object().expect("fields") {
        book[field] = value.clone();
    }
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("book.json"), book.to_string()).expect("written");
    folder
}

/// What is printed, on one line.
fn printed(folder: &TempDir, args: &[&str]) -> String {
    let output = run(folder.path(), args);
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    text(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ")
}

const PLAN: [&str; 9] = ["plan", "--from", "2026-12-07", "--weeks", "1", "--steps", "300", "--out", "plan.json"];

#[test]
fn place_that_no_drive_leads_to_is_named_and_not_its_road() {
    let lacks =
        "a staging is wanted, and nothing can be hauled to Elm Street: it has neither drive minutes nor coordinates";
    let folder = shop(&json!({}));
    let sheet = printed(&folder, &PLAN);
    assert!(sheet.contains(lacks) && !sheet.contains("no road there"), "{sheet}");
    let free = ["free", "staging", "--plan", "plan.json", "--now", "2026-12-07 am", "--at"];
    let answer = printed(&folder, &[&free[..], &["Elm Street"]].concat());
    assert!(
        answer.contains("Nothing can be hauled to Elm Street: it has neither drive minutes nor coordinates."),
        "{answer}"
    );
    assert!(!printed(&folder, &[&free[..], &["Oak Road"]].concat()).contains("can be hauled"), "a drive leads there");
    // Coordinates of one place alone estimate no drive, those of two do.
    let at = |elm: Value, yard: Value| {
        let named = |id: &str, name: &str, at: Value| json!({ "id": id, "name": name, "at": at });
        json!({ "places": [named("yard", "Yard", yard), named("elm", "Elm Street", elm), { "id": "oak", "name": "Oak Road" }] })
    };
    let mut one = at(json!([44.0, -72.0]), Value::Null);
    one["places"][0].as_object_mut().expect("a place").remove("at");
    let sheet = printed(&shop(&one), &PLAN);
    let lacks = "nothing can be hauled to Elm Street: it has no drive minutes, and no other place has coordinates";
    assert!(sheet.contains(lacks), "{sheet}");
    let sheet = printed(&shop(&at(json!([44.0, -72.0]), json!([44.1, -72.0]))), &PLAN);
    assert!(sheet.contains("2 of 2 done") && !sheet.contains("nothing can be hauled"), "{sheet}");
    // Drives that lead to the place, but not from where the unit stands.
    let apart = json!({
        "places": [{ "id": "yard", "name": "Yard" }, { "id": "oak", "name": "Oak Road" }, { "id": "elm", "name": "Elm Street" }, { "id": "fir", "name": "Fir Lane" }],
        "drives": [{ "from": "yard", "to": "oak", "minutes": 20 }, { "from": "elm", "to": "fir", "minutes": 5 }]
    });
    let sheet = printed(&shop(&apart), &PLAN);
    assert!(sheet.contains("none can be brought to Elm Street: no drive is known from Yard"), "{sheet}");
    // Work that wants nothing is done there, under a caution.
    let jobs = json!({ "jobs": [{ "id": "elm-wall", "place": "elm", "steps": [{ "id": "pack", "skill": "insulation", "half_days": 2 }] }] });
    let sheet = printed(&shop(&jobs), &PLAN);
    assert!(sheet.contains("No drive Elm Street: nothing can be hauled there or from there"), "{sheet}");
    // But by no crew whose round from home costs: it cannot be driven (C15).
    let mut homes = jobs.clone();
    homes["crews"] =
        json!([{ "id": "north", "name": "North crew", "people": 2, "skills": ["insulation"], "home": "yard" }]);
    homes["prices"] = json!({ "drive_minute": 1 });
    let sheet = printed(&shop(&homes), &PLAN);
    let why = "no crew that can do pack can drive to Elm Street: no drive is known from its home";
    assert!(sheet.contains(why) && !sheet.contains("too few people"), "{sheet}");
}

#[test]
fn haul_round_by_a_base_and_trailer_without_a_weight_are_said_beside_the_haul() {
    let more = json!({
        "drives": [{ "from": "yard", "to": "oak", "minutes": 20 }, { "from": "yard", "to": "elm", "minutes": 20 }],
        "equipment": [{ "id": "trailer", "name": "Trailer", "kinds": ["staging"], "moves": "towed", "place": "yard" }]
    });
    let folder = shop(&more);
    let sheet = printed(&folder, &PLAN);
    // One of the two walls is packed first, and the trailer goes on by way of the yard.
    let ways = ["from Elm Street to Oak Road", "from Oak Road to Elm Street"];
    let said: Vec<usize> = ways
        .iter()
        .map(|way| sheet.matches(&format!("by way of Yard, as the drive {way} is not known")).count())
        .collect();
    assert!(said == [2, 0] || said == [0, 2], "{said:?}: {sheet}");
    assert_eq!(sheet.matches("weight not entered: check the truck's rating").count(), 3, "{sheet}");
    assert!(
        sheet.contains("No weight is entered of Trailer: any truck that tows is taken to be strong enough."),
        "{sheet}"
    );
    let message = printed(&folder, &["week", "plan.json", "--crew", "north"]);
    assert_eq!(message.matches("weight not entered").count(), 3, "{message}");
    assert_eq!(message.matches("by way of Yard").count(), 2, "{message}");
}
