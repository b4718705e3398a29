//! `yardless storm`: reported, so that a plan breaks that leans on calm weather, and taken back, so that it holds again.

use serde_json::{Value, json};

use crate::{book_desk, bytes, code, data, run, session, text};

#[test]
fn storm_is_reported_and_taken_back_to_the_byte() {
    let desk = book_desk();
    let before = bytes(desk.path(), "book.json");
    insta::assert_snapshot!(session(
        desk.path(),
        &[
            &[
                "storm",
                "2026-12-15 pm/2026-12-16",
                "--at",
                "hill",
                "12 Elm Street",
                "--covered",
                "--gust",
                "45",
                "--now",
                "2026-12-10"
            ],
            &[
                "storm",
                "2026-12-15 pm/2026-12-16",
                "--at",
                "hill",
                "elm",
                "--covered",
                "--gust",
                "45",
                "--now",
                "2026-12-10"
            ],
            &["storm", "2026-12-17", "--no-travel", "--now", "2026-12-10"],
        ],
    ));
    let book: Value = serde_json::from_slice(&bytes(desk.path(), "book.json")).expect("a book");
    assert_eq!(
        book["weather"].as_array().expect("weather")[4..],
        [
            json!({ "on": "2026-12-15 pm/2026-12-16", "at": ["hill", "elm"], "storm": true, "roads": "covered", "gust_mph": 45 }),
            json!({ "on": "2026-12-17", "storm": true, "no_travel": true })
        ]
    );
    insta::assert_snapshot!(session(
        desk.path(),
        &[
            &["storm", "2026-12-15 pm/2026-12-16", "--at", "elm", "hill", "--clear"],
            &["storm", "2026-12-17", "--clear"],
            &["storm", "2026-12-17", "--clear"],
        ],
    ));
    assert_eq!(bytes(desk.path(), "book.json"), before);
}

#[test]
fn first_report_of_a_book_is_taken_back_to_the_byte() {
    let desk = book_desk();
    let whole: Value = serde_json::from_slice(&bytes(data(), "book.json")).expect("a book");
    let mut fields = whole.as_object().expect("an object").clone();
    fields.remove("weather");
    for text in [serde_json::to_string_pretty(&fields), serde_json::to_string(&fields)] {
        let text = text.expect("JSON");
        std::fs::write(desk.path().join("book.json"), &text).expect("written");
        run(desk.path(), &["storm", "2026-12-15", "--now", "2026-12-10"]);
        let book: Value = serde_json::from_slice(&bytes(desk.path(), "book.json")).expect("a book");
        assert_eq!(book["weather"], json!([{ "on": "2026-12-15", "storm": true }]));
        run(desk.path(), &["storm", "2026-12-15", "--clear"]);
        assert_eq!(crate::text(&bytes(desk.path(), "book.json")), text);
    }
}

#[test]
fn plan_that_leans_on_calm_weather_breaks_and_holds_again() {
    let desk = book_desk();
    let check = || run(desk.path(), &["check", "plan.json", "--now", "2026-12-07"]);
    // The staging is set up outside on Tuesday am, and packed outside on Wednesday (W7); a haul of the blower is carried.
    run(
        desk.path(),
        &["storm", "2026-12-08/2026-12-09", "--at", "hill", "--covered", "--gust", "40", "--now", "2026-12-07"],
    );
    let output = check();
    assert_eq!(code(&output), 3);
    assert!(text(&output.stdout).contains("W7"), "{}", text(&output.stdout));
    // Taken back half by half, so by entries that say so.
    run(desk.path(), &["storm", "2026-12-08", "--at", "hill", "--clear"]);
    assert_eq!(code(&check()), 3);
    run(desk.path(), &["storm", "2026-12-09", "--clear"]);
    let output = check();
    assert!(text(&output.stdout).starts_with("The plan holds. It costs $925.64."), "{}", text(&output.stdout));
    // What other reports said holds again: clear roads on Tuesday; covered ones on Wednesday have been so all along.
    let book: Value = serde_json::from_slice(&bytes(desk.path(), "book.json")).expect("a book");
    let all = book["weather"].as_array().expect("weather");
    assert_eq!(
        all[5..],
        [
            json!({ "on": "2026-12-08", "at": ["hill"], "storm": null, "roads": "clear", "gust_mph": null }),
            json!({ "on": "2026-12-09", "at": ["hill"], "storm": null, "gust_mph": null })
        ]
    );
}

#[test]
fn storm_that_cannot_be_reported_says_why() {
    let desk = book_desk();
    let before = bytes(desk.path(), "book.json");
    insta::assert_snapshot!(session(
        desk.path(),
        &[
            &["storm", "2026-12-09", "--now", "2026-12-10"],
            &["storm", "2026-12-31/2026-12-30"],
            &["storm", "2026-12-30", "--at", "Hill Fram"],
            &["storm", "2026-12-30", "--gust", "301", "--now", "2026-12-10"],
            &["storm", "2026-12-30", "--clear"],
        ],
    ));
    assert_eq!(bytes(desk.path(), "book.json"), before);
}
