//! Slips of the hand: each is answered by what to write, before anything is searched for or written.

use std::time::{Duration, Instant};

use crate::{book_desk, code, five_jobs, run, text};

#[test]
fn a_wrong_word_is_answered_by_what_to_write() {
    let desk = book_desk();
    let now = ["--now", "2026-12-07 am"];
    for (args, says) in [
        (&["storm", "2026-12-09", "--gust", "lots"][..], "write miles per hour as a number, as 45"),
        (&["plan", "--seconds", "-1"], "write a number of seconds above 0"),
        (&["plan", "--gap", "-2%"], "write a percentage from 0 up"),
        (&["note", "north", "away"], "north away 2026-12-09"),
        (&["note", "norht", "away", "2026-12-15"], "did you mean `north`?"),
        (&["note", "norht", "away", "2026-12-15"], "of a crew it can be said: away RANGE"),
    ] {
        let with_now: Vec<&str> = if args[0] == "plan" { args.to_vec() } else { [args, &now].concat() };
        let output = run(desk.path(), &with_now);
        let told = text(&output.stderr);
        assert_eq!(code(&output), 2, "{args:?}: {told}");
        assert!(told.contains(says), "{args:?}: {told}");
    }
}

#[test]
fn a_field_is_guessed_by_a_whole_word_of_it() {
    let desk = book_desk();
    let path = desk.path().join("book.json");
    let book = std::fs::read_to_string(&path).expect("the book");
    let wrong = book.replacen("\"skill\":", "\"power\": true, \"skill\":", 1);
    assert_ne!(wrong, book);
    std::fs::write(&path, wrong).expect("written");
    let output = run(desk.path(), &["plan", "--from", "2026-12-07"]);
    let told = text(&output.stderr);
    assert!(told.contains("no field `power`") && told.contains("did you mean `needs_power`?"), "{told}");
}

#[test]
fn a_folder_that_is_not_there_is_told_before_the_search() {
    let desk = five_jobs();
    let began = Instant::now();
    let args = ["plan", "--from", "2026-12-07", "--weeks", "2", "--seconds", "60", "--out", "nowhere/plan.json"];
    let output = run(desk.path(), &args);
    assert!(began.elapsed() < Duration::from_secs(30), "nothing was searched for");
    let told = text(&output.stderr);
    assert!(code(&output) == 2 && told.contains("there is no folder `nowhere`"), "{told}");
}
