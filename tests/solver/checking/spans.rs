//! Rule W10: a step is left and come back to once, by the same crew in the same way.

use serde_json::{Value, json};

use crate::forge::{book, holds, job, judge, plan, refused, step, steps, with};

/// Packing that takes four half-days and a machine, and a test after it; two machines stand there.
fn packing(pack: &Value) -> Value {
    let unit = |id: &str| json!({"id": id, "kinds": ["machine"], "moves": "carried", "place": "a"});
    let pack = with(
        json!({"id": "w", "skill": "insulation", "half_days": 4, "needs": [{"kind": "machine"}], "may_split": true}),
        pack,
    );
    let test = json!({"id": "t", "skill": "insulation", "half_days": 1});
    book(&json!({"equipment": [unit("m1"), unit("m2")], "jobs": [job("x", "a", &json!([pack, test]))]}))
}

fn first(start: &str, end: &str) -> Value {
    step("x/w", "north", start, end, &["m1"])
}

fn second(start: &str, end: &str) -> Value {
    with(step("x/w", "north", start, end, &["m2"]), &json!({"span": 2}))
}

fn test(at: &str) -> Value {
    step("x/t", "north", at, at, &[])
}

#[test]
fn w10_a_step_is_left_for_a_half_day_at_least_and_come_back_to_by_its_crew() {
    let book = packing(&json!({}));
    let plan_of = |a: Value, b: Value| steps(&[a, b, test("11 am")]);
    // The machine may be another one; in one go it is as it was.
    holds(&book, &plan_of(first("7 am", "7 pm"), second("8 pm", "9 am")));
    holds(&book, &steps(&[first("7 am", "8 pm"), test("11 am")]));
    // Monday pm to Tuesday am is no leaving.
    refused("W10", &book, &plan_of(first("7 am", "7 pm"), second("8 am", "8 pm")));
    let south = with(second("8 pm", "9 am"), &json!({"crew": "south"}));
    refused("W10", &book, &plan_of(first("7 am", "7 pm"), south));
    // Nothing is left after four half-days; nothing was begun; there is no third span.
    refused("W10", &book, &plan_of(first("7 am", "8 pm"), second("9 pm", "10 am")));
    refused("W10", &book, &steps(&[second("8 pm", "10 am"), test("11 am")]));
    refused("W10", &book, &steps(&[with(first("7 am", "8 pm"), &json!({"span": 3})), test("11 am")]));
    refused("W10", &packing(&json!({"may_split": false})), &plan_of(first("7 am", "7 pm"), second("8 pm", "9 am")));
}

#[test]
fn w10_each_span_follows_the_rules_of_work_and_holds_its_own_units() {
    let book = packing(&json!({}));
    let plan_of = |b: Value, at: &str| steps(&[first("7 am", "7 pm"), b, test(at)]);
    // Two half-days are left, neither one nor three.
    refused("W3", &book, &plan_of(second("8 pm", "8 pm"), "11 am"));
    refused("W3", &book, &plan_of(second("8 pm", "9 pm"), "11 am"));
    refused("E2", &book, &plan_of(with(second("8 pm", "9 am"), &json!({"units": []})), "11 am"));
    // What comes after waits for the second span; the crew is free in between, and taken again after.
    refused("W6", &book, &plan_of(second("8 pm", "9 am"), "8 am"));
    let dry = packing(&json!({"dry": true}));
    let wet = with(dry, &json!({"weather": [{"on": "2026-12-08 pm", "rain": true}]}));
    refused("W7", &wet, &plan_of(second("8 pm", "9 am"), "11 am"));
    holds(&wet, &plan_of(second("9 am", "9 pm"), "11 am"));
    // A fixed start is that of the first span.
    let fixed = packing(&json!({"fixed": {"start": "2026-12-07 am"}}));
    holds(&fixed, &plan_of(second("8 pm", "9 am"), "11 am"));
    let later = steps(&[first("7 pm", "8 am"), second("9 am", "9 pm"), test("11 am")]);
    refused("W8", &fixed, &later);
}

#[test]
fn c9_coming_back_costs_its_price_and_only_the_second_end_counts() {
    let book = packing(&json!({}));
    let whole = judge(&book, &steps(&[first("7 am", "8 pm"), test("11 am")])).costs;
    let split = judge(&book, &steps(&[first("7 am", "7 pm"), second("8 pm", "9 am"), test("11 am")])).costs;
    // Half-day 4 instead of 3: a cent more.
    assert_eq!((whole.returns.0, split.returns.0, split.waiting.0 - whole.waiting.0), (0, 8000, 1));
    assert_eq!(judge(&book, &plan(&json!({"left_out": [{"job": "x"}]}))).costs.returns.0, 0);
}
