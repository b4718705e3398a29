//! The command line, tested from outside: what it prints, where it prints it, and how it ends.

mod assumed;
mod calendar;
mod free;
mod helped;
mod input;
mod lacks;
mod load;
mod matters;
mod note;
mod one_away;
mod paper;
mod plan;
mod questions;
mod replan;
mod storm;
mod undo;
mod verbs;
mod weather;
mod wrong;

use std::path::Path;
use std::process::{Command, Output};

use tempfile::TempDir;

/// Where the fixtures are.
fn data() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/cli/data"))
}

/// The command in a folder, deaf to the environment of whoever runs the tests.
fn yardless(folder: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("yardless"));
    command.current_dir(folder).args(args).env_remove("YARDLESS_BOOK").env_remove("RUST_LOG");
    command
}

/// Runs it to its end.
fn run(folder: &Path, args: &[&str]) -> Output {
    yardless(folder, args).output().expect("the command runs")
}

fn code(output: &Output) -> i32 {
    output.status.code().expect("an exit code")
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).expect("UTF-8")
}

/// What a run in a folder printed, as a snapshot shows it.
fn shown(folder: &Path, args: &[&str]) -> String {
    let output = run(folder, args);
    let (stdout, stderr) = (text(&output.stdout), text(&output.stderr));
    format!("exit {}\n--- stdout\n{stdout}--- stderr\n{stderr}", code(&output))
}

/// A folder with the book and its plan written by hand, and `altered.json`: the plan with one text replaced.
fn desk(from: &str, to: &str) -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let plan = std::fs::read_to_string(data().join("plan.json")).expect("the plan");
    assert!(plan.contains(from), "nothing to alter: {from}");
    std::fs::write(folder.path().join("altered.json"), plan.replace(from, to)).expect("written");
    for name in ["book.json", "plan.json"] {
        std::fs::copy(data().join(name), folder.path().join(name)).expect("copied");
    }
    folder
}

/// A folder with the book and the plan that was kept of it.
fn book_desk() -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for name in ["book.json", "plan.json"] {
        std::fs::copy(data().join(name), folder.path().join(name)).expect("copied");
    }
    folder
}

/// The five-job book and its plan of two weeks, both in a folder of their own.
fn five_jobs() -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let book = Path::new(env!("CARGO_MANIFEST_DIR")).join("../data/five-jobs.json");
    std::fs::copy(book, folder.path().join("book.json")).expect("copied");
    let args = ["plan", "--from", "2026-12-07", "--weeks", "2", "--steps", "400", "--out", "plan.json"];
    assert_eq!(code(&run(folder.path(), &args)), 0);
    folder
}

fn bytes(folder: &Path, name: &str) -> Vec<u8> {
    std::fs::read(folder.join(name)).expect("a file")
}

/// What commands printed, one after the other, under their words.
fn session(folder: &Path, commands: &[&[&str]]) -> String {
    let one = |args: &&[&str]| {
        let output = run(folder, args);
        let (stdout, stderr) = (text(&output.stdout), text(&output.stderr));
        format!("$ yardless {}\n{stdout}{stderr}[{}]\n", args.join(" "), code(&output))
    };
    commands.iter().map(one).collect::<Vec<_>>().join("\n")
}

/// A desk on which the altered plan has the inspector come on Thursday, when he is not there.
fn late_inspection() -> TempDir {
    let inspector = "\"crew\": \"inspector\", \"start\": \"2026-12-09 am\", \"end\": \"2026-12-09 am\"";
    desk(inspector, &inspector.replace("12-09", "12-10"))
}
