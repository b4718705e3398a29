//! How good plans are and how soon: generated books of several sizes, a row a book, beside two general solvers if asked.
//!
//! `cargo bench --profile dev -p yardless-solver --bench quality -- [SIZE...] [--seeds N] [--judge] [--seconds N] [--full]
//! [--peer] [--keep]`
//!
//! A size is jobs/weeks/crews. Each book is written to a file and planned from it by a process of its own, so that its
//! memory is its own; the clock runs from the reading of that file on, for everybody. `--peer` plans the same file with
//! `benches/peer`, one solver after the other. `--full` plans the same books with every field besides, `--tight` tight ones instead. Every plan is judged by `yardless_check::check`; of a peer's plans only those count
//! that hold. `--keep` writes all that is printed to `benches/runs`. It fails where a plan of ours does not hold, or
//! where a peer's plan costs less than our bound.

mod aims;
mod args;
mod machine;
mod ours;
mod peer;
mod python;
mod report;
mod rows;
mod run;
mod subject;

use std::process::ExitCode;

use args::{BenchArgs, Books, Size, USAGE};
use peer::Peer;
use report::Report;
use rows::Rows;
use run::BenchRun;
use subject::Subject;

fn main() -> ExitCode {
    // `cargo bench` says `--bench` to every bench.
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    if words.first().is_some_and(|word| word == ours::ALONE) {
        ours::plan_alone(&words[1..]);
        return ExitCode::SUCCESS;
    }
    let asked = match BenchArgs::read(&words) {
        Ok(asked) => asked,
        Err(says) => {
            eprintln!("{says}\n{USAGE}");
            return ExitCode::from(2);
        }
    };
    match measure(&asked, &words) {
        Ok(0) => ExitCode::SUCCESS,
        Ok(failed) => {
            println!("{failed} books FAILED");
            ExitCode::FAILURE
        }
        Err(says) => {
            eprintln!("{says}");
            ExitCode::FAILURE
        }
    }
}

/// Measures all that is asked for: how many books failed.
fn measure(asked: &BenchArgs, words: &[String]) -> Result<usize, String> {
    let python = asked.peer.then(python::with_solvers).transpose()?;
    let mut report = Report::new(asked, words)?;
    let mut failed = 0;
    for size in &asked.sizes {
        let mut measured = Vec::new();
        for books in asked.books() {
            let peers = python.as_ref().map_or_else(Vec::new, |python| peer::all(python, books));
            let (wrong, runs) = measure_books(*size, books, asked, &peers, &mut report)?;
            failed += wrong;
            measured.push(runs);
        }
        if let [plain, full] = &measured[..] {
            report.say(&aims::beside(plain, full))?;
        }
    }
    Ok(failed)
}

/// Plans all books of a size: how many failed, and our runs.
fn measure_books(
    size: Size,
    books: Books,
    asked: &BenchArgs,
    peers: &[Peer],
    report: &mut Report,
) -> Result<(usize, Vec<BenchRun>), String> {
    let rows = Rows::new(asked.seconds, !peers.is_empty());
    report.say("")?;
    report.say(&title(size, books, asked))?;
    report.say("")?;
    report.say(&rows.head())?;
    let mut failed = 0;
    let (mut all_ours, mut all_theirs) = (Vec::new(), vec![Vec::new(); peers.len()]);
    for seed in asked.all_seeds() {
        let subject = Subject::write(size, books, seed)?;
        let ours = ours::run(&subject, asked.seconds);
        report.say(&rows.ours(seed, &ours))?;
        let mut wrong = !ours.holds();
        for (peer, runs) in peers.iter().zip(&mut all_theirs) {
            let theirs = peer.run(&subject, asked.seconds);
            report.say(&rows.theirs(seed, peer.name, &ours, &theirs))?;
            wrong |= ours.bound_is_refuted_by(&theirs);
            runs.push(theirs);
        }
        failed += usize::from(wrong);
        all_ours.push(ours);
    }
    report.say("")?;
    let aims = aims::judge(size, books, asked.seconds, &all_ours);
    for line in rows.sum_up(&all_ours).into_iter().chain(aims) {
        report.say(&line)?;
    }
    for (peer, theirs) in peers.iter().zip(&all_theirs) {
        for line in rows.compare(size, peer.name, &all_ours, theirs) {
            report.say(&line)?;
        }
    }
    Ok((failed, all_ours))
}

fn title(size: Size, books: Books, asked: &BenchArgs) -> String {
    let seeds = asked.all_seeds();
    let what = if asked.judges() { "for judging" } else { "for tuning" };
    let tight = if books.tight { ", tight" } else { "" };
    let fields = if books.full { ", every field" } else { "" };
    format!(
        "## {size}{tight}{fields}: {} jobs, {} weeks, {} crews, {} s, seeds {} to {} ({what})",
        size.jobs,
        size.weeks,
        size.crews,
        asked.seconds,
        seeds.start,
        seeds.end - 1
    )
}
