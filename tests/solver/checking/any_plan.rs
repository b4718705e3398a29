//! Whatever a plan holds, the checker judges it: it never panics, and its list is the same each time.

use proptest::prelude::*;
use serde_json::{Value, json};
use yardless_check::fact::{Fact, OfWork};
use yardless_check::{Breach, check};
use yardless_plan::{Plan, Rule};

use crate::forge::{book, job, judge, plan, shop, small_job, step};

fn crowded() -> Value {
    let two = json!([{"id": "w", "skill": "insulation", "labor_hours": 9, "needs": [{"kind": "machine"}], "needs_power": true},
        {"id": "v", "skill": "carpentry", "ways": [{"id": "usual", "half_days": 3}], "after": [{"step": "w", "wait_half_days": 1, "within_half_days": 9}]}]);
    let mut x = job("x", "a", &two);
    x["parked"] = json!([{"kind": "staging"}]);
    let mut z = small_job("z", "b", &json!({}));
    z["earliest"] = json!("2027-03-01");
    let places = json!([{"id": "lot"}, {"id": "a", "trailer_spots": 0, "power_from": "never"}, {"id": "b", "at": [44, -72]}, {"id": "hill", "at": [45, -72], "road": "hill road"}]);
    let weather = json!([{"on": "2026-12-08", "storm": true}, {"on": "2026-12-09 am", "no_travel": true}]);
    book(
        &json!({"places": places, "weather": weather, "jobs": [x, small_job("y", "hill", &json!({"after": ["x/v"]})), z]}),
    )
}

fn any_half_day() -> impl Strategy<Value = String> {
    let near =
        (1_u32..=31, any::<bool>()).prop_map(|(day, pm)| format!("2026-12-{day:02} {}", if pm { "pm" } else { "am" }));
    prop_oneof![8 => near, 1 => Just("1900-01-01 am".to_owned()), 1 => Just("2199-12-31 pm".to_owned())]
}

fn any_of(words: &'static [&'static str]) -> impl Strategy<Value = &'static str> {
    proptest::sample::select(words)
}

fn any_units() -> impl Strategy<Value = Vec<&'static str>> {
    proptest::collection::vec(any_of(&["tr", "st", "m1", "m2", "gen", "", "nobody"]), 0..4)
}

fn any_row() -> impl Strategy<Value = Value> {
    let names = (
        any_of(&["x", "y", "z", "q", ""]),
        any_of(&["w", "v", "x/w", ""]),
        any_of(&["usual", "usual", "other"]),
        any_of(&["north", "south", "nobody"]),
    );
    (names, any_half_day(), any_half_day(), any_units(), 0_u32..3).prop_map(|((job, step, way, crew), start, end, units, span)| {
        json!({"job": job, "step": step, "way": way, "crew": crew, "start": start, "end": end, "units": units, "span": span})
    })
}

fn any_haul() -> impl Strategy<Value = Value> {
    let place = || any_of(&["lot", "a", "b", "hill", "nowhere"]);
    let what = (any_of(&["tr", "st", "m1", "gen", "nobody"]), place(), place(), any_of(&["t1", "t2", "nobody"]));
    (what, any_half_day(), any::<bool>(), 0_u32..200).prop_map(|((unit, from, to, truck), at, evening, minutes)| {
        json!({"unit": unit, "from": from, "to": to, "truck": truck, "at": at, "evening": evening, "minutes": minutes})
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_plan_is_judged(
        rows in proptest::collection::vec(any_row(), 0..8),
        hauls in proptest::collection::vec(any_haul(), 0..8),
        parked in proptest::collection::vec((any_of(&["x", "y", "q"]), any_units()), 0..3),
        listed in proptest::collection::vec(any_of(&["x", "y", "z", "q"]), 0..5),
    ) {
        let parked: Vec<Value> = parked.into_iter().map(|(job, units)| json!({"job": job, "units": units})).collect();
        let listed: Vec<Value> = listed.into_iter().map(|job| json!({ "job": job })).collect();
        let made = plan(&json!({"steps": rows, "hauls": hauls, "parked": parked, "left_out": listed, "later": listed, "cost": 1}));
        let plan: Plan = serde_json::from_value(made).expect("a plan");
        let shop = shop(&crowded());
        let verdict = check(&shop, &plan);
        prop_assert!(verdict.breaches.is_sorted());
        prop_assert_eq!(verdict.breaches, check(&shop, &plan).breaches);
        prop_assert_eq!(verdict.costs, check(&shop, &plan).costs);
    }
}

#[test]
fn giant_lists_are_judged() {
    let row = step("x/w", "north", "7 am", "7 pm", &["m1"; 1000]);
    let rows = vec![row; 1000];
    let verdict = judge(&crowded(), &plan(&json!({"steps": rows, "cost": 0})));
    let twice = |breach: &Breach| breach.rule == Rule::W1 && matches!(breach.fact, Fact::Work(OfWork::Twice { .. }));
    assert!(verdict.breaches.iter().any(twice), "{:?}", verdict.breaches);
}
