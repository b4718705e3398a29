//! `yardless free`: where units are, until when, where they go next, and when the second one comes free.

use crate::{code, data, late_inspection, run, shown, text};

fn free<'a>(kind: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["free", kind, "--plan", "plan.json"], more].concat()
}

#[test]
fn free_says_where_until_when_and_where_next() {
    insta::assert_snapshot!(shown(data(), &free("blowing machine", &["--now", "2026-12-08 am"])));
}

#[test]
fn free_knows_the_road_and_the_parked_hold() {
    // Tool trailer: on the road on Monday the 14th am. Staging: parked until that am, then free until it is hauled.
    insta::assert_snapshot!(shown(data(), &free("tool trailer", &["--now", "2026-12-14"])));
    insta::assert_snapshot!(shown(data(), &free("Staging Trailer", &["--now", "2026-12-11 am"])));
}

#[test]
fn second_machine_comes_free_when_the_book_says() {
    // Two machines. Blower 2 rests in the yard all along. Blower 1 is held Monday to Tuesday am, free Tuesday pm to
    // Wednesday (3 half-days), held on Thursday, free from Friday on. As of Monday am the second to come free is Blower 1.
    let second =
        shown(data(), &["--book", "two.json", "free", "blower", "--plan", "two-plan.json", "--now", "2026-12-07"]);
    insta::assert_snapshot!(second);
}

#[test]
fn free_for_programs_is_json() {
    let output = run(data(), &free("staging trailer", &["--now", "2026-12-09", "--json"]));
    let found: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(found["units"][0]["unit"], "staging");
    assert_eq!(found["units"][0]["place"], "hill");
    assert_eq!(found["units"][0]["held_until"], "2026-12-14 am");
    assert_eq!(found["units"][0]["free"]["from"], "2026-12-14 pm");
    assert_eq!(found["units"][0]["next_haul"]["needs_clear"], true);
    assert_eq!(found["second"], serde_json::Value::Null);
}

#[test]
fn unknown_kind_names_the_nearest_and_what_there_is() {
    insta::assert_snapshot!(shown(data(), &free("blowing machin", &[])));
}

#[test]
fn half_day_outside_the_plan_is_refused() {
    insta::assert_snapshot!(shown(data(), &free("generator", &["--now", "2027-02-01"])));
}

#[test]
fn plan_that_does_not_hold_is_not_asked() {
    let desk = late_inspection();
    let output = run(desk.path(), &["free", "generator", "--plan", "altered.json", "--now", "2026-12-08"]);
    assert_eq!(code(&output), 3);
    assert!(output.stdout.is_empty());
    assert!(text(&output.stderr).contains("does not hold"));
}
