//! Which rows of a plan a breach is about: what a sheet marks. The others stand as they are.

use serde_json::{Value, json};
use yardless_check::check;
use yardless_check::fact::Touched;
use yardless_plan::Plan;

use crate::forge::{book, haul, job, plan, shop, small_job, step, with};

/// The rows that the breaches of a plan touch: steps as `job/step`, the second span as `job/step 2`, hauls as
/// `unit 2026-12-07 am`.
fn marked(book: &Value, plan: &Value) -> Vec<String> {
    let shop = shop(book);
    let plan: Plan = serde_json::from_value(with(plan.clone(), &json!({ "cost": 0 }))).expect("a plan");
    let mut breaches = check(&shop, &plan).breaches;
    breaches.retain(|breach| !breach.of_cost());
    assert!(!breaches.is_empty(), "nothing breaks");
    let touched = Touched::by(breaches.iter().map(|breach| &breach.fact), &shop, &plan);
    let span = |n: &u32| if *n == 2 { " 2" } else { "" };
    let steps = touched.steps.iter().map(|(job, step, n)| format!("{job}/{step}{}", span(n)));
    let hauls = touched
        .hauls
        .iter()
        .map(|(unit, at, evening)| format!("{unit} {at}{}", if *evening { " evening" } else { "" }));
    steps.chain(hauls).collect()
}

/// Two small jobs at `a` and `b`; the first may have more to its step.
fn two(first: &Value) -> Value {
    book(&json!({ "jobs": [small_job("x", "a", first), small_job("y", "b", &json!({}))] }))
}

#[test]
fn storm_on_one_step_marks_that_step_alone() {
    let mut book = two(&json!({ "outside": true }));
    book["weather"] = json!([{ "on": "2026-12-07", "storm": true }]);
    let rows =
        json!({ "steps": [step("x/w", "north", "7 am", "7 am", &[]), step("y/w", "south", "7 am", "7 am", &[])] });
    assert_eq!(marked(&book, &plan(&rows)), ["x/w"]);
}

#[test]
fn two_steps_at_once_are_both_marked_and_a_third_is_not() {
    let book = book(
        &json!({ "jobs": [small_job("x", "a", &json!({})), small_job("y", "b", &json!({})), small_job("z", "b", &json!({}))] }),
    );
    let rows = ["x/w 7 am", "y/w 7 am", "z/w 7 pm"].map(|row| {
        let (name, at) = row.split_once(' ').expect("a half-day");
        step(name, "north", at, at, &[])
    });
    assert_eq!(marked(&book, &plan(&json!({ "steps": rows }))), ["x/w", "y/w"]);
}

#[test]
fn closed_road_marks_the_haul_and_not_the_unit_s_others() {
    let x = small_job("x", "hill", &json!({ "needs": [{ "kind": "trailer" }] }));
    let book = book(&json!({ "jobs": [x] }));
    let hauls = [haul("tr", "lot", "a", "7 am", "t1"), haul("tr", "a", "hill", "8 am", "t1")];
    // No drive from a to the hill either: told of the same haul.
    let rows = json!({ "steps": [step("x/w", "north", "9 am", "9 am", &["tr"])], "hauls": hauls });
    assert_eq!(marked(&book, &plan(&rows)), ["tr 2026-12-08 am"]);
}

#[test]
fn unit_that_stands_elsewhere_marks_the_step_that_holds_it() {
    let mut book = two(&json!({ "needs": [{ "kind": "trailer" }] }));
    book["jobs"][1]["steps"][0]["needs"] = json!([{ "kind": "staging" }]);
    let hauls = [haul("st", "lot", "b", "7 am", "t2")];
    let rows = [step("x/w", "north", "8 am", "8 am", &["tr"]), step("y/w", "south", "8 am", "8 am", &["st"])];
    assert_eq!(marked(&book, &plan(&json!({ "steps": rows, "hauls": hauls }))), ["x/w"]);
}

#[test]
fn one_haul_too_many_marks_the_truck_s_hauls_of_that_half_day() {
    let book = book(&json!({}));
    // One trailer a half-day behind a truck; the machine goes by the other truck, the last haul is another day's.
    let hauls = [
        haul("tr", "lot", "a", "7 am", "t1"),
        haul("st", "lot", "b", "7 am", "t1"),
        haul("m1", "lot", "b", "7 am", "t2"),
        haul("tr", "a", "b", "8 am", "t1"),
    ];
    assert_eq!(marked(&book, &plan(&json!({ "hauls": hauls }))), ["st 2026-12-07 am", "tr 2026-12-07 am"]);
}

#[test]
fn job_that_lacks_a_step_marks_the_rows_that_it_has() {
    let whole = job(
        "x",
        "a",
        &json!([
            { "id": "v", "skill": "insulation", "half_days": 1 },
            { "id": "w", "skill": "insulation", "half_days": 1 }
        ]),
    );
    let book = book(&json!({ "jobs": [whole, small_job("y", "b", &json!({}))] }));
    let rows =
        json!({ "steps": [step("x/w", "north", "7 pm", "7 pm", &[]), step("y/w", "south", "7 am", "7 am", &[])] });
    assert_eq!(marked(&book, &plan(&rows)), ["x/w"]);
}

#[test]
fn span_that_breaks_is_marked_and_not_the_other_of_its_step() {
    let x = small_job("x", "a", &json!({ "half_days": 2, "may_split": true, "outside": true }));
    let mut book = book(&json!({ "jobs": [x] }));
    book["weather"] = json!([{ "on": "2026-12-09 am", "storm": true }]);
    let second = with(step("x/w", "north", "9 am", "9 am", &[]), &json!({ "span": 2 }));
    let rows = json!({ "steps": [step("x/w", "north", "7 am", "7 am", &[]), second] });
    assert_eq!(marked(&book, &plan(&rows)), ["x/w 2"]);
}

#[test]
fn what_the_book_no_longer_has_marks_the_rows_that_name_it_and_the_cost_marks_none() {
    let book = two(&json!({}));
    let rows = [step("x/w", "gone", "7 am", "7 am", &[]), step("y/w", "south", "7 am", "7 am", &[])];
    let found = marked(&book, &plan(&json!({ "steps": rows, "hauls": [haul("m1", "lot", "a", "7 am", "lost")] })));
    assert!(found.contains(&"x/w".to_owned()) && found.contains(&"m1 2026-12-07 am".to_owned()), "{found:?}");
    assert!(!found.contains(&"y/w".to_owned()), "{found:?}");
    let shop = shop(&book);
    let rows = [step("x/w", "north", "7 am", "7 am", &[]), step("y/w", "south", "7 am", "7 am", &[])];
    let dear: Plan =
        serde_json::from_value(with(plan(&json!({ "steps": rows })), &json!({ "cost": 99_999 }))).expect("a plan");
    let breaches = check(&shop, &dear).breaches;
    assert!(!breaches.is_empty() && breaches.iter().all(yardless_check::Breach::of_cost));
    assert_eq!(Touched::by(breaches.iter().map(|of| &of.fact), &shop, &dear), Touched::default());
}
