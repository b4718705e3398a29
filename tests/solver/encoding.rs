//! The program against plans that something else has found: it allows them, at their cost, and gives them back.

use yardless_book::half_day::Horizon;
use yardless_check::check;
use yardless_engine::encode::encode;
use yardless_plan::shop::Shop;
use yardless_plan::{Draft, Plan, read, write};

use yardless_support::exhaustive::{best, best_from};
use yardless_support::midway::midway;
use yardless_support::tiny::{Fields, tiny, tiny_with};
use yardless_support::{cases, monday};

/// Tiny books and small cases with the oracle's best plan.
fn found() -> Vec<(String, Shop, Draft, i64)> {
    let mut found = Vec::new();
    let costs = (400..500).map(|seed| tiny_with(seed, Fields::Costs));
    let home = (400..500).map(|seed| tiny_with(seed, Fields::Home));
    let ratings = (400..460).map(|seed| tiny_with(seed, Fields::Ratings));
    let posted = (400..460).map(|seed| tiny_with(seed, Fields::Posted));
    for (seed, book) in (400..).zip((400..500).map(tiny).chain(costs).chain(home).chain(ratings).chain(posted)) {
        let Some(best) = best(&book, monday(), 1, 100_000) else { continue };
        let shop = Shop::new(&book, Horizon::new(monday(), 1).expect("a horizon")).expect("a book without fault");
        found.push((format!("tiny book {seed}"), shop, best.draft, best.cents));
    }
    for case in cases::all().into_iter().filter(|case| !case.name.starts_with("random-")) {
        let Some(best) = best(&case.book, case.from, case.weeks, 500_000) else { continue };
        let shop = Shop::new(&case.book, Horizon::new(case.from, case.weeks).expect("a horizon")).expect("no fault");
        found.push((case.name, shop, best.draft, best.cents));
    }
    let mut spans = 0;
    for seed in 0..120 {
        let made = midway(seed, seed % 2 == 1);
        let Some(best) = best_from(&made.book, monday(), 1, made.now, Some(&made.kept), 100_000) else { continue };
        let kept: Plan = serde_json::from_value(made.kept.clone()).expect("a plan");
        let horizon = Horizon::new(monday(), 1).expect("a horizon");
        let Ok(shop) = Shop::again(&made.book, horizon, made.now, Some(&kept.kept())) else { continue };
        let draft = read(&shop, &serde_json::from_value(best.plan).expect("a plan"));
        spans += draft.steps.iter().flatten().filter(|done| done.returns.is_some()).count();
        found.push((format!("book {seed} midway"), shop, draft, best.cents));
    }
    assert!(found.len() > 200 && spans >= 5);
    found
}

#[test]
fn program_allows_the_best_plan_at_its_cost_and_gives_it_back() {
    for (name, shop, draft, cents) in found() {
        let encoding = encode(&shop, false).expect("the shop works");
        let values = encoding.values(&shop, &draft).unwrap_or_else(|| panic!("{name}: no column for some part of it"));
        let weighed = encoding.program.weigh(&values).unwrap_or_else(|row| panic!("{name}: forbidden by {row:?}"));
        assert_eq!(weighed, cents, "{name}");
        let again = encoding.decode(&shop, &values).unwrap_or_else(|| panic!("{name}: not told apart"));
        let mut plan = write(&shop, "", &again, |_| String::new());
        plan.costs = check(&shop, &plan).costs;
        plan.cost = plan.costs.total();
        assert_eq!((check(&shop, &plan).breaches, plan.cost.0), (Vec::new(), cents), "{name}");
    }
}

#[test]
fn merged_places_only_ever_make_plans_cheaper() {
    for (name, shop, draft, cents) in found() {
        let encoding = encode(&shop, true).expect("the shop works");
        let values = encoding.values(&shop, &draft).unwrap_or_else(|| panic!("{name}: no column for some part of it"));
        let weighed = encoding.program.weigh(&values).unwrap_or_else(|row| panic!("{name}: forbidden by {row:?}"));
        assert!(weighed <= cents, "{name}: {weighed} above {cents}");
    }
}
