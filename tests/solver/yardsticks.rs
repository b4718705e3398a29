//! Two published problems, written as books, proven at their published makespans. On their own: the proof of the first
//! takes both cores for about a minute.

use yardless_book::Book;
use yardless_book::half_day::Horizon;
use yardless_book::money::Cents;
use yardless_check::check;
use yardless_engine::{Limits, plan};
use yardless_plan::shop::Shop;

use yardless_support::{monday, yardsticks};

/// Longer than either takes.
const PATIENCE: f64 = 600.0;

/// The makespan of a yardstick's best plan, and a proof that none is shorter: the bound lies above what a plan one
/// half-day shorter could cost at the very most.
#[track_caller]
fn makespan(book: &Book, weeks: u32) -> usize {
    let horizon = Horizon::new(monday(), weeks).expect("a horizon");
    let shop = Shop::new(book, horizon).expect("a book without fault");
    let plan = plan(&shop, "", &Limits::seconds(PATIENCE), &mut |_| {});
    let verdict = check(&shop, &plan);
    assert!(verdict.holds(), "{:?}", verdict.breaches);
    let last = plan.steps.iter().map(|row| horizon.index(row.end).expect("an index")).max().expect("steps");
    // C5: the job's end at HALF_DAY dollars an index, and a cent an index for each step, none after the job's end.
    let shorter = yardsticks::HALF_DAY * 100 * (last as i64 - 1) + (plan.steps.len() * (last - 1)) as i64;
    assert!(plan.bound.expect("a bound") > Cents(shorter), "not proved: {:?} for {}", plan.bound, plan.cost);
    last + 1
}

#[test]
fn fisher_and_thompson_6_by_6_proves_55() {
    assert_eq!(makespan(&yardsticks::fisher_thompson(), 5), 55);
}

#[test]
fn patterson_1_proves_19() {
    assert_eq!(makespan(&yardsticks::patterson(), 2), 19);
}
