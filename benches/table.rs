//! Figures, a row a book: the cases, random books of 8 jobs and 3 weeks, the demo book.
//!
//! `cargo bench --profile dev -p yardless-solver --bench table`, with words after `--` for the rows whose names hold one
//! of them (`-- random demo`). Each row is a process of its own, so that its memory is its own and no proof of another
//! book still runs beside it. It fails where a case is not proven at its best cost, or a plan does not hold.

use std::process::{Command, ExitCode};
use std::time::Instant;

use chrono::NaiveDate;
use yardless_book::Book;
use yardless_book::half_day::Horizon;
use yardless_book::money::Cents;
use yardless_check::check;
use yardless_engine::{Limits, plan};
use yardless_plan::shop::Shop;

use yardless_support::generate::{Shape, generate};
use yardless_support::memory::peak_mb;
use yardless_support::{cases, monday};

/// Said to a process that is to plan one book.
const ONE: &str = "one";

struct Instance {
    name: String,
    book: Book,
    from: NaiveDate,
    weeks: u32,
    seconds: f64,
    /// In cents, where it is known.
    best: Option<i64>,
}

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with("--")).collect();
    if let [one, name] = &words[..]
        && one == ONE
    {
        let row = rows().into_iter().find(|row| row.name == *name).expect("a row of that name");
        return if planned(&row) { ExitCode::SUCCESS } else { ExitCode::FAILURE };
    }
    println!(
        "{:<28} {:>9} {:>12} {:>12} {:>7} {:>8} {:>6}  stopped",
        "book", "first, ms", "cost", "bound", "gap, %", "whole, s", "MB"
    );
    let program = std::env::current_exe().expect("this program");
    let mut failed = 0;
    for row in rows() {
        if words.is_empty() || words.iter().any(|word| row.name.contains(word)) {
            let status = Command::new(&program).args([ONE, &row.name]).status().expect("a process");
            failed += usize::from(!status.success());
        }
    }
    println!("{failed} rows failed");
    if failed == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn rows() -> Vec<Instance> {
    let cases = cases::all().into_iter().map(|case| Instance {
        name: case.name,
        book: case.book,
        from: case.from,
        weeks: case.weeks,
        seconds: 30.0,
        best: Some(case.best_cents),
    });
    let random = (0..4).map(|seed| Instance {
        name: format!("random 8 jobs, seed {seed}"),
        book: generate(Shape::new(8, 3, 2), seed),
        from: monday(),
        weeks: 3,
        seconds: 20.0,
        best: None,
    });
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../data/demo.json");
    let demo = yardless_book::read(&std::fs::read(path).expect("the demo book")).expect("a book without fault").book;
    let demo = Instance { name: "demo".to_owned(), book: demo, from: monday(), weeks: 6, seconds: 20.0, best: None };
    cases.chain(random).chain([demo]).collect()
}

/// Plans a book and prints its row: whether all is as it must be.
fn planned(row: &Instance) -> bool {
    let began = Instant::now();
    let horizon = Horizon::new(row.from, row.weeks).expect("a horizon");
    let shop = Shop::new(&row.book, horizon).expect("a book without fault");
    let mut first = None;
    let plan = plan(&shop, "", &Limits::seconds(row.seconds), &mut |_| {
        first.get_or_insert_with(|| began.elapsed().as_secs_f64());
    });
    let whole = began.elapsed().as_secs_f64();
    let bound = plan.bound.unwrap_or(Cents::ZERO);
    let gap = 100.0 * (plan.cost - bound).0 as f64 / plan.cost.0.max(1) as f64;
    let best = row.best.is_none_or(|best| plan.proven && plan.cost.0 == best);
    let holds = check(&shop, &plan).holds();
    println!(
        "{:<28} {:>9.1} {:>12} {:>12} {gap:>7.2} {whole:>8.2} {:>6}  {}{}{}",
        row.name,
        1000.0 * first.unwrap_or(whole),
        plan.cost.to_string(),
        bound.to_string(),
        peak_mb("self").map_or_else(|| "-".to_owned(), |mb| mb.to_string()),
        plan.stopped,
        if best { "" } else { ", NOT THE PROVEN BEST" },
        if holds { "" } else { ", DOES NOT HOLD" },
    );
    best && holds
}
