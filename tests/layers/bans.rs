//! Names that may not be used, where, and why not.

use super::files::SourceFile;
use super::paths::names;

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
            let clocks = ["limits", "effort", "coordinator", "exact/shared", "exact/proof"];
            let reads = clocks.iter().any(|name| file == format!("solver/engine/src/{name}.rs"));
            file.starts_with("solver/") && !reads
        },
        why: "only the engine's limits, effort, coordinator and proofs read the clock: same book, seed and steps, same plan",
    },
    Ban {
        names: &["good_lp", "highs"],
        within: |file| file.starts_with("solver/") && !file.starts_with("solver/engine/src/exact/back_end"),
        why: "MIP solvers are known to the back end alone, so that one can be changed for another",
    },
    Ban {
        names: &["HashMap", "HashSet", "hash_map", "hash_set", "RandomState"],
        within: |file| file.starts_with("solver/engine/"),
        why: "their order differs from run to run, and so would the plan: take BTreeMap or BTreeSet",
    },
    Ban {
        names: &["yardless_plan::hitch", "yardless_plan::Draft", "yardless_plan::read", "yardless_plan::write"],
        within: |file| file.starts_with("solver/check/"),
        why: "the judge shares no code with what makes plans",
    },
];

/// What a file names and may not: `file:line: what, and why not`.
pub fn broken(source: &SourceFile) -> Vec<String> {
    let bans: Vec<&Ban> = BANS.iter().filter(|ban| (ban.within)(&source.file)).collect();
    let paths = if bans.is_empty() { Vec::new() } else { names(&source.text).paths };
    let mut found = Vec::new();
    for path in paths {
        let name = format!("::{}::", path.names.join("::"));
        for ban in &bans {
            for banned in ban.names.iter().filter(|banned| name.contains(&format!("::{banned}::"))) {
                found.push(format!("{}:{}: {banned}: {}", source.file, path.line, ban.why));
            }
        }
    }
    found.dedup();
    found
}

#[test]
fn what_is_banned_is_found_where_it_does_harm_and_passes_elsewhere() {
    let refused = |home: &str, inside: &str, text: &str, says: &str| {
        let found = broken(&SourceFile::new(home, inside, text));
        assert!(found.len() == 1 && found[0].contains(says), "{home}/{inside}: {found:?}");
    };
    let passed = |home: &str, inside: &str, text: &str| {
        assert_eq!(broken(&SourceFile::new(home, inside, text)), [""; 0]);
    };
    refused(
        "solver/book/src",
        "read.rs",
        "\nfn f() { let _ = std::fs::read(\"x\"); }",
        "read.rs:2: std::fs: the solver",
    );
    refused("solver/plan/src", "shop.rs", "use std::{collections::BTreeMap, env};", "std::env: ");
    refused("solver/engine/src", "primal.rs", "fn f() { eprintln!(\"here\"); }", "eprintln!: ");
    refused("solver/engine/src", "primal.rs", "use std::time::{Duration, Instant};", "Instant: only");
    refused("solver/book/src", "half_day.rs", "fn f() { chrono::Utc::now(); }", "Utc::now: ");
    refused("solver/plan/src", "draft.rs", "use good_lp::Variable;", "good_lp: ");
    refused("solver/answer/src", "free.rs", "fn f() { highs::Model::new(); }", "highs: ");
    refused("solver/engine/src", "pools.rs", "use std::collections::{BTreeMap, HashMap};", "HashMap: ");
    refused("solver/check/src", "hauls.rs", "use yardless_plan::{Plan, hitch};", "the judge shares no code");
    passed("solver/engine/src", "limits.rs", "use std::time::Instant;\nfn f() -> Instant { Instant::now() }");
    passed("solver/engine/src", "exact/back_end/highs.rs", "use good_lp::Variable;\nuse highs::Model;");
    passed(
        "solver/plan/src",
        "drives.rs",
        "use std::collections::HashMap;\n// println!\nconst A: &str = \"println!\";",
    );
    passed("cli/edit/src", "book_file.rs", "fn f() { std::fs::read(path); Utc::now(); }");
}
