//! Prints, and keeps what it prints where that is asked for.

use std::fs::File;
use std::io::Write;

use crate::args::BenchArgs;
use crate::machine;

pub struct Report {
    kept: Option<File>,
}

impl Report {
    /// What was run when and where comes first. Lines are kept as they come: a run that is stopped leaves what it has.
    pub fn new(asked: &BenchArgs, words: &[String]) -> Result<Self, String> {
        let date = chrono::Local::now().date_naive().to_string();
        let mut kept = None;
        if asked.keep {
            let sizes: Vec<String> = asked.sizes.iter().map(|size| size.to_string().replace('/', "-")).collect();
            let peer = if asked.peer { "_peer" } else { "" };
            let full = if asked.most.full { "_full" } else { "" };
            let tight = if asked.most.tight { "_tight" } else { "" };
            let judge = if asked.judges() { "_judged" } else { "" };
            let name = format!("{date}-{}{tight}{full}{judge}{peer}.md", sizes.join("_"));
            let path = format!("{}/../benches/runs/{name}", env!("CARGO_MANIFEST_DIR"));
            kept = Some(File::create(&path).map_err(|e| format!("{path}: {e}"))?);
        }
        let mut report = Self { kept };
        report.say(&format!("# Quality of plans, {date}"))?;
        report.say("")?;
        for line in machine::facts(words) {
            report.say(&format!("- {line}"))?;
        }
        Ok(report)
    }

    pub fn say(&mut self, line: &str) -> Result<(), String> {
        println!("{line}");
        match &mut self.kept {
            Some(file) => writeln!(file, "{line}").map_err(|e| format!("benches/runs: {e}")),
            None => Ok(()),
        }
    }
}
