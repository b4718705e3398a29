//! Rules W13 and W16: several steps of another firm at once, and stops that share a half-day.

use serde_json::{Value, json};

use crate::forge::{book, breaks, holds, job, judge, refused, small_job, step, steps, with};

/// Jobs x, y, z and v of one step each; `spark` is of another firm.
fn visits(of: &[Value], spark: &Value, stop_minutes: u32) -> Value {
    let shop = json!({"name": "Forge", "time_zone": "America/New_York", "stop_minutes": stop_minutes});
    let crews = json!([{"id": "north", "people": 2, "skills": ["insulation"]}, {"id": "south", "people": 2, "skills": ["insulation"]},
        with(json!({"id": "spark", "people": 1, "skills": ["insulation"], "own": false}), spark)]);
    let jobs: Vec<Value> = of.iter().zip(["x", "y", "z", "v"]).map(|(step, id)| small_job(id, "a", step)).collect();
    book(&json!({"shop": shop, "crews": crews, "jobs": jobs}))
}

fn stop(hours: f64) -> Value {
    json!({"half_days": null, "hours": hours})
}

fn stops(hours: &[f64], stop_minutes: u32) -> Value {
    visits(&hours.iter().map(|hours| stop(*hours)).collect::<Vec<_>>(), &json!({}), stop_minutes)
}

/// Each job in this half-day.
fn all_at(crew: &str, at: &[&str]) -> Value {
    let rows: Vec<Value> =
        at.iter().zip(["x", "y", "z", "v"]).map(|(at, id)| step(&format!("{id}/w"), crew, at, at, &[])).collect();
    steps(&rows)
}

#[test]
fn w16_stops_fit_to_the_minute() {
    // With half an hour each to get there, a half-day of four hours.
    holds(&stops(&[1.5, 1.5], 30), &all_at("north", &["7 am", "7 am"]));
    refused("W16", &stops(&[1.5, 1.52], 30), &all_at("north", &["7 am", "7 am"]));
    holds(&stops(&[1.5, 1.52], 30), &all_at("north", &["7 am", "7 pm"]));
    // With twenty minutes three of an hour each.
    holds(&stops(&[1.0, 1.0, 1.0], 20), &all_at("north", &["7 am", "7 am", "7 am"]));
    refused("W16", &stops(&[1.0, 1.0, 1.02], 20), &all_at("north", &["7 am", "7 am", "7 am"]));
    refused("W16", &stops(&[1.0, 1.0, 1.0], 21), &all_at("north", &["7 am", "7 am", "7 am"]));
    holds(&stops(&[1.0, 1.0, 1.0, 1.0], 0), &all_at("north", &["7 am", "7 am", "7 am", "7 am"]));
    // To a millionth of an hour, and no further.
    holds(&stops(&[2.0, 2.000_000_9], 0), &all_at("north", &["7 am", "7 am"]));
    refused("W16", &stops(&[2.0, 2.000_002], 0), &all_at("north", &["7 am", "7 am"]));
}

#[test]
fn w16_one_stop_always_fits_by_itself() {
    holds(&stops(&[4.0], 30), &all_at("north", &["7 am"]));
    refused("W16", &stops(&[4.0, 0.25], 30), &all_at("north", &["7 am", "7 am"]));
    // Each crew has a half-day of its own.
    let mut plan = all_at("north", &["7 am", "7 am"]);
    plan["steps"][1]["crew"] = json!("south");
    holds(&stops(&[4.0, 0.25], 30), &plan);
}

#[test]
fn w16_a_stop_is_over_in_its_half_day() {
    let one = stops(&[1.0], 30);
    refused("W3", &one, &steps(&[step("x/w", "north", "7 am", "7 pm", &[])]));
    // People, weather and access bind it as they bind a step.
    let dry = visits(&[with(stop(1.0), &json!({"dry": true, "min_people": 2}))], &json!({}), 30);
    let wet = with(dry.clone(), &json!({"weather": [{"on": "2026-12-07 am", "rain": true}]}));
    holds(&dry, &all_at("north", &["7 am"]));
    refused("W7", &wet, &all_at("north", &["7 am"]));
    holds(&wet, &all_at("north", &["7 pm"]));
    refused("W2", &dry, &all_at("spark", &["7 am"]));
}

#[test]
fn w16_a_crew_is_at_a_step_or_at_stops() {
    let mixed = visits(&[json!({"half_days": 2}), stop(0.25)], &json!({}), 0);
    let beside = |at: &str| steps(&[step("x/w", "north", "7 pm", "8 am", &[]), step("y/w", "north", at, at, &[])]);
    for (at, fits) in [("7 am", true), ("7 pm", false), ("8 am", false), ("8 pm", true)] {
        if fits { holds(&mixed, &beside(at)) } else { refused("W16", &mixed, &beside(at)) }
    }
}

#[test]
fn w16_stops_of_one_job_in_their_order_take_a_half_day_each() {
    let two = |after: Value| {
        let of = |id: &str| json!({"id": id, "skill": "insulation", "hours": 0.5});
        let last = with(of("v"), &after);
        let mut book = stops(&[1.0], 30);
        book["jobs"] = json!([job("x", "a", &json!([of("w"), last]))]);
        book
    };
    let same = steps(&[step("x/w", "north", "7 am", "7 am", &[]), step("x/v", "north", "7 am", "7 am", &[])]);
    let next = steps(&[step("x/w", "north", "7 am", "7 am", &[]), step("x/v", "north", "7 pm", "7 pm", &[])]);
    refused("W6", &two(json!({})), &same);
    holds(&two(json!({})), &next);
    holds(&two(json!({"after": []})), &same);
}

#[test]
fn w16_neither_help_nor_leaving_counts_for_a_stop() {
    let helped = visits(&[with(stop(1.0), &json!({"help": 1, "min_people": 3}))], &json!({}), 30);
    let with_south = |row: Value| with(row, &json!({"with": ["south"]}));
    breaks("W11", &helped, &steps(&[with_south(step("x/w", "north", "7 am", "7 am", &[]))]));
    refused("W2", &helped, &all_at("north", &["7 am"]));
    let splits = visits(&[with(stop(2.0), &json!({"may_split": true}))], &json!({}), 30);
    holds(&splits, &all_at("north", &["7 am"]));
    let back = with(step("x/w", "north", "8 am", "8 am", &[]), &json!({"span": 2}));
    breaks("W10", &splits, &steps(&[step("x/w", "north", "7 am", "7 am", &[]), back]));
}

#[test]
fn w16_one_way_may_be_a_stop_and_another_none() {
    let ways = json!([{"id": "look", "hours": 1.0}, {"id": "usual", "half_days": 1}]);
    let mut book = stops(&[1.0, 1.0], 30);
    book["jobs"][0]["steps"] = json!([{"id": "w", "skill": "insulation", "ways": ways}]);
    let by = |way: &str| {
        let mut plan = all_at("north", &["7 am", "7 am"]);
        plan["steps"][0]["way"] = json!(way);
        plan
    };
    holds(&book, &by("look"));
    refused("W16", &book, &by("usual"));
}

#[test]
fn w16_a_unit_is_at_one_place_a_half_day() {
    let mut book = stops(&[0.5, 0.5], 30);
    for (job, place) in [(0, "a"), (1, "b")] {
        book["jobs"][job]["place"] = json!(place);
        book["jobs"][job]["steps"][0]["needs"] = json!([{"kind": "machine"}]);
    }
    book["equipment"][2]["place"] = json!("a");
    book["equipment"][3]["place"] = json!("b");
    let with_ = |first: &str, second: &str| {
        let mut plan = all_at("north", &["7 am", "7 am"]);
        plan["steps"][0]["units"] = json!([first]);
        plan["steps"][1]["units"] = json!([second]);
        plan
    };
    holds(&book, &with_("m1", "m2"));
    breaks("E2", &book, &with_("m1", "m1"));
}

#[test]
fn w13_another_firm_is_at_so_many_steps_and_stops_at_once() {
    let spark = |n: u32| json!({ "at_once": n });
    let none = json!({});
    let steps_of = |n: usize, at_once: &Value| visits(&vec![json!({}); n], at_once, 30);
    let morning = |n: usize| all_at("spark", &vec!["7 am"; n]);
    holds(&steps_of(2, &spark(2)), &morning(2));
    refused("W13", &steps_of(3, &spark(2)), &morning(3));
    holds(&steps_of(3, &spark(3)), &morning(3));
    // One is as not given.
    refused("W4", &steps_of(2, &none), &morning(2));
    refused("W4", &steps_of(2, &spark(1)), &morning(2));
    // A stop counts as a step, and its hours do not.
    let long = [stop(4.0), json!({}), stop(4.0)];
    holds(&visits(&long[..2], &spark(2), 30), &morning(2));
    holds(&visits(&[long[0].clone(), long[2].clone()], &spark(2), 30), &morning(2));
    refused("W13", &visits(&long, &spark(2), 30), &morning(3));
    holds(&visits(&long, &spark(3), 30), &morning(3));
    refused("W13", &visits(&vec![stop(0.1); 4], &spark(3), 0), &morning(4));
    holds(&visits(&vec![stop(0.1); 4], &spark(1), 0), &morning(4));
}

#[test]
fn w13_all_its_people_are_on_each_of_them() {
    let spark = json!({"at_once": 2, "people": 3});
    let of = |n: u32| json!({"min_people": n, "half_days": null, "labor_hours": 24});
    let book = visits(&[of(3), of(3)], &spark, 30);
    let both = |second: (&str, &str)| {
        steps(&[step("x/w", "spark", "7 am", "7 pm", &[]), step("y/w", "spark", second.0, second.1, &[])])
    };
    holds(&book, &both(("7 am", "7 pm")));
    holds(&book, &both(("7 pm", "8 am")));
    refused("W3", &book, &both(("7 am", "8 am")));
    // Each half-day by itself: three meet on Monday pm alone.
    let three = visits(&[of(1), of(1), of(1)], &spark, 30);
    let plan = |third: (&str, &str)| {
        let mut plan = both(("7 pm", "8 am"));
        plan["steps"].as_array_mut().expect("rows").push(step("z/w", "spark", third.0, third.1, &[]));
        plan
    };
    refused("W13", &three, &plan(("7 pm", "8 am")));
    holds(&three, &plan(("8 am", "8 pm")));
}

#[test]
fn c8_counts_a_crew_once_in_a_half_day_of_overtime() {
    let over = |of: &[Value], spark: &Value| {
        let mut book = visits(of, spark, 30);
        book["shop"]["overtime_days"] = json!(["sat"]);
        book
    };
    let rows = |crew: &str, at: &[&str]| {
        let mut plan = all_at(crew, at);
        for row in plan["steps"].as_array_mut().expect("rows") {
            row["overtime"] = json!(true);
        }
        plan
    };
    let cost = |book: &Value, plan: &Value| judge(book, plan).costs.overtime.to_string();
    let two = over(&[stop(1.0), stop(1.0)], &json!({"at_once": 2}));
    for crew in ["north", "spark"] {
        holds(&two, &rows(crew, &["12 am", "12 am"]));
        assert_eq!(cost(&two, &rows(crew, &["12 am", "12 am"])), "240.00");
        assert_eq!(cost(&two, &rows(crew, &["12 am", "12 pm"])), "480.00");
    }
    let at_once = over(&[json!({}), json!({})], &json!({"at_once": 2}));
    assert_eq!(cost(&at_once, &rows("spark", &["12 am", "12 am"])), "240.00");
}
