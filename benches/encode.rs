//! How long a book takes to be made ready for planning and to be written as a mixed-integer program.
//!
//! `cargo bench --profile dev -p yardless-solver --bench encode`: with that profile the engine is the one that the
//! tests and the command line use, and is not built a second time.

use std::hint::black_box;
use std::time::Duration;

use criterion::Criterion;
use yardless_book::half_day::Horizon;
use yardless_engine::encode::encode;
use yardless_plan::shop::Shop;

use yardless_support::generate::{Shape, generate};
use yardless_support::monday;

/// Jobs, weeks and crews.
const SIZES: [(usize, u32, usize); 3] = [(8, 3, 2), (12, 4, 3), (20, 6, 3)];

fn main() {
    let mut criterion = Criterion::default()
        .sample_size(10)
        .warm_up_time(Duration::from_millis(500))
        .measurement_time(Duration::from_secs(3))
        .configure_from_args();
    for (jobs, weeks, crews) in SIZES {
        let size = format!("{jobs} jobs, {weeks} weeks, {crews} crews");
        let book = generate(Shape::new(jobs, weeks, crews), 1);
        let horizon = Horizon::new(monday(), weeks).expect("a horizon");
        let shop = Shop::new(&book, horizon).expect("a book without fault");
        criterion.bench_function(&format!("shop/{size}"), |bench| {
            bench.iter(|| Shop::new(black_box(&book), horizon));
        });
        for (name, merge_rests) in [("whole", false), ("merged", true)] {
            let columns = encode(&shop, merge_rests).expect("half-days that the shop works").program.columns();
            criterion.bench_function(&format!("{name}/{size}, {columns} columns"), |bench| {
                bench.iter(|| encode(black_box(&shop), merge_rests));
            });
        }
    }
    criterion.final_summary();
}
