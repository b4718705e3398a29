//! `chances`: the plan itself without spread and storms, known distributions with them.

use serde_json::{Value, json};
use yardless_answer::{JobChance, Seasons, Share, chances};
use yardless_book::Book;
use yardless_book::half_day::HalfDay;
use yardless_engine::{Limits, plan};
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

use super::{horizon, planned, shop};
use yardless_support::generate::{Shape, generate};
use yardless_support::midway::midway;
use yardless_support::{book, day, monday};

const SEASONS: Seasons = Seasons { count: 20_000, seed: 7 };

/// Every simulated end is the planned one.
#[track_caller]
fn kept_as_planned(shop: &Shop, plan: &Plan, what: &str) -> usize {
    let found = chances(shop, plan, Seasons { count: 3, seed: 1 }).expect("the plan holds");
    for job in &found.jobs {
        assert_eq!(job.quantile(1), Some(job.planned), "{what}: {}", job.job);
        assert_eq!(job.quantile(100), Some(job.planned), "{what}: {}", job.job);
    }
    found.jobs.len()
}

#[test]
fn without_spread_and_storms_every_season_is_the_plan() {
    let mut jobs = 0;
    for seed in 0..200 {
        let (book, plan) = planned(seed);
        jobs += kept_as_planned(&shop(&book, &[]), &plan, &format!("tiny {seed}"));
        let made = midway(seed, seed % 2 == 1);
        if let Ok(shop) = Shop::again(&made.book, horizon(1), made.now, Some(&[])) {
            let found = plan_of(&shop);
            jobs += kept_as_planned(&shop, &found, &format!("midway {seed}"));
        }
    }
    for seed in 0..10 {
        let book = generate(Shape::new(12, 4, 3), seed);
        let shop = Shop::new(&book, horizon(4)).expect("no fault");
        jobs += kept_as_planned(&shop, &plan_of(&shop), &format!("12 jobs {seed}"));
    }
    assert!(jobs >= 400, "{jobs}");
}

fn plan_of(shop: &Shop) -> Plan {
    plan(shop, "", &Limits::steps(60), &mut |_| {})
}

/// Jobs at one place, each of one step of so many half-days by a crew of its own, the last after all others.
fn chain_of(parallel: usize, half_days: u32, spread: &Value) -> (Shop, Plan) {
    let crews: Vec<Value> =
        (0..=parallel).map(|c| json!({ "id": format!("c{c}"), "people": 2, "skills": [format!("s{c}")] })).collect();
    let mut jobs: Vec<Value> = (0..parallel)
        .map(|j| {
            json!({ "id": format!("j{j}"), "place": "a", "due": day(4), "steps": [
            { "id": "work", "skill": format!("s{j}"), "half_days": half_days, "spread": spread }] })
        })
        .collect();
    let after: Vec<String> = (0..parallel).map(|j| format!("j{j}/work")).collect();
    jobs.push(json!({ "id": "last", "place": "a", "steps": [
        { "id": "work", "skill": format!("s{parallel}"), "half_days": 1, "after": after }] }));
    let book: Book = book(json!({
        "book": 1, "shop": { "name": "Test", "time_zone": "America/New_York", "work_days": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] },
        "places": [{ "id": "a" }], "crews": crews, "trucks": [], "equipment": [], "jobs": jobs
    }));
    let shop = Shop::new(&book, horizon(4)).expect("no fault");
    let plan = plan_of(&shop);
    assert!(plan.left_out.is_empty());
    (shop, plan)
}

fn of<'c>(jobs: &'c [JobChance], id: &str) -> &'c JobChance {
    jobs.iter().find(|job| job.job == id).expect("the job")
}

/// The share of seasons in which a job ended within so many half-days from the beginning; only whole dates are asked.
fn within(job: &JobChance, half_days: usize) -> f64 {
    assert!(half_days.is_multiple_of(2));
    let Share { of, all } = job.by(monday() + chrono::Days::new(half_days as u64 / 2 - 1));
    f64::from(of) / f64::from(all)
}

/// P(10 half-days take at most k, 10 or more): the factor is 1 + B, B beta(1, 5) as the mode is at the low end; half of a
/// half-day is made up in the last one, so that the factor is at most (k + 0.5) / 10: 1 - (2 - that)^5.
fn exact(k: usize) -> f64 {
    1.0 - (2.0 - (k as f64 + 0.5) / 10.0).powi(5)
}

/// Four standard errors: one in 16,000 by chance.
#[track_caller]
fn near(found: f64, exact: f64) {
    let error = 4.0 * (exact * (1.0 - exact) / f64::from(SEASONS.count)).sqrt();
    assert!((found - exact).abs() <= error, "{found} is not {exact} within {error}");
}

#[test]
fn one_step_meets_its_exact_quantiles() {
    let (shop, plan) = chain_of(1, 10, &json!({ "low": 1, "likely": 1, "high": 2 }));
    let found = chances(&shop, &plan, SEASONS).expect("the plan holds");
    let step = of(&found.jobs, "j0");
    for k in [10, 12, 14, 16, 18] {
        near(within(step, k), exact(k));
    }
    // 8 times in 10: the first k with exact(k) >= 0.8 is 13, as (2 - 1.25)^5 = 0.237 and (2 - 1.35)^5 = 0.116; k
    // half-days end at index k - 1.
    assert_eq!(step.quantile(80), Some(shop.horizon.half_day(12)));
    assert_eq!(step.by_due(), Some(step.by(monday() + chrono::Days::new(4))));
}

#[test]
fn two_steps_in_parallel_show_the_merge_bias() {
    let (shop, plan) = chain_of(2, 10, &json!({ "low": 1, "likely": 1, "high": 2 }));
    let found = chances(&shop, &plan, SEASONS).expect("the plan holds");
    let last = of(&found.jobs, "last");
    // It ends one half-day after the later of the two, which are independent: the product.
    for k in [12, 14, 16, 18] {
        near(within(of(&found.jobs, "j0"), k), exact(k));
        near(within(last, k), exact(k - 1).powi(2));
    }
}

#[test]
fn seasons_are_the_same_for_the_same_seed_and_storms_delay_what_is_outside() {
    let book = |chance: Value, outside: bool| -> Shop {
        let book: Book = book(json!({
            "book": 1, "shop": { "name": "Test", "time_zone": "America/New_York", "work_days": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] },
            "places": [{ "id": "a" }], "crews": [{ "id": "c", "people": 2, "skills": ["s"] }], "trucks": [], "equipment": [],
            "chance": chance,
            "jobs": [{ "id": "x", "place": "a", "due": day(0), "steps": [{ "id": "w", "skill": "s", "half_days": 2, "outside": outside }] }]
        }));
        Shop::new(&book, horizon(2)).expect("no fault")
    };
    let climate = json!({ "climate": [{ "on": "12-01/12-31", "storm_days": 1.75, "source": "made up" }] });
    let shop = book(climate.clone(), true);
    let plan = plan_of(&shop);
    let found = chances(&shop, &plan, SEASONS).expect("the plan holds");
    assert_eq!(found, chances(&shop, &plan, SEASONS).expect("the plan holds"));
    let other = chances(&shop, &plan, Seasons { seed: 8, ..SEASONS }).expect("the plan holds");
    assert_ne!(found, other);
    // A storm on Monday, one time in four, takes the whole of it; n stormy days in a row one time in 4^n.
    near(within(&found.jobs[0], 2), 0.75);
    near(within(&found.jobs[0], 4), 1.0 - 1.0 / 16.0);
    let inside = book(climate, false);
    let found = chances(&inside, &plan_of(&inside), SEASONS).expect("the plan holds");
    assert_eq!(found.jobs[0].by_due(), Some(Share { of: SEASONS.count, all: SEASONS.count }));
    assert_eq!(found.jobs[0].quantile(80), Some(HalfDay::pm(monday())));
}

/// Two sites and one trailer: x holds it at A for ten half-days, then y at B for one.
fn one_trailer(spread: &Value, chance: &Value) -> (Shop, Plan) {
    let step =
        |half_days: u32| json!({ "id": "w", "skill": "s", "half_days": half_days, "needs": [{ "kind": "rig" }] });
    let mut first = step(10);
    first["spread"] = spread.clone();
    let book: Book = book(json!({
        "book": 1, "shop": { "name": "Test", "time_zone": "America/New_York", "work_days": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] },
        "places": [{ "id": "a" }, { "id": "b" }], "drives": [{ "from": "a", "to": "b", "minutes": 20 }],
        "crews": [{ "id": "c", "people": 2, "skills": ["s"] }, { "id": "d", "people": 2, "skills": ["s"] }],
        "trucks": [{ "id": "t", "tow_lb": 5000 }],
        "equipment": [{ "id": "rig", "kinds": ["rig"], "moves": "towed", "weight_lb": 4000, "place": "a" }],
        "chance": chance,
        "jobs": [
            { "id": "x", "place": "a", "due": day(0), "late_day": 500, "steps": [first] },
            { "id": "y", "place": "b", "steps": [{ "id": "w", "skill": "s", "half_days": 1, "needs": [{ "kind": "rig" }] }] }
        ]
    }));
    let shop = Shop::new(&book, horizon(4)).expect("no fault");
    let plan = plan(&shop, "", &Limits::steps(400), &mut |_| {});
    assert_eq!((plan.steps.len(), plan.hauls.len()), (2, 1));
    (shop, plan)
}

#[test]
fn delay_goes_with_the_trailer_and_waits_for_the_road() {
    // Each half-day that x runs over comes to y as one: its haul takes none.
    let (shop, plan) = one_trailer(&json!({ "low": 1, "likely": 1, "high": 2 }), &json!({}));
    let found = chances(&shop, &plan, SEASONS).expect("the plan holds");
    for k in [12, 14, 16, 18] {
        near(within(of(&found.jobs, "y"), k), exact(k - 1));
    }
    // The road is closed on one date in four: y follows on the first date on which it is open, from that of its haul on.
    let climate = json!({ "climate": [{ "on": "01-01/12-31", "closed_days": 1.75, "source": "made up" }] });
    let (shop, plan) = one_trailer(&json!({ "low": 1, "likely": 1, "high": 1 }), &climate);
    let found = chances(&shop, &plan, SEASONS).expect("the plan holds");
    // x ends on Friday pm, index 9. An evening haul has two dates to be in time for Saturday, one at the start has one;
    // on each date after it there is one more.
    let dates = if plan.hauls[0].evening { 2 } else { 1 };
    for later in 0..3 {
        let closed = 0.25_f64.powi(dates + later);
        near(within(of(&found.jobs, "y"), 12 + 2 * later as usize), 1.0 - closed);
    }
    assert_eq!(of(&found.jobs, "x").by(monday() + chrono::Days::new(4)).of, SEASONS.count);
}
