//! The structure: chapters in their order, no circle of files, and who keeps away from what. Read off the sources.

use std::path::Path;

use yardless_layers::files::{self, SourceFile, arrows, circles, sources};
use yardless_layers::{bans, story};

/// Lines of a file.
const MOST_LINES: usize = 400;
/// Fewer files than that are no folder.
const FEWEST_FILES: usize = 3;

fn all() -> Vec<SourceFile> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let all = sources(&root);
    // The files that the rules speak of are there: a module that has moved does not slip through.
    for known in ["solver/src/lib.rs", "solver/check/src/lib.rs", "solver/engine/src/effort.rs", "cli/src/command.rs"] {
        assert!(all.iter().any(|source| source.file == known), "{known} is not where it was");
    }
    all
}

fn none(found: &[String]) {
    assert!(found.is_empty(), "\n{}\n", found.join("\n"));
}

#[test]
fn chapters_stand_in_the_order_of_the_story() {
    none(&story::out_of_order(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")));
}

#[test]
fn files_use_each_other_in_no_circle() {
    none(&circles(&arrows(&all())));
}

#[test]
fn files_keep_away_from_what_is_not_theirs() {
    none(&all().iter().flat_map(bans::broken).collect::<Vec<_>>());
}

#[test]
fn files_and_folders_have_a_good_size() {
    let all = all();
    let long = all.iter().filter(|source| source.text.lines().count() > MOST_LINES);
    let mut found: Vec<String> =
        long.map(|source| format!("{}: over {MOST_LINES} lines: split it by topic", source.file)).collect();
    for folder in files::folders(&all) {
        let within = all.iter().filter(|source| source.folder() == folder).count();
        if within < FEWEST_FILES {
            found.push(format!("{folder}: {within} files are no folder: let them stand beside the one that uses them"));
        }
    }
    none(&found);
}
