//! `worth`: the difference between two proven plans, to the cent.

use serde_json::json;
use yardless_answer::{Alone, Given, More, Worth, worth};
use yardless_book::money::Cents;
use yardless_book::{Book, Moves};
use yardless_check::check;
use yardless_engine::{Limits, plan};
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

use super::{STEPS, horizon, planned, shop};
use yardless_support::{book, day, monday};

/// Small books.
const BOOKS: u64 = 50;

#[test]
fn one_more_is_worth_the_difference_between_two_proven_plans() {
    let (mut asked, mut saves, mut only_then, mut let_in) = (0, 0, 0, 0);
    for seed in 0..BOOKS {
        let (book, base) = planned(seed);
        let shop_now = shop(&book, &base.kept());
        let given = Given::new(&shop_now, "", &base).expect("the plan holds");
        let unit = book.equipment.first().map(|unit| More::Unit(unit.kinds[0].clone()));
        let more: Vec<More> = unit.into_iter().chain([More::Crew(book.crews[0].id.clone()), More::Truck]).collect();
        // The base, and where jobs are left out each twice: with those that it lets in, and without.
        let (found_base, rows) = worth(&given, &more, &Limits::steps(STEPS * 7)).expect("no fault");
        assert_eq!((found_base.cost, found_base.proven), (base.cost, true), "{seed}");
        for row in rows {
            let mut with = book.clone();
            let mut may_hurt = false;
            match &row.more {
                More::Unit(kind) => {
                    let mut unit =
                        book.equipment.iter().find(|unit| unit.kinds.contains(kind)).expect("a unit").clone();
                    may_hurt = unit.moves == Moves::Towed;
                    unit.id = "another".to_owned();
                    unit.out.clear();
                    with.equipment.push(unit);
                }
                More::Crew(id) => {
                    let mut crew = book.crews.iter().find(|crew| crew.id == *id).expect("a crew").clone();
                    crew.id = "another".to_owned();
                    with.crews.push(crew);
                }
                More::Truck => {
                    let mut truck = book.trucks.iter().max_by_key(|truck| truck.tow_lb).expect("a truck").clone();
                    truck.id = "another".to_owned();
                    truck.crew = None;
                    truck.out.clear();
                    with.trucks.push(truck);
                }
                other => panic!("{other:?}"),
            }
            let_in += u64::from(alone_is_without_the_jobs_left_out(&book, &with, &found_base, &row));
            let with = shop(&with, &[]);
            let best = plan(&with, "", &Limits::steps(STEPS), &mut |_| {});
            assert!(best.proven, "{seed}: {:?}", row.more);
            let saved = base.cost - best.cost;
            assert_eq!((row.least, row.most), (saved, saved), "{seed}: {:?}", row.more);
            assert!(may_hurt || saved >= Cents::ZERO, "{seed}: {:?} {saved}", row.more);
            assert!(saved <= Cents::ZERO || row.when.is_some(), "{seed}: {:?}", row.more);
            assert_eq!(check(&with, &best).costs.total(), best.cost);
            asked += 1;
            saves += u64::from(saved > Cents::ZERO);
            only_then += u64::from(row.only_then);
        }
    }
    assert!(
        asked >= BOOKS * 5 / 2 && saves >= BOOKS / 5 && only_then >= BOOKS / 20 && let_in >= BOOKS / 20,
        "{asked} asked, {saves} save, {only_then} on some dates only, {let_in} let jobs in"
    );
}

/// What is told of a row that lets jobs in is the difference between two proven plans of the books that do not have the jobs
/// that are left out without it; whether it lets any in, and none of the others comes after them.
fn alone_is_without_the_jobs_left_out(book: &Book, with: &Book, base: &Plan, row: &Worth) -> bool {
    let out = |job: &str| base.left_out.iter().any(|row| row.job == job);
    assert!(row.lets_in.iter().all(|job| out(job) && row.plan.steps.iter().any(|step| step.job == *job)));
    let Some(alone) = row.alone else {
        assert!(row.lets_in.is_empty(), "{:?}: {:?}", row.more, row.lets_in);
        return false;
    };
    let cost = |book: &Book| {
        let mut rest = book.clone();
        rest.jobs.retain(|job| !out(&job.id));
        let shop = Shop::again(&rest, horizon(1), 0, Some(&[])).ok()?;
        let best = plan(&shop, "", &Limits::steps(STEPS), &mut |_| {});
        assert!(best.proven, "{:?}", row.more);
        Some(best.cost)
    };
    let Some((without, with)) = cost(book).zip(cost(with)) else { return false };
    assert_eq!((alone.least, alone.most), (without - with, without - with), "{:?}", row.more);
    true
}

#[test]
fn saturday_and_a_clear_day_are_worth_what_they_save() {
    // 12 half-days due on Friday: without Saturday they end on Monday pm, index 15, a date late: 100 + 30.15; with it on
    // Saturday pm, index 11, which is no date that the shop works: 22.11.
    let long = book(json!({
        "book": 1, "shop": { "name": "Test", "time_zone": "America/New_York" },
        "places": [{ "id": "a" }], "crews": [{ "id": "c", "people": 2, "skills": ["s"] }], "trucks": [], "equipment": [],
        "jobs": [{ "id": "x", "place": "a", "due": day(4), "steps": [{ "id": "w", "skill": "s", "half_days": 12 }] }]
    }));
    let saturday = monday() + chrono::Days::new(5);
    assert_eq!(saves(&long, More::Day(saturday)), [(More::Day(saturday), Cents(10_804), true)]);
    // The trailer never goes up the hill: left out at 500. With the road open, or on Monday alone: 20 + 30 minutes.
    let hill = book(json!({
        "book": 1, "shop": { "name": "Test", "time_zone": "America/New_York" },
        "roads": [{ "id": "hill", "no_trailers": ["11-15/04-15"] }],
        "places": [{ "id": "lot" }, { "id": "a", "road": "hill" }], "drives": [{ "from": "lot", "to": "a", "minutes": 20 }],
        "crews": [{ "id": "c", "people": 2, "skills": ["s"] }], "trucks": [{ "id": "t", "tow_lb": 5000 }],
        "equipment": [{ "id": "rig", "kinds": ["rig"], "moves": "towed", "weight_lb": 4000, "place": "lot" }],
        "jobs": [{ "id": "x", "place": "a", "left_out": 500,
            "steps": [{ "id": "w", "skill": "s", "half_days": 1, "needs": [{ "kind": "rig" }] }] }]
    }));
    let road = More::Road("hill".to_owned());
    assert_eq!(saves(&hill, road.clone()), [(road, Cents(45_000), true)]);
    // The job is all that it lets in: without it there is nothing to save.
    let (shop, more) = (Shop::new(&hill, horizon(2)).expect("no fault"), More::Road("hill".to_owned()));
    let base = plan(&shop, "", &Limits::steps(STEPS), &mut |_| {});
    let given = Given::new(&shop, "", &base).expect("the plan holds");
    let (_, rows) = worth(&given, &[more], &Limits::steps(STEPS * 5)).expect("no fault");
    assert_eq!(rows[0].lets_in, ["x"]);
    assert_eq!(rows[0].alone, Some(Alone { least: Cents::ZERO, most: Cents::ZERO }));
    let clear = More::Clear("hill".to_owned(), monday());
    assert_eq!(saves(&hill, clear.clone()), [(clear, Cents(45_000), true)]);
}

#[test]
fn one_more_trailer_that_costs_where_it_stands_is_worth_less_than_nothing() {
    // The first comes at once to the job, where standing is free. The other would cost 20 half-days of 5 at the lot, or one
    // and a haul of 20 + 30 minutes at noon, when the truck is free again.
    let lot = book(json!({
        "book": 1, "shop": { "name": "Test", "time_zone": "America/New_York" },
        "places": [{ "id": "lot", "stand_half_day": 5 }, { "id": "a" }],
        "drives": [{ "from": "lot", "to": "a", "minutes": 20 }],
        "crews": [{ "id": "c", "people": 2, "skills": ["s"] }], "trucks": [{ "id": "t", "tow_lb": 5000 }],
        "equipment": [{ "id": "rig", "kinds": ["rig"], "moves": "towed", "weight_lb": 4000, "place": "lot" }],
        "jobs": [{ "id": "x", "place": "a", "left_out": 500,
            "steps": [{ "id": "w", "skill": "s", "half_days": 1, "needs": [{ "kind": "rig" }] }] }]
    }));
    let rig = More::Unit("rig".to_owned());
    assert_eq!(saves(&lot, rig.clone()), [(rig, Cents(-5_500), true)]);
}

/// What one more saves in two weeks, exactly, and whether it is used.
fn saves(book: &Book, more: More) -> Vec<(More, Cents, bool)> {
    let shop = Shop::new(book, horizon(2)).expect("no fault");
    let plan = plan(&shop, "", &Limits::steps(STEPS), &mut |_| {});
    let given = Given::new(&shop, "", &plan).expect("the plan holds");
    let (_, rows) = worth(&given, &[more], &Limits::steps(STEPS * 4)).expect("no fault");
    let exact = |row: Worth| {
        assert_eq!(row.least, row.most);
        (row.more, row.least, row.when.is_some())
    };
    rows.into_iter().map(exact).collect()
}
