//! Which program is measured, and on which machine.

use std::process::Command;

/// A line each, for the top of a run.
pub fn facts(words: &[String]) -> Vec<String> {
    let engine = if cfg!(feature = "highs") { "HiGHS" } else { "microlp (--no-default-features)" };
    let checks = if cfg!(debug_assertions) { "with" } else { "without" };
    vec![
        format!("command: `cargo bench -p yardless-solver --bench quality -- {}`", words.join(" ").trim()),
        format!("commit: {}", commit()),
        format!("engine behind good_lp: {engine}; built {checks} debug assertions"),
        format!("processor: {}, {} cores", field("/proc/cpuinfo", "model name"), cores()),
        format!("memory: {}", field("/proc/meminfo", "MemTotal")),
        format!("load at the beginning (1, 5, 15 minutes): {}", load()),
    ]
}

fn cores() -> String {
    std::thread::available_parallelism().map_or_else(|_| "unknown".to_owned(), |cores| cores.to_string())
}

/// What a file of lines `name : value` says.
fn field(path: &str, name: &str) -> String {
    let text = std::fs::read_to_string(path).unwrap_or_default();
    let value = text.lines().find_map(|line| line.strip_prefix(name)?.trim_start().strip_prefix(':'));
    value.map_or_else(|| "unknown".to_owned(), |value| value.trim().to_owned())
}

fn load() -> String {
    let text = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    text.split(' ').take(3).collect::<Vec<_>>().join(", ")
}

fn commit() -> String {
    let git = |words: &[&str]| {
        let output = Command::new("git").current_dir(env!("CARGO_MANIFEST_DIR")).args(words).output().ok()?;
        output.status.success().then(|| String::from_utf8_lossy(&output.stdout).trim().to_owned())
    };
    let Some(commit) = git(&["rev-parse", "--short=12", "HEAD"]) else { return "unknown".to_owned() };
    match git(&["status", "--porcelain", "--", ":/solver/src", ":/benches", ":/tests", ":/Cargo.lock"]) {
        Some(changed) if changed.is_empty() => commit,
        _ => format!("{commit}, with changes that are not in it"),
    }
}
