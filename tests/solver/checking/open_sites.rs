//! Rule C16: what open sites cost.

use serde_json::{Value, json};

use crate::forge::{book, holds, job, judge, plan, refused, step, steps, with};

/// A site with two steps in any order, at 15 a half-day.
fn site(parts: &Value) -> Value {
    let work = |id: &str, skill: &str| json!({"id": id, "skill": skill, "half_days": 1, "after": []});
    let jobs = json!([job("x", "a", &json!([work("seal", "insulation"), work("vent", "carpentry")]))]);
    with(book(&json!({"prices": {"open_half_day": 15}, "jobs": jobs})), parts)
}

fn seal_and_vent(seal: &str, vent: &str) -> Value {
    steps(&[step("x/seal", "north", seal, seal, &[]), step("x/vent", "south", vent, vent, &[])])
}

#[test]
fn c16_counts_worked_half_days_from_the_earliest_start_to_the_latest_end() {
    let open = |parts: Value, seal: &str, vent: &str| {
        let (book, plan) = (site(&parts), seal_and_vent(seal, vent));
        holds(&book, &plan);
        judge(&book, &plan).costs.open.to_string()
    };
    assert_eq!(open(json!({}), "8 am", "8 am"), "15.00");
    assert_eq!(open(json!({}), "8 am", "9 pm"), "60.00");
    // Whichever comes first; over a weekend, and over a day off.
    assert_eq!(open(json!({}), "14 am", "11 pm"), "30.00");
    let shop = json!({"name": "Forge", "time_zone": "America/New_York", "closed": ["2026-12-09 pm", "2026-12-10"]});
    assert_eq!(open(json!({ "shop": shop }), "9 am", "11 am"), "30.00");
    assert_eq!(open(json!({"prices": {}}), "8 am", "9 pm"), "0.00");
}

#[test]
fn c16_is_nothing_of_a_job_left_out_and_what_the_plan_says_of_others() {
    let out = judge(&site(&json!({})), &plan(&json!({"left_out": [{"job": "x"}]})));
    assert_eq!(out.costs.open.to_string(), "0.00");
    // 150 of a second crew; ends at 2 and 5: 10 of waiting and 7 cents; four half-days.
    let said = |open: i64| {
        let costs = json!({"crews": 150, "waiting": 10.07, "open": open});
        with(seal_and_vent("8 am", "9 pm"), &json!({"cost": 220.07, "costs": costs}))
    };
    holds(&site(&json!({})), &said(60));
    refused("C16", &site(&json!({})), &said(45));
}
