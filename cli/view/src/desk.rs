//! What the tests of sheets begin with.

use yardless_book::half_day::Horizon;
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

/// A book and the plan kept of it.
pub fn desk() -> (Shop, Plan) {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/cli/data");
    let read = |name: &str| std::fs::read(format!("{folder}/{name}")).expect("a file");
    let book = yardless_book::read(&read("book.json")).expect("a book").book;
    let plan: Plan = serde_json::from_slice(&read("plan.json")).expect("a plan");
    let horizon = Horizon::new(plan.from, plan.weeks).expect("a horizon");
    (Shop::again(&book, horizon, 0, Some(&[])).expect("no fault"), plan)
}
