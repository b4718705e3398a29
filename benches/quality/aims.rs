//! What a size is meant to reach on two cores in 60 s, and whether it did: medians over the books unless said otherwise.
//!
//! Gaps are judged without the cost of jobs that no plan can do, which never makes them smaller.

use crate::args::{Books, Size};
use crate::run::{BenchRun, median};

struct Aim {
    size: Size,
    /// Seconds to the first plan.
    first: f64,
    end: End,
    /// Most memory of any book, in MB.
    mb: Option<u64>,
}

enum End {
    /// All proven within so many seconds.
    AllProven(f64),
    /// So large a share proven, and the gap of every other book at most so many percent.
    Proven(f64, f64),
    /// The gap at most so many percent.
    Gap(f64),
    /// A plan that holds.
    Holds,
}

const SECONDS: f64 = 60.0;

const AIMS: [Aim; 6] = [
    Aim { size: Size::new(8, 3, 2), first: 0.1, end: End::AllProven(5.0), mb: None },
    Aim { size: Size::new(12, 4, 3), first: 0.2, end: End::Proven(0.8, 5.0), mb: None },
    Aim { size: Size::new(20, 6, 3), first: 0.5, end: End::Gap(10.0), mb: None },
    Aim { size: Size::new(40, 10, 5), first: 1.0, end: End::Gap(15.0), mb: None },
    Aim { size: Size::new(60, 13, 8), first: 2.0, end: End::Gap(20.0), mb: Some(2_000) },
    Aim { size: Size::new(500, 26, 40), first: 20.0, end: End::Holds, mb: Some(6_000) },
];

/// The same of tight books, with every field and without.
const TIGHT: [Aim; 6] = [
    Aim { size: Size::new(8, 3, 2), first: 0.1, end: End::AllProven(5.0), mb: None },
    Aim { size: Size::new(12, 4, 3), first: 0.2, end: End::Proven(0.8, 2.0), mb: None },
    Aim { size: Size::new(20, 6, 3), first: 0.5, end: End::Gap(4.0), mb: None },
    Aim { size: Size::new(40, 10, 5), first: 1.0, end: End::Gap(8.0), mb: None },
    Aim { size: Size::new(60, 13, 8), first: 2.0, end: End::Gap(10.0), mb: Some(2_000) },
    Aim { size: Size::new(500, 26, 40), first: 1.0, end: End::Gap(15.0), mb: Some(2_000) },
];

/// `met`, or by how much it is missed.
pub fn verdict(met: bool, by: impl Fn() -> String) -> String {
    if met { "met".to_owned() } else { format!("MISSED by {}", by()) }
}

/// An aim a line.
pub fn judge(size: Size, books: Books, seconds: f64, runs: &[BenchRun]) -> Vec<String> {
    if books.full && !books.tight {
        return Vec::new();
    }
    let aims = if books.tight { &TIGHT } else { &AIMS };
    let Some(aim) = aims.iter().find(|aim| aim.size == size) else {
        return vec![format!("- no aim is set for {size}")];
    };
    let mut lines = Vec::new();
    if (seconds - SECONDS).abs() > 0.5 {
        lines.push(format!("- the aims are for {SECONDS} s, not for {seconds} s"));
    }
    let first = median(runs.iter().map(|run| run.first.unwrap_or(f64::INFINITY)).collect()).unwrap_or(f64::INFINITY);
    let met = verdict(first <= aim.first, || format!("{:.3} s", first - aim.first));
    lines.push(format!("- aim: first plan within {} s: {met}", aim.first));
    lines.extend(end(&aim.end, runs));
    if let Some(most) = aim.mb {
        let met = match runs.iter().map(|run| run.mb).collect::<Option<Vec<u64>>>() {
            Some(all) => {
                let used = all.into_iter().max().unwrap_or(0);
                verdict(used < most, || format!("{} MB", used - most))
            }
            None => "not known".to_owned(),
        };
        lines.push(format!("- aim: under {most} MB on every book: {met}"));
    }
    lines
}

/// How many times the gap of plain books that of the same books with every field may be.
const WIDER: f64 = 1.3;

/// The median gaps of the same books without the fields that came later and with them.
pub fn beside(plain: &[BenchRun], full: &[BenchRun]) -> String {
    let gap = |runs: &[BenchRun]| median(runs.iter().map(BenchRun::gap_of_possible).collect()).unwrap_or(100.0);
    let (plain, full) = (gap(plain), gap(full));
    let met = verdict(full <= WIDER * plain, || format!("{:.2} %", full - WIDER * plain));
    format!("- aim: a gap with every field ({full:.2} %) at most {WIDER} times that without ({plain:.2} %): {met}")
}

fn end(end: &End, runs: &[BenchRun]) -> Vec<String> {
    let count = |held: &dyn Fn(&BenchRun) -> bool| runs.iter().filter(|run| held(run)).count();
    match *end {
        End::AllProven(seconds) => {
            let within = count(&|run| run.proven() && run.ended <= seconds);
            let met = verdict(within == runs.len(), || format!("{} books", runs.len() - within));
            vec![format!("- aim: all proven within {seconds} s: {met}")]
        }
        End::Proven(share, percent) => {
            let wanted = (share * runs.len() as f64).ceil() as usize;
            let proven = count(&BenchRun::proven);
            let widest = runs.iter().filter(|run| !run.proven()).map(BenchRun::gap_of_possible).fold(0.0, f64::max);
            let met = verdict(proven >= wanted, || format!("{} books", wanted - proven));
            let near = verdict(widest <= percent, || format!("{:.2} %", widest - percent));
            vec![
                format!("- aim: {wanted} of {} proven: {met}", runs.len()),
                format!("- aim: every other within {percent} %: {near}"),
            ]
        }
        End::Gap(percent) => {
            let gap = median(runs.iter().map(BenchRun::gap_of_possible).collect()).unwrap_or(100.0);
            let met = verdict(gap <= percent, || format!("{:.2} %", gap - percent));
            vec![format!("- aim: within {percent} % of the bound: {met}")]
        }
        End::Holds => {
            let holds = count(&BenchRun::holds);
            let met = verdict(holds == runs.len(), || format!("{} books", runs.len() - holds));
            vec![format!("- aim: a plan that holds: {met}")]
        }
    }
}
