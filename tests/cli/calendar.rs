//! The printed calendar and the message to a crew, of a plan written by hand.
//!
//! The plan in `data/plan.json`, worked out by the planning rules (half-days by index: Mon am 0 ... Fri pm 9, Mon am 14):
//! C1: the Elm attic is due on Tuesday and ends with the inspector on Wednesday (4): one date, 100.
//! C2: Twin gables takes two staging trailers of one: 5 x 100 = 500.
//! C3: yard - Elm is 0.1 degree of a meridian, 11.1195 km x 1.3 / 50 x 60 = 17.35, so 18 min; blower and generator
//!     33 min x 0.25 each, blower on to the hill 35 x 0.25, staging there and back 60 each, tool trailer 130:
//!     8.25 + 8.25 + 8.75 + 60 + 60 + 130 = 275.25.
//! C5: jobs end at 4, 14, 7: 50.00; steps at 1, 3, 4, 2, 8, 14, 7: 0.39. Sum 925.64.
//! Bound: no plan does the gables (500), none has the inspector before Wednesday (100): 600. Gap 325.64 / 925.64 =
//! 35.18 %, printed as 35.2; without the 500: 325.64 / 425.64 = 76.51 %, printed as 76.6.

use crate::{data, desk as altered, late_inspection, run, shown, text};

fn week<'a>(more: &[&'a str]) -> Vec<&'a str> {
    [&["week", "plan.json", "--now", "2026-12-07"], more].concat()
}

#[test]
fn calendar_prints_every_week_and_the_whole_plan() {
    insta::assert_snapshot!(shown(data(), &week(&[])));
}

#[test]
fn what_is_assumed_says_whose_drives_are_counted() {
    let assumed = |case: &str| {
        let book = format!("{}/../tests/cases/days/{case}.json", env!("CARGO_MANIFEST_DIR"));
        let output = run(data(), &["plan", "--book", &book, "--from", "2026-12-07", "--weeks", "1", "--steps", "40"]);
        text(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert!(assumed("round-home").contains("with a home cost and take no time; other crews' own travel, a truck's"));
    assert!(assumed("home-without-a-price").contains("Crews' own travel, a truck's whereabouts"));
}

#[test]
fn calendar_of_one_week_prints_its_sheet_only() {
    let output = run(data(), &week(&["--week", "2026-12-16"]));
    let sheet = text(&output.stdout);
    assert!(sheet.contains("sheet 2 of 2") && !sheet.contains("sheet 1 of 2") && sheet.contains("THE WHOLE PLAN"));
}

#[test]
fn calendar_fits_a_hundred_columns_without_colour() {
    let output = run(data(), &week(&[]));
    for line in text(&output.stdout).lines() {
        assert!(line.chars().count() <= 100, "{line}");
        assert!(!line.contains('\u{1b}'), "{line}");
    }
}

#[test]
fn calendar_calls_nothing_safe() {
    for args in [week(&[]), week(&["--crew", "north"]), week(&["--crew", "south"])] {
        assert!(!text(&run(data(), &args).stdout).to_lowercase().contains("safe"));
    }
}

#[test]
fn crew_message_says_where_with_what_and_what_to_haul() {
    insta::assert_snapshot!(shown(data(), &week(&["--week", "2026-12-07", "--crew", "North crew"])));
    insta::assert_snapshot!(shown(data(), &week(&["--week", "2026-12-07", "--crew", "south"])));
}

#[test]
fn broken_plan_is_printed_under_its_breaches_and_ends_with_3() {
    let desk = late_inspection();
    let output = run(desk.path(), &["week", "altered.json", "--week", "2026-12-07", "--now", "2026-12-07"]);
    let printed = text(&output.stdout);
    assert_eq!(output.status.code(), Some(3));
    assert!(printed.starts_with("THIS PLAN DOES NOT HOLD"), "{printed}");
    assert!(printed.lines().any(|line| line.trim_start().starts_with("W2")), "{printed}");
}

#[test]
fn rows_that_break_are_marked_and_the_others_stand() {
    // The inspector comes on a date on which he is not there: his step breaks, and nothing else.
    let desk = late_inspection();
    let (whole, broken) =
        (["week", "plan.json", "--now", "2026-12-07"], ["week", "altered.json", "--now", "2026-12-07"]);
    let printed = |args: &[&str]| text(&run(desk.path(), args).stdout).to_owned();
    let (before, after) = (printed(&whole), printed(&broken));
    assert!(!before.contains("does not hold") && !before.contains("DOES NOT HOLD"), "{before}");
    assert!(after.contains("Do not work from what has a ! before it"), "{after}");
    insta::assert_snapshot!(after[..after.find("sheet 2 of").expect("two sheets")]);
    // One haul behind a truck that is too weak: it alone is marked.
    let staging =
        "\"from\": \"hill\", \"to\": \"yard\", \"at\": \"2026-12-17 am\", \"evening\": false, \"truck\": \"t1\"";
    let desk = altered(staging, &staging.replace("t1", "t2"));
    let sheet = text(&run(desk.path(), &broken).stdout).to_owned();
    let marked: Vec<&str> =
        sheet.lines().filter(|line| line.contains("! ") || line.contains("DOES NOT HOLD")).collect();
    let [head, haul] = &marked[..] else { panic!("{marked:#?}") };
    assert!(head.starts_with("THIS PLAN DOES NOT HOLD"), "{head}");
    assert!(
        haul.contains("! Staging") && haul.contains("Hill Farm → Yard") && haul.contains("DOES NOT HOLD"),
        "{haul}"
    );
    // So it is in what the crew is sent.
    let sent = run(desk.path(), &[&broken[..], &["--crew", "south", "--week", "2026-12-14"]].concat());
    let lines: Vec<&str> = text(&sent.stdout).lines().filter(|line| line.contains("DOES NOT HOLD")).collect();
    assert!(lines.len() == 2 && lines[1].contains("haul Staging, Hill Farm → Yard"), "{lines:?}");
}

/// The cautions of the first week, by their words and where they apply, of the book with more said in it.
fn cautions(kinds: &str, skills: &str) -> Vec<String> {
    let desk = tempfile::tempdir().expect("a folder");
    let book = std::fs::read_to_string(data().join("book.json")).expect("the book");
    let kind = "\"kinds\": [{ \"id\": \"generator\", \"power\": true }";
    assert!(book.contains(kind));
    let book = book.replace(kind, &format!("\"skills\": [{skills}], {kind}{kinds}"));
    std::fs::write(desk.path().join("book.json"), book).expect("written");
    std::fs::copy(data().join("plan.json"), desk.path().join("plan.json")).expect("copied");
    let output = run(desk.path(), &week(&["--week", "2026-12-07"]));
    let printed = text(&output.stdout).to_owned();
    let lines =
        printed.lines().skip_while(|line| !line.starts_with("CAUTIONS")).skip(1).take_while(|line| !line.is_empty());
    let heads = lines.filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    heads.map(|line| line.split(':').next().unwrap_or("").split_whitespace().collect::<Vec<_>>().join(" ")).collect()
}

#[test]
fn cautions_are_said_of_skills_and_kinds_and_read_off_names_where_nothing_is() {
    let has = |found: &[String], word: &str| found.iter().any(|line| line.starts_with(word));
    let named = cautions("", "");
    for word in ["Staging", "Combustion", "Dense pack", "Generator"] {
        assert!(has(&named, word), "{word}: {named:?}");
    }
    assert!(!has(&named, "Foam"), "{named:?}");
    let said = cautions(
        ", { \"id\": \"staging trailer\", \"cautions\": [] }, { \"id\": \"blowing machine\", \"cautions\": [\"staging\"] }",
        "{ \"id\": \"air sealing\", \"cautions\": [\"foam\"] }, { \"id\": \"dense pack\", \"cautions\": [] }",
    );
    assert!(has(&said, "Foam") && !has(&said, "Combustion") && !has(&said, "Dense pack"), "{said:?}");
    // By the blowing machine, which the attic holds, and no more by the staging trailer alone.
    assert!(said.iter().any(|line| line.starts_with("Staging") && line.contains("Elm")), "{said:?}");
    assert!(!named.iter().any(|line| line.starts_with("Staging") && line.contains("Elm")), "{named:?}");
}
