//! How long the first plan takes, and the proof of every case: a wrong answer fails, however fast it comes.
//!
//! `cargo bench --profile dev -p yardless-solver --bench plan`: with that profile the engine is the one that the tests
//! and the command line use, and is not built a second time.

use std::hint::black_box;
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use criterion::{Criterion, SamplingMode};
use yardless_book::Book;
use yardless_book::half_day::Horizon;
use yardless_book::money::Cents;
use yardless_check::check;
use yardless_engine::{Limits, plan};
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

use yardless_support::cases::{self, Case};
use yardless_support::generate::{Shape, generate};
use yardless_support::monday;

/// Jobs, weeks and crews.
const SIZES: [(usize, u32, usize); 3] = [(8, 3, 2), (12, 4, 3), (20, 6, 3)];
/// Seconds for the proof of a case.
const PATIENCE: f64 = 30.0;
/// A case that takes longer is run once instead of many times.
const QUICK: Duration = Duration::from_millis(250);

fn main() -> ExitCode {
    let mut criterion = Criterion::default()
        .sample_size(10)
        .nresamples(1_000)
        .warm_up_time(Duration::from_millis(100))
        .measurement_time(Duration::from_millis(500))
        .without_plots()
        .configure_from_args();
    first_plans(&mut criterion);
    let wrong = all_cases(&mut criterion);
    criterion.final_summary();
    for case in &wrong {
        eprintln!("not the proven best: {case}");
    }
    if wrong.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn shop(book: &Book, from: chrono::NaiveDate, weeks: u32) -> Shop {
    Shop::new(book, Horizon::new(from, weeks).expect("a horizon")).expect("a book without fault")
}

/// The search is told to stop before it begins: the first plan, its simple bound and its check are all that is done.
fn first_plans(criterion: &mut Criterion) {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../data/demo.json");
    let demo = yardless_book::read(&std::fs::read(path).expect("the demo book")).expect("a book without fault").book;
    let random = SIZES.iter().map(|&(jobs, weeks, crews)| {
        let name = format!("{jobs} jobs, {weeks} weeks, {crews} crews");
        (name, shop(&generate(Shape::new(jobs, weeks, crews), 1), monday(), weeks))
    });
    for (name, shop) in [("demo".to_owned(), shop(&demo, monday(), 6))].into_iter().chain(random) {
        let at_once = Limits { cancel: Arc::new(AtomicBool::new(true)), ..Limits::steps(1) };
        let first = || plan(black_box(&shop), "", &at_once, &mut |_| {});
        assert!(check(&shop, &first()).holds(), "{name}");
        criterion.bench_function(&format!("first plan/{name}"), |bench| bench.iter(first));
    }
}

/// Times every case up to its proof, and tells those that are not proven at their best cost.
fn all_cases(criterion: &mut Criterion) -> Vec<String> {
    let mut group = criterion.benchmark_group("case");
    group.sampling_mode(SamplingMode::Flat);
    let (mut slow, mut wrong) = (Vec::new(), Vec::new());
    for case in cases::all() {
        let shop = shop(&case.book, case.from, case.weeks);
        let prove = || plan(black_box(&shop), "", &Limits::seconds(PATIENCE), &mut |_| {});
        let began = Instant::now();
        let found = prove();
        let took = began.elapsed();
        if !is_best(&case, &found) {
            let best = Cents(case.best_cents);
            wrong.push(format!("{}: cost {}, best {best}, {}", case.name, found.cost, found.stopped));
        } else if took > QUICK {
            slow.push(format!("case/{}: {:.2} s, run once", case.name, took.as_secs_f64()));
        } else {
            group.bench_function(&case.name, |bench| bench.iter(|| assert!(is_best(&case, &prove()))));
        }
    }
    group.finish();
    println!("{}", slow.join("\n"));
    wrong
}

fn is_best(case: &Case, plan: &Plan) -> bool {
    plan.proven && plan.cost.0 == case.best_cents
}
