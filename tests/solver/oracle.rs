//! The exhaustive oracle itself: the small cases, and books worked out by hand; and that made-up books are books.

#[path = "../support/mod.rs"]
mod support;

use serde_json::{Value, json};
use yardless_book::half_day::Horizon;
use yardless_book::money::Cents;
use yardless_book::{Job, Step, read};
use yardless_check::check;
use yardless_plan::shop::Shop;
use yardless_plan::write;

use support::exhaustive::{best, best_from};
use support::generate::{Shape, generate};
use support::midway::{midway, midway_with};
use support::planted::{Size, planted};
use support::tiny::{Fields, tiny, tiny_with};
use support::{book, cases, monday};

/// Far more states than any case takes that is not one of the random ones.
const MOST: usize = 500_000;

#[test]
fn oracle_finds_the_best_cost_of_every_case_worked_for_a_rule() {
    let small: Vec<_> = cases::all().into_iter().filter(|case| !case.name.starts_with("random-")).collect();
    assert!(small.len() >= 49);
    for case in small {
        let best = best(&case.book, case.from, case.weeks, MOST).unwrap_or_else(|| panic!("{} is too big", case.name));
        assert_eq!(best.cents, case.best_cents, "{}", case.name);
        assert_eq!(Some(best.draft.hauls.len()), case.hauls, "{}", case.name);
    }
}

#[test]
fn oracle_finds_the_best_cost_of_every_case_of_rescheduling() {
    let counts = cases::counts();
    assert!(counts["history"] >= 21 && counts["overtime"] >= 8 && counts["may_split"] >= 8, "{counts:?}");
    for case in cases::rescheduling().into_iter().chain(cases::splitting()) {
        let best = best_from(&case.book, case.from, case.weeks, case.now, case.kept.as_ref(), MOST);
        let best = best.unwrap_or_else(|| panic!("{} is too big", case.name));
        assert_eq!(best.cents, case.best_cents, "{}", case.name);
        assert_eq!(best.plan["hauls"].as_array().map(Vec::len), case.hauls, "{}", case.name);
        assert_eq!(best.left_out, case.left_out, "{}", case.name);
    }
}

#[test]
fn oracle_finds_the_best_cost_of_every_case_of_waits() {
    let cases = cases::waits();
    assert!(cases.len() >= 14);
    for case in cases {
        let best = best(&case.book, case.from, case.weeks, MOST).unwrap_or_else(|| panic!("{} is too big", case.name));
        assert_eq!((best.cents, &best.left_out), (case.best_cents, &case.left_out), "{}", case.name);
        let later = best.plan["later"].as_array().into_iter().flatten();
        assert_eq!(later.map(|row| row["job"].clone()).collect::<Vec<_>>(), case.later, "{}", case.name);
    }
}

#[test]
fn oracle_finds_the_best_cost_of_every_case_of_equipment() {
    let cases = cases::equipment();
    assert!(cases.len() >= 7);
    for case in cases {
        let best = best(&case.book, case.from, case.weeks, MOST).unwrap_or_else(|| panic!("{} is too big", case.name));
        assert_eq!((best.cents, &best.left_out), (case.best_cents, &case.left_out), "{}", case.name);
    }
}

#[test]
fn oracle_finds_plans_that_the_checker_passes_at_the_same_cost() {
    let first = (200..300).map(|seed| (seed, tiny(seed)));
    let with = |fields| (200..300).map(move |seed| (seed, tiny_with(seed, fields)));
    for (seed, book) in first.chain(with(Fields::Waits)).chain(with(Fields::Equipment)) {
        let Some(best) = best(&book, monday(), 1, 300_000) else { continue };
        let shop = Shop::new(&book, Horizon::new(monday(), 1).expect("a horizon")).expect("a book without fault");
        let mut plan = write(&shop, "", &best.draft, |_| String::new());
        plan.costs = check(&shop, &plan).costs;
        plan.cost = plan.costs.total();
        let verdict = check(&shop, &plan);
        assert!(verdict.holds(), "tiny book {seed}: {:?}", verdict.breaches);
        assert_eq!(plan.cost, Cents(best.cents), "tiny book {seed}");
    }
}

#[test]
fn made_up_books_read_without_fault() {
    let tiny = (0..300).map(tiny);
    let real = (0..20).map(|seed| generate(Shape::new(8, 3, 2), seed)).chain([generate(Shape::new(60, 13, 8), 0)]);
    let planted = (0..5).map(|seed| planted(Size { jobs: 8, weeks: 3, crews: 2 }, seed).book);
    let midway = (0..300).map(|seed| midway(seed, false).book);
    let waits = (0..300).map(|seed| tiny_with(seed, Fields::Waits));
    let waits_midway = (0..300).map(|seed| midway_with(seed, seed % 2 == 1, Fields::Waits).book);
    let equipment = (0..300).map(|seed| tiny_with(seed, Fields::Equipment));
    let equipment_midway = (0..300).map(|seed| midway_with(seed, seed % 2 == 1, Fields::Equipment).book);
    let later = waits.chain(waits_midway).chain(equipment).chain(equipment_midway);
    for made_up in tiny.chain(real).chain(planted).chain(midway).chain(later) {
        let written = read(&serde_json::to_vec(&made_up).expect("JSON")).unwrap_or_else(|faults| panic!("{faults:?}"));
        assert_eq!(written.book, made_up);
    }
}

/// A lot and two sites, a truck that tows two, one crew, and one job of one half-day at site a.
fn yard(units: &Value, needs: &Value) -> Value {
    json!({
        "book": 1,
        "shop": { "name": "Yard", "time_zone": "America/New_York" },
        "places": [{ "id": "lot" }, { "id": "a", "trailer_spots": 1 }, { "id": "b" }],
        "drives": [
            { "from": "lot", "to": "a", "minutes": 40 }, { "from": "a", "to": "b", "minutes": 10 },
            { "from": "b", "to": "lot", "minutes": 45 }
        ],
        "kinds": [{ "id": "generator", "power": true }],
        "crews": [{ "id": "c", "people": 2, "skills": ["work"] }],
        "trucks": [{ "id": "t", "tow_lb": 9000, "tows": 2 }],
        "equipment": units,
        "jobs": [{ "id": "j", "place": "a", "left_out": 1000, "steps": [{ "id": "s", "skill": "work", "half_days": 1, "needs": needs }] }]
    })
}

#[track_caller]
fn costs(json: Value, cents: i64) {
    assert_eq!(best(&book(json), monday(), 1, MOST).expect("a plan").cents, cents);
}

#[test]
fn oracle_lets_a_unit_of_two_kinds_serve_one_need_at_a_time() {
    // The combination stands at a and serves as blower or as generator; the generator must come from the lot besides:
    // 40 + 15 minutes carried at 0.25 are 13.75. The job ends at index 0: no waiting.
    let combination = json!({ "id": "u", "kinds": ["blower", "generator"], "moves": "carried", "place": "a" });
    let generator = json!({ "id": "g", "kinds": ["generator"], "moves": "carried", "place": "lot" });
    costs(yard(&json!([combination, generator]), &json!([{ "kind": "blower" }, { "kind": "generator" }])), 1375);
    costs(yard(&json!([combination, generator]), &json!([{ "kind": "generator" }])), 0);
}

#[test]
fn oracle_clears_a_spot_to_the_nearest_place_even_where_nothing_is_to_do() {
    // E6: the idle trailer makes room by going to b, 10 + 30 minutes, not to the lot, 40 + 30; the other one comes from
    // the lot, 40 + 30: 110 minutes towed at 1.00.
    let idle = json!({ "id": "idle", "kinds": ["other"], "moves": "towed", "place": "a" });
    let wanted = json!({ "id": "wanted", "kinds": ["trailer"], "moves": "towed", "place": "lot" });
    let needs = json!([{ "kind": "trailer" }]);
    costs(yard(&json!([idle, wanted]), &needs), 11_000);
    // With one tow a half-day the idle one leaves first, at index 0 or that evening; the job ends at index 1 at the
    // soonest: 2.00 + 0.01 more.
    let mut one_tow = yard(&json!([idle, wanted]), &needs);
    one_tow["trucks"][0]["tows"] = json!(1);
    costs(one_tow, 11_201);
}

#[test]
fn oracle_leaves_out_what_costs_less_to_leave_out() {
    // The haul alone is 70.00 (40 + 30 minutes); leaving the job out at 69.99 is cheaper, at 70.01 it is not.
    let wanted = json!([{ "id": "wanted", "kinds": ["trailer"], "moves": "towed", "place": "lot" }]);
    let mut json = yard(&wanted, &json!([{ "kind": "trailer" }]));
    json["jobs"][0]["left_out"] = json!(69.99);
    costs(json.clone(), 6999);
    json["jobs"][0]["left_out"] = json!(70.01);
    costs(json, 7000);
}

/// How often the made-up histories show what they are for, so that a comparison on them means something.
#[test]
fn histories_show_what_rescheduling_is_about() {
    let (mut found, mut seen) = (0, [0; 6]);
    for seed in 0..600 {
        let made = midway(seed, seed % 2 == 1);
        let Some(best) = best_from(&made.book, monday(), 1, made.now, Some(&made.kept), 300_000) else { continue };
        found += 1;
        let rows = best.plan["steps"].as_array().expect("rows");
        let started = |job: &Job| job.steps.iter().any(Step::started);
        let ends = |job: &Job| !best.left_out.contains(&job.id);
        let jobs = || made.book.jobs.iter();
        for (n, shows) in [
            jobs().any(|job| started(job) && ends(job) && job.steps.iter().any(|step| step.done.is_none())),
            jobs().any(|job| started(job) && !ends(job)),
            jobs().any(|job| job.steps.iter().all(|step| step.done.is_some())),
            rows.iter().any(|row| row["overtime"] == true),
            rows.iter().any(|row| row["span"] == 2),
            !best.plan["hauls"].as_array().expect("hauls").is_empty(),
        ]
        .into_iter()
        .enumerate()
        {
            seen[n] += usize::from(shows);
        }
    }
    assert!(found >= 560 && seen.iter().all(|n| *n >= 5), "of {found} books: {seen:?}");
}
