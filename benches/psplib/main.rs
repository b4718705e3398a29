//! Published resource-constrained project scheduling problems, read as books: a stress for pools of equal units.
//!
//! `cargo bench --profile dev -p yardless-solver --bench psplib -- [--seconds N] FILE...`
//!
//! Files are single-mode ones in the format of PSPLIB (Kolisch and Sprecher, *European Journal of Operational Research*
//! 96, 1996), such as those of its set j30; none are kept here. Each is planned by a process of its own. It fails where
//! a file cannot be read or a plan does not hold.

mod project;
mod read;
mod works;

use std::process::{Command, ExitCode};
use std::sync::atomic::Ordering;
use std::time::Instant;

use yardless_book::money::Cents;
use yardless_check::check;
use yardless_engine::{Limits, plan};

use works::Works;

const USAGE: &str = "\
usage: cargo bench --profile dev -p yardless-solver --bench psplib -- [--seconds N] FILE...
  FILE         a single-mode file of PSPLIB (.sm), by its whole path: cargo runs benches in the folder solver
  --seconds N  seconds a file, above 0 (60)";

/// Said to a process that is to plan one file.
const ALONE: &str = "alone";

fn main() -> ExitCode {
    // `cargo bench` says `--bench` to every bench.
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    if let [alone, seconds, file] = &words[..]
        && alone == ALONE
    {
        return match planned(file, seconds.parse().expect("seconds")) {
            Ok(row) => {
                println!("{row}");
                ExitCode::SUCCESS
            }
            Err(says) => {
                println!("{file}: {says}");
                ExitCode::FAILURE
            }
        };
    }
    let (seconds, files) = match asked(&words) {
        Ok(asked) => asked,
        Err(says) => {
            eprintln!("{says}\n{USAGE}");
            return ExitCode::from(2);
        }
    };
    println!("{:<24} {:>10} {:>8} {:>5} {:>6} {:>7}", "file", "activities", "makespan", "bound", "proven", "s");
    let program = std::env::current_exe().expect("this program");
    let mut failed = 0;
    for file in &files {
        let status = Command::new(&program).args([ALONE, &seconds.to_string(), file]).status().expect("a process");
        failed += usize::from(!status.success());
    }
    if failed == 0 {
        return ExitCode::SUCCESS;
    }
    println!("{failed} of {} files failed", files.len());
    ExitCode::FAILURE
}

/// Seconds, and files.
fn asked(words: &[String]) -> Result<(f64, Vec<String>), String> {
    let (mut seconds, mut files) = (60.0, Vec::new());
    let mut words = words.iter();
    while let Some(word) = words.next() {
        if word == "--seconds" {
            let number = words.next().and_then(|word| word.parse().ok());
            seconds = number.filter(|n: &f64| *n > 0.0 && n.is_finite()).ok_or("--seconds wants a number above 0")?;
        } else if word.starts_with('-') {
            return Err(format!("there is no option {word}"));
        } else {
            files.push(word.clone());
        }
    }
    if files.is_empty() { Err("no file is named".to_owned()) } else { Ok((seconds, files)) }
}

/// Plans a file until its makespan is proven: its row.
fn planned(file: &str, seconds: f64) -> Result<String, String> {
    let text = std::fs::read_to_string(file).map_err(|e| e.to_string())?;
    let project = read::read(&text).map_err(|fault| fault.to_string())?;
    let began = Instant::now();
    let works = Works::of(&project)?;
    let limits = Limits::seconds(seconds);
    let plan = plan(&works.shop, "", &limits, &mut |progress| {
        let bound = progress.bound.unwrap_or(Cents::ZERO);
        if works.least_makespan(bound) == works.makespan_at(progress.cost) {
            // The cents of the steps' ends are of no interest.
            limits.cancel.store(true, Ordering::Relaxed);
        }
    });
    let took = began.elapsed().as_secs_f64();
    if let Some(breach) = check(&works.shop, &plan).breaches.first() {
        return Err(format!("THE PLAN DOES NOT HOLD: {breach:?}"));
    }
    let makespan = works.makespan(&plan);
    let bound = works.least_makespan(plan.bound.unwrap_or(Cents::ZERO));
    let proven = if makespan == Some(bound) { "yes" } else { "no" };
    let makespan = makespan.map_or_else(|| "-".to_owned(), |makespan| makespan.to_string());
    let name = file.rsplit('/').next().unwrap_or(file);
    let activities = project.with_predecessors().len();
    Ok(format!("{name:<24} {activities:>10} {makespan:>8} {bound:>5} {proven:>6} {took:>7.2}"))
}
