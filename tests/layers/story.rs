//! The chapters, in the order in which the story is told: each leans on those before it alone.

use std::path::Path;

/// The folders of the crates.
pub const CHAPTERS: [&str; 13] = [
    "solver/book",
    "solver/weather",
    "solver/plan",
    "solver/check",
    "solver/load",
    "solver/engine",
    "solver/answer",
    "solver",
    "cli/edit",
    "cli/view",
    "cli/ask",
    "cli/service",
    "cli",
];
/// Whoever keeps to the solver's chapters needs no facade, and whoever uses the facade needs nothing else of ours.
const FACADE: &str = "yardless-solver";

/// What a chapter leans on that does not stand before it.
pub fn out_of_order(root: &Path) -> Vec<String> {
    let name = |folder: &str| {
        let last = folder.rsplit('/').next().expect("a name");
        if folder == "cli" { "yardless".to_owned() } else { format!("yardless-{last}") }
    };
    let mut found = Vec::new();
    for (n, folder) in CHAPTERS.iter().enumerate() {
        let path = root.join(folder).join("Cargo.toml");
        let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        found.extend(
            leans_on(&text)
                .into_iter()
                .filter(|on| *on == FACADE || !CHAPTERS[..n].iter().any(|before| name(before) == *on))
                .map(|on| format!("{folder} leans on {on}, which does not stand before it")),
        );
    }
    found
}

/// The crates of ours that a manifest names among what the program is built of, not its tests.
fn leans_on(manifest: &str) -> Vec<&str> {
    let mut within = false;
    let mut found = Vec::new();
    for line in manifest.lines() {
        if line.starts_with('[') {
            within = line.ends_with("dependencies]") && !line.contains("dev-") && !line.contains("build-");
        } else if within && line.starts_with("yardless-") {
            found.extend(line.split(['.', ' ', '=']).next());
        }
    }
    found
}

#[test]
fn manifest_is_read_without_what_only_tests_need() {
    let text = "[features]\nhighs = [\"yardless-engine/highs\"]\n[dependencies]\nyardless-book.workspace = true\n\
                [target.'cfg(unix)'.dependencies]\nyardless-plan = { path = \"x\" }\n[dev-dependencies]\n\
                yardless-check.workspace = true\n";
    assert_eq!(leans_on(text), ["yardless-book", "yardless-plan"]);
}
