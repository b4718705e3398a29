//! `yardless undo`, and how the book's file is replaced: whole, where it is, with what its owner gave it.

use std::fs;
use std::path::Path;

use crate::{book_desk, bytes, code, data, run, session, text, yardless};

const STORM: [&str; 4] = ["storm", "2026-12-15", "--now", "2026-12-10"];

#[test]
fn changes_are_taken_back_one_by_one() {
    let desk = book_desk();
    let times = insta::Settings::clone_current();
    let mut settings = times;
    settings.add_filter(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", "TIME");
    settings.bind(|| {
        insta::assert_snapshot!(session(
            desk.path(),
            &[
                &["undo"],
                &STORM,
                &["note", "tool", "out", "2026-12-15 pm/2026-12-16"],
                &["undo", "--list"],
                &["undo", "--dry-run"],
                &["undo"],
                &["undo"],
                &["undo"],
                &["undo", "--list"],
            ],
        ));
    });
    assert_eq!(bytes(desk.path(), "book.json"), bytes(data(), "book.json"));
}

#[test]
fn book_that_other_hands_have_changed_is_not_taken_back() {
    let desk = book_desk();
    run(desk.path(), &STORM);
    let path = desk.path().join("book.json");
    let by_hand = fs::read_to_string(&path).expect("the book").replace("Test shop", "Other shop");
    fs::write(&path, &by_hand).expect("written");
    let output = run(desk.path(), &["undo"]);
    assert_eq!((code(&output), text(&output.stdout)), (2, ""));
    assert!(text(&output.stderr).contains("is not as `yardless storm"), "{}", text(&output.stderr));
    let listed = run(desk.path(), &["undo", "--list"]);
    assert!(text(&listed.stderr).contains("changed by other hands"), "{}", text(&listed.stderr));
    assert_eq!(fs::read_to_string(&path).expect("the book"), by_hand);
    // A change made after it can be taken back all the same, down to what the hands had made.
    run(desk.path(), &["note", "blower", "at", "elm"]);
    assert_eq!(code(&run(desk.path(), &["undo"])), 0);
    assert_eq!(fs::read_to_string(&path).expect("the book"), by_hand);
}

#[test]
fn journal_that_cannot_be_kept_stops_the_change() {
    for spoil in [
        (|journal: &Path| fs::create_dir(journal)) as fn(&Path) -> std::io::Result<()>,
        |journal| fs::write(journal, "{ \"undo\": 1 }"),
        |journal| fs::write(journal, "{ \"undo\": 2, \"changes\": [] }"),
    ] {
        let desk = book_desk();
        spoil(&desk.path().join("book.json.undo")).expect("spoilt");
        for args in [&STORM[..], &["undo"]] {
            let output = run(desk.path(), args);
            assert_eq!((code(&output), text(&output.stdout)), (2, ""));
            assert!(text(&output.stderr).starts_with("undo::unreadable: "), "{}", text(&output.stderr));
        }
        assert_eq!(bytes(desk.path(), "book.json"), bytes(data(), "book.json"));
    }
}

/// Runs the storm, reported and taken back, so many times.
fn storms(folder: &Path, times: usize) {
    for n in 0..times {
        let args = if n % 2 == 0 { &STORM[..] } else { &["storm", "2026-12-15", "--clear"] };
        let output = run(folder, args);
        assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    }
}

#[test]
fn reader_sees_only_whole_books_while_they_are_written() {
    let desk = book_desk();
    let path = desk.path().join("book.json");
    let calm = fs::read(&path).expect("the book");
    run(desk.path(), &STORM);
    let storm = fs::read(&path).expect("the book");
    run(desk.path(), &["undo"]);
    let (mut reads, mut stormy) = (0_u32, 0_u32);
    std::thread::scope(|scope| {
        let writer = scope.spawn(|| storms(desk.path(), 200));
        while !writer.is_finished() {
            let read = fs::read(&path).expect("the book is always there");
            assert!(read == calm || read == storm, "half a book: {} bytes", read.len());
            reads += 1;
            stormy += u32::from(read == storm);
            // The machine has other work too.
            std::thread::sleep(std::time::Duration::from_micros(200));
        }
    });
    // Who reads seldom, as the machine does other work, may have met one of the two only.
    assert!(reads > 0 && (reads < 50 || stormy > 0 && stormy < reads), "{stormy} of {reads}");
    assert_eq!(fs::read(&path).expect("the book"), calm);
    // Nothing is left lying about, and the journal keeps a hundred.
    let mut names: Vec<String> = fs::read_dir(desk.path())
        .expect("the folder")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    assert_eq!(names, ["book.json", "book.json.undo", "plan.json"]);
    assert_eq!(text(&run(desk.path(), &["undo", "--list"]).stdout).lines().count(), 100);
}

#[test]
fn commands_at_the_same_time_lose_no_change() {
    let desk = book_desk();
    let crews: Vec<_> = (1..=8)
        .map(|day| {
            let range = format!("2026-12-{:02}", 13 + day);
            yardless(desk.path(), &["note", "tool", "out", &range])
                .stdout(std::process::Stdio::null())
                .stderr(std::process::Stdio::null())
                .spawn()
                .expect("the command runs")
        })
        .collect();
    let written =
        crews.into_iter().filter_map(|mut child| child.wait().ok()).filter(std::process::ExitStatus::success).count();
    let book: serde_json::Value = serde_json::from_slice(&bytes(desk.path(), "book.json")).expect("a book");
    // One was there before; whoever came too late has said so.
    assert!(written > 0);
    assert_eq!(book["equipment"][3]["out"].as_array().map(Vec::len), Some(1 + written));
    for _ in 0..written {
        assert_eq!(code(&run(desk.path(), &["undo"])), 0);
    }
    assert_eq!(bytes(desk.path(), "book.json"), bytes(data(), "book.json"));
}

#[cfg(unix)]
mod unix {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    use std::os::unix::fs::{PermissionsExt, symlink};

    use super::*;

    #[test]
    fn link_stays_a_link_and_permissions_stay_as_they_are() {
        let desk = book_desk();
        let elsewhere = tempfile::tempdir().expect("a folder");
        let real = elsewhere.path().join("shop.json");
        fs::copy(data().join("book.json"), &real).expect("copied");
        fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).expect("permitted");
        fs::remove_file(desk.path().join("book.json")).expect("removed");
        symlink(&real, desk.path().join("book.json")).expect("linked");
        let output = run(desk.path(), &STORM);
        assert_eq!(code(&output), 0, "{}", text(&output.stderr));
        assert!(fs::symlink_metadata(desk.path().join("book.json")).expect("a link").file_type().is_symlink());
        for name in ["shop.json", "shop.json.undo"] {
            let mode = fs::metadata(elsewhere.path().join(name)).expect(name).permissions().mode();
            assert_eq!(mode & 0o777, 0o640, "{name}");
        }
        assert_ne!(fs::read(&real).expect("the book"), bytes(data(), "book.json"));
        run(desk.path(), &["undo"]);
        assert_eq!(fs::read(&real).expect("the book"), bytes(data(), "book.json"));
    }

    #[test]
    fn write_protected_book_is_left_alone() {
        let desk = book_desk();
        let path = desk.path().join("book.json");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).expect("permitted");
        insta::assert_snapshot!(session(desk.path(), &[&STORM, &[&STORM[..], &["--dry-run"]].concat()]));
        assert_eq!(bytes(desk.path(), "book.json"), bytes(data(), "book.json"));
    }

    #[test]
    fn folder_that_may_not_be_written_to_leaves_the_book_as_it_is() {
        let desk = book_desk();
        let folder = fs::Permissions::from_mode(0o555);
        fs::set_permissions(desk.path(), folder).expect("permitted");
        // Whoever runs the tests may be allowed everywhere: then nobody else is asked, and nothing can be seen here.
        let bound = fs::write(desk.path().join("probe"), "").is_err();
        let output = run(desk.path(), &STORM);
        fs::set_permissions(desk.path(), fs::Permissions::from_mode(0o755)).expect("permitted");
        assert_eq!(code(&output), i32::from(bound), "{}", text(&output.stderr));
        assert_eq!(bytes(desk.path(), "book.json") == bytes(data(), "book.json"), bound);
    }

    #[test]
    fn book_may_have_a_name_that_is_no_text() {
        let desk = book_desk();
        let name = OsStr::from_bytes(b"shop-\xff.json");
        if fs::copy(data().join("book.json"), desk.path().join(name)).is_err() {
            // A file system that takes only text has no such book.
            return;
        }
        let command = |args: &[&str]| {
            let mut command = yardless(desk.path(), args);
            command.env("YARDLESS_BOOK", name);
            command.output().expect("the command runs")
        };
        assert_eq!(code(&command(&STORM)), 0);
        assert_ne!(fs::read(desk.path().join(name)).expect("the book"), bytes(data(), "book.json"));
        assert_eq!(code(&command(&["undo"])), 0);
        assert_eq!(fs::read(desk.path().join(name)).expect("the book"), bytes(data(), "book.json"));
    }
}
