//! Arrows between modules run one way, and the solver keeps away from clocks, files and chance: read off the sources.

#[path = "layers/paths.rs"]
mod paths;

use std::path::Path;

use paths::paths;

/// The solver's modules, the lowest first; those of one line may use each other, and all that stand above.
const SOLVER: [&[&str]; 8] =
    [&["half_day", "money"], &["book"], &["report"], &["shop"], &["plan"], &["encode"], &["engine"], &["answer"]];
/// The command line's: what is not named stands between these two.
const LOWEST_OF_CLI: &str = "view";
const HIGHEST_OF_CLI: &str = "command";
/// Lines of a file.
const MOST_LINES: usize = 400;

/// Names that may not be used, in which files, and why not.
struct Ban {
    names: &'static [&'static str],
    within: fn(&str) -> bool,
    why: &'static str,
}

const BANS: [Ban; 5] = [
    Ban {
        names: &[
            "std::fs",
            "std::net",
            "std::env",
            "std::process",
            "stdin",
            "stdout",
            "stderr",
            "print!",
            "println!",
            "eprint!",
            "eprintln!",
            "dbg!",
        ],
        within: |file| file.starts_with("solver/"),
        why: "the solver does no I/O: whoever calls it reads and writes",
    },
    Ban {
        names: &["Instant", "SystemTime", "Utc::now", "Local::now"],
        within: |file| {
            const CLOCKS: [&str; 3] =
                ["solver/src/engine.rs", "solver/src/engine/effort.rs", "solver/src/engine/prices.rs"];
            file.starts_with("solver/") && !CLOCKS.contains(&file)
        },
        why: "only engine.rs (Limits), engine/effort.rs (work done) and engine/prices.rs (their deadline) read the clock: \
              same book, seed and steps, same plan",
    },
    Ban {
        names: &["good_lp", "highs"],
        within: |file| file.starts_with("solver/") && !is_of(file, "encode") && !is_of(file, "engine"),
        why: "engines are known to encode and engine alone, so that one can be changed for another",
    },
    Ban {
        names: &["HashMap", "HashSet", "hash_map", "hash_set", "RandomState"],
        within: |file| is_of(file, "encode") || is_of(file, "engine"),
        why: "their order differs from run to run, and so would the plan: take BTreeMap or BTreeSet",
    },
    Ban {
        names: &["crate::encode", "crate::engine", "crate::plan::hitch", "crate::plan::draft", "crate::plan::Draft"],
        within: |file| is_of(file, "plan/check") || file == "solver/src/plan/cost.rs",
        why: "the judge shares no code with what makes plans",
    },
];

/// Whether a file is a module of the solver or below it.
fn is_of(file: &str, module: &str) -> bool {
    let rest = file.strip_prefix("solver/src/").and_then(|file| file.strip_prefix(module));
    rest.is_some_and(|rest| rest == ".rs" || rest.starts_with('/'))
}

/// What is wrong in a file, a sentence each: `file:line: what, and why that is wrong`.
fn faults(file: &str, text: &str) -> Vec<String> {
    let (home, inside) = file.split_once("/src/").expect("a source file");
    let inside = inside.trim_end_matches(".rs");
    let module: Vec<&str> = if matches!(inside, "lib" | "main") { Vec::new() } else { inside.split('/').collect() };
    let mut found = Vec::new();
    let lines = text.lines().count();
    if lines > MOST_LINES {
        found.push(format!(
            "{file}:{MOST_LINES}: {lines} lines: split it by topic; at most {MOST_LINES} are read as one"
        ));
    }
    for (line, path) in paths(text, &module) {
        let name = path.join("::");
        if let (Some(own), "crate", Some(used)) = (module.first(), path[0].as_str(), path.get(1))
            && let Some(why) = against(home, own, used)
        {
            found.push(format!("{file}:{line}: {own} uses {name}: {why}"));
        }
        for ban in BANS.iter().filter(|ban| (ban.within)(file)) {
            for banned in ban.names.iter().filter(|banned| format!("::{name}::").contains(&format!("::{banned}::"))) {
                found.push(format!("{file}:{line}: {banned}: {}", ban.why));
            }
        }
    }
    found
}

/// Why a module may not use another, if it may not.
fn against(home: &str, own: &str, used: &str) -> Option<String> {
    let rank = |name: &str| match home {
        "solver" => SOLVER.iter().position(|layer| layer.contains(&name)),
        _ if name == LOWEST_OF_CLI => Some(0),
        _ if name == HIGHEST_OF_CLI => Some(2),
        _ => Some(1),
    };
    match (rank(own), rank(used)) {
        _ if own == used => None,
        (None, _) => Some(format!("{own} has no place in the order of modules; give it one in tests/solver/layers.rs")),
        (_, None) => Some(format!("{used} is no module in the order of modules: name the module that owns it")),
        (Some(low), Some(high)) if low < high => Some(format!("{used} stands above {own}; arrows run downwards only")),
        _ => None,
    }
}

/// Every source file below a folder, with its name as seen from the workspace.
fn sources(folder: &Path, name: &str, all: &mut Vec<(String, String)>) {
    for entry in std::fs::read_dir(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display())) {
        let path = entry.expect("an entry").path();
        let name = format!("{name}/{}", path.file_name().expect("a name").to_string_lossy());
        if path.is_dir() {
            sources(&path, &name, all);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            all.push((name, std::fs::read_to_string(&path).expect("text")));
        }
    }
}

#[test]
fn sources_keep_to_their_layers() {
    let (mut all, solver) = (Vec::new(), Path::new(env!("CARGO_MANIFEST_DIR")));
    sources(&solver.join("src"), "solver/src", &mut all);
    sources(&solver.join("../cli/src"), "cli/src", &mut all);
    // The files that the rules speak of are there: a module that has moved does not slip through.
    for known in ["solver/src/lib.rs", "solver/src/engine/prices.rs", "solver/src/plan/check.rs", "cli/src/command.rs"]
    {
        assert!(all.iter().any(|(name, _)| name == known), "{known} is not where it was");
    }
    all.sort();
    let found: Vec<String> = all.iter().flat_map(|(name, text)| faults(name, text)).collect();
    assert!(found.is_empty(), "\n{}\n", found.join("\n"));
}

/// Asserts that the only fault of a forged file stands in a line and says something.
#[track_caller]
fn refused(file: &str, text: &str, line: usize, says: &str) {
    let found = faults(file, text);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].starts_with(&format!("{file}:{line}: ")) && found[0].contains(says), "{found:?}");
}

#[track_caller]
fn passed(file: &str, text: &str) {
    assert_eq!(faults(file, text), [""; 0]);
}

#[test]
fn arrow_that_runs_backwards_is_refused() {
    refused("solver/src/shop/jobs.rs", "use crate::book::Book;\nuse crate::plan::Plan;", 2, "plan stands above shop");
    refused(
        "solver/src/book.rs",
        "use crate::{\n    half_day::Range,\n    shop::Shop,\n};",
        3,
        "book uses crate::shop::Shop",
    );
    refused("solver/src/money.rs", "fn f() -> super::book::Book { todo!() }", 1, "book stands above money");
    refused(
        "solver/src/shop/work.rs",
        "mod tests {\n use super::super::super::plan::check;\n}",
        2,
        "plan stands above shop",
    );
    refused("solver/src/plan.rs", "#[serde(default = \"crate::engine::one\")]", 1, "engine stands above plan");
    refused("solver/src/encode.rs", "use crate::*;", 1, "name the module");
    refused("solver/src/odd.rs", "use crate::book::Book;", 1, "odd has no place");
    refused("cli/src/view/week.rs", "use crate::command::Answer;", 1, "command stands above view");
    refused("cli/src/view.rs", "use crate::args::Cli;", 1, "args stands above view");
    refused("cli/src/search.rs", "use crate::command;", 1, "command stands above search");
}

#[test]
fn arrow_that_runs_forwards_passes() {
    passed("solver/src/engine/search.rs", "use super::builder::Builder;\nuse crate::encode::{self, Program};");
    passed(
        "solver/src/shop.rs",
        "//! For [`crate::encode`].\n/* crate::engine */ mod work;\npub(crate) use self::work::Run;",
    );
    passed("solver/src/book/shop.rs", "mod tests { use super::*; fn f() { super::super::shop::g('\"', '\\'') } }");
    passed("solver/src/lib.rs", "pub mod engine;\npub use crate::engine::plan;");
    passed("cli/src/command/plan.rs", "use crate::{args::Cli, view};");
    passed("cli/src/main.rs", "use crate::command::run;");
}

#[test]
fn io_and_clock_are_refused_in_the_solver_alone() {
    refused("solver/src/book/read.rs", "\nfn f() { let _ = std::fs::read(\"x\"); }", 2, "no I/O");
    refused("solver/src/shop.rs", "use std::{collections::BTreeMap, env};", 1, "std::env: ");
    refused("solver/src/engine/walk.rs", "fn f() { eprintln!(\"here\"); }", 1, "eprintln!: ");
    refused("solver/src/engine/search.rs", "use std::time::{Duration, Instant};", 1, "Instant: only engine.rs");
    refused("solver/src/half_day.rs", "fn f() { chrono::Utc::now(); }", 1, "Utc::now: ");
    passed("solver/src/engine.rs", "use std::time::Instant;\nfn f() -> Instant { Instant::now() }");
    passed("solver/src/engine/prices.rs", "use std::time::Instant;");
    passed(
        "solver/src/shop.rs",
        "// println!\nconst A: &str = \"say \\\" println!\"; const B: &str = r#\"std::\"fs\"#; fn f() { a.print != b }",
    );
    passed("cli/src/book_file.rs", "fn f() { std::fs::read(path); Utc::now(); }");
}

#[test]
fn engines_and_unordered_maps_are_refused_where_they_do_harm() {
    refused("solver/src/plan/draft.rs", "use good_lp::Variable;", 1, "good_lp: ");
    refused("solver/src/shop.rs", "fn f() { highs::Model::new(); }", 1, "highs: ");
    passed("solver/src/engine/adapter.rs", "use good_lp::Variable;\nuse highs::Model;");
    refused("solver/src/encode/pools.rs", "use std::collections::{BTreeMap, HashMap};", 1, "HashMap: ");
    refused("solver/src/engine.rs", "fn f() { std::collections::HashSet::<u8>::new(); }", 1, "HashSet: ");
    passed("solver/src/shop/drives.rs", "use std::collections::HashMap;");
}

#[test]
fn judge_that_uses_the_accused_is_refused() {
    refused("solver/src/plan/check/hauls.rs", "use crate::plan::{Plan, hitch};", 1, "the judge shares no code");
    refused("solver/src/plan/cost.rs", "use super::Draft;", 1, "the judge shares no code");
    // An arrow that runs backwards besides: both are said.
    assert_eq!(faults("solver/src/plan/check.rs", "use crate::engine::Limits;").len(), 2);
    passed("solver/src/plan/draft.rs", "use super::hitch;");
}

#[test]
fn file_over_400_lines_is_refused() {
    refused("cli/src/view/week.rs", &"\n".repeat(401), 400, "401 lines");
    passed("cli/src/view/week.rs", &"\n".repeat(400));
}
