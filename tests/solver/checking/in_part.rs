//! Rule W12, and E7 and C1 of jobs planned in part.

use serde_json::{Value, json};

use crate::forge::{book, haul, holds, job, judge, plan, refused, step, with};

/// Job x, which may be planned in part, at a: `blow` at any time, and `look`, which `look` says more of.
fn visits(look: &Value) -> Value {
    let blow = json!({"id": "blow", "skill": "insulation", "half_days": 1});
    let look = with(json!({"id": "look", "skill": "insulation", "half_days": 1}), look);
    book(&json!({"jobs": [with(job("x", "a", &json!([blow, look])), &json!({"in_part": true}))]}))
}

/// `look` is expected to be possible after the two weeks.
fn beyond() -> Value {
    visits(&json!({"earliest": "2026-12-21"}))
}

fn blow(at: &str) -> Value {
    step("x/blow", "north", at, at, &[])
}

/// Steps done, and steps of x listed as later.
fn part(rows: &[Value], later: &[&str]) -> Value {
    plan(&json!({"steps": rows, "later": [{"job": "x", "steps": later}]}))
}

#[test]
fn w12_what_cannot_end_in_these_weeks_is_listed_and_the_rest_done() {
    holds(&beyond(), &part(&[blow("7 am")], &["look"]));
    // Not listed, or not rightly; left out whole, it is not listed so.
    refused("W12", &beyond(), &plan(&json!({"steps": [blow("7 am")]})));
    refused("W12", &beyond(), &part(&[blow("7 am")], &["look", "blow"]));
    holds(&beyond(), &plan(&json!({"left_out": [{"job": "x"}]})));
    refused("W1", &beyond(), &plan(&json!({"later": [{"job": "x"}]})));
    let both = json!({"left_out": [{"job": "x"}], "later": [{"job": "x", "steps": ["look"]}]});
    let rules: Vec<&str> = judge(&beyond(), &plan(&both)).breaches.iter().map(|of| of.rule.text()).collect();
    assert_eq!(rules, ["W1", "W12"]);
    // One that may not be planned in part is left out or done whole.
    let whole = with(beyond(), &json!({"jobs": [with(beyond()["jobs"][0].clone(), &json!({"in_part": false}))]}));
    let verdict = judge(&whole, &part(&[blow("7 am")], &["look"]));
    let rules: Vec<&str> = verdict.breaches.iter().map(|breach| breach.rule.text()).collect();
    assert_eq!(rules, ["W1", "W12"], "{:?}", verdict.breaches);
    holds(&whole, &plan(&json!({"left_out": [{"job": "x"}]})));
}

#[test]
fn w12_a_step_is_later_by_its_soonest_end_alone() {
    // On the last working half-day, Friday 18 pm, it is not later; taking two half-days from then on it is.
    let on = |date: &str, half_days: u32| visits(&json!({"earliest": date, "half_days": half_days}));
    let look = |start: &str, end: &str| step("x/look", "north", start, end, &[]);
    let done = |end: &str| plan(&json!({"steps": [blow("7 am"), look("18 am", end)]}));
    holds(&on("2026-12-18", 2), &done("18 pm"));
    refused("W12", &on("2026-12-18", 2), &part(&[blow("7 am")], &["look"]));
    holds(&on("2026-12-18", 3), &part(&[blow("7 am")], &["look"]));
    // Planned all the same, it breaks the rule whatever else it breaks.
    let verdict = judge(&on("2026-12-18", 3), &done("18 pm"));
    assert!(verdict.breaches.iter().any(|breach| breach.rule.text() == "W12"), "{:?}", verdict.breaches);
    // Crowded out is not later: the crew is on another job.
    let mut crowded = on("2026-12-18", 2);
    crowded["jobs"].as_array_mut().expect("jobs").push(job(
        "y",
        "b",
        &json!([
            {"id": "w", "skill": "insulation", "half_days": 2, "earliest": "2026-12-18"}
        ]),
    ));
    crowded["crews"] = json!([{"id": "north", "people": 2, "skills": ["insulation"]}]);
    crowded["trucks"] = json!([{"id": "t1"}]);
    let y = step("y/w", "north", "18 am", "18 pm", &[]);
    refused("W12", &crowded, &part(&[blow("7 am"), y.clone()], &["look"]));
    holds(&crowded, &plan(&json!({"steps": [y], "left_out": [{"job": "x"}]})));
}

#[test]
fn w12_what_no_date_would_do_leaves_the_job_out() {
    let left = plan(&json!({"left_out": [{"job": "x"}]}));
    for at_no_date in
        [json!({"min_people": 3}), json!({"needs": [{"kind": "machine", "count": 2}, {"kind": "machine"}]})]
    {
        refused("W12", &visits(&at_no_date), &part(&[blow("7 am")], &["look"]));
        holds(&visits(&at_no_date), &left);
    }
    // Two people who are away for the two weeks will be back; so will a machine that is out.
    let mut away = visits(&json!({"min_people": 2}));
    away["crews"] =
        json!([{"id": "north", "people": 2, "skills": ["insulation"], "away": [{"on": "2026-12-08/", "people": 1}]}]);
    away["trucks"] = json!([{"id": "t1"}]);
    away["jobs"][0]["steps"][1]["earliest"] = json!("2026-12-08");
    holds(&away, &part(&[blow("7 am")], &["look"]));
}

#[test]
fn w12_a_later_step_keeps_back_what_it_must_follow_closely() {
    let close = |within: Value| {
        let link = with(json!({"step": "blow"}), &within);
        visits(&json!({"earliest": "2026-12-21", "after": [link]}))
    };
    holds(&close(json!({})), &part(&[blow("7 am")], &["look"]));
    let close = close(json!({"within_half_days": 4}));
    let verdict = judge(&close, &part(&[blow("7 am")], &["look"]));
    let rules: Vec<&str> = verdict.breaches.iter().map(|breach| breach.rule.text()).collect();
    assert_eq!(rules, ["W1", "W12"], "{:?}", verdict.breaches);
    // Then all of it is later.
    holds(&close, &plan(&json!({"later": [{"job": "x"}]})));
    refused("W12", &close, &part(&[], &["look"]));
}

#[test]
fn w6_after_a_later_step_of_another_job_nothing_is_done() {
    let after = |in_part: bool| {
        let mut book = beyond();
        let w = json!({"id": "w", "skill": "insulation", "half_days": 1});
        let hook = json!({"id": "hook", "skill": "insulation", "half_days": 1, "after": ["x/look"]});
        let y = with(job("y", "b", &json!([w, hook])), &json!({ "in_part": in_part }));
        book["jobs"].as_array_mut().expect("jobs").push(y);
        book
    };
    let (w, hook) = (step("y/w", "south", "7 am", "7 am", &[]), step("y/hook", "south", "8 am", "8 am", &[]));
    let x = json!({"job": "x", "steps": ["look"]});
    let y = json!({"job": "y", "steps": ["hook"]});
    holds(&after(true), &plan(&json!({"steps": [blow("7 am"), w], "later": [x, y]})));
    holds(&after(false), &plan(&json!({"steps": [blow("7 am")], "left_out": [{"job": "y"}], "later": [x]})));
    refused("W6", &after(false), &plan(&json!({"steps": [blow("7 am"), w, hook], "later": [x]})));
    // A job left out does not take a later step's job with it.
    holds(&after(true), &plan(&json!({"steps": [w], "left_out": [{"job": "x"}], "later": [y]})));
}

#[test]
fn c1_counts_no_due_of_a_job_in_part_but_those_of_its_steps() {
    let late = |due: Value, of_step: Value| {
        let mut book = beyond();
        book["jobs"][0]["due"] = due;
        book["jobs"][0]["steps"][0]["due"] = of_step;
        judge(&book, &part(&[blow("9 am")], &["look"])).costs.late.to_string()
    };
    let date = json!("2026-12-07");
    assert_eq!(late(date.clone(), json!("2026-12-20")), "0.00");
    assert_eq!(late(json!("2026-12-20"), date), "200.00");
}

/// Staging parked at x, whose `look` is later; it stands at the lot and is `out`.
fn staging(out: &Value) -> Value {
    let mut book = beyond();
    book["jobs"][0]["parked"] = json!([{"kind": "staging"}]);
    book["equipment"][1]["out"] = out.clone();
    book
}

fn parked(hauls: &[Value], start: &str) -> Value {
    with(part(&[blow(start)], &["look"]), &json!({"parked": [{"job": "x", "units": ["st"]}], "hauls": hauls}))
}

#[test]
fn e7_what_is_parked_at_a_job_in_part_stays_to_the_end() {
    let there = haul("st", "lot", "a", "7 am", "t1");
    holds(&staging(&json!([])), &parked(std::slice::from_ref(&there), "7 am"));
    for back in ["8 am", "18 pm"] {
        refused("E3", &staging(&json!([])), &parked(&[there.clone(), haul("st", "a", "lot", back, "t1")], "7 am"));
    }
    // Out once the planned part is over it rests, and stays; out before that it is held in vain.
    let out = staging(&json!(["2026-12-09/2026-12-10"]));
    holds(&out, &parked(std::slice::from_ref(&there), "8 pm"));
    refused("E4", &out, &parked(std::slice::from_ref(&there), "9 am"));
    refused("E3", &out, &parked(&[there.clone(), haul("st", "a", "lot", "8 pm evening", "t1")], "7 am"));
    // Without the later step it is let go with the job's end.
    let mut whole = staging(&json!([]));
    whole["jobs"][0]["steps"] = json!([whole["jobs"][0]["steps"][0]]);
    let plan = plan(&json!({"steps": [blow("7 am")], "parked": [{"job": "x", "units": ["st"]}],
        "hauls": [there, haul("st", "a", "lot", "8 am", "t1")]}));
    holds(&whole, &plan);
}

#[test]
fn e7_what_a_later_step_begins_is_not_held_and_what_it_ends_stays() {
    let parking = |need: Value| {
        let mut book = staging(&json!([]));
        book["jobs"][0]["parked"] = json!([with(json!({"kind": "staging"}), &need)]);
        book
    };
    let there = haul("st", "lot", "a", "7 am", "t1");
    let stays = parked(std::slice::from_ref(&there), "7 am");
    let goes = parked(&[there, haul("st", "a", "lot", "8 am", "t1")], "7 am");
    for need in [json!({"to": "look"}), json!({"from": "blow", "to": "look"}), json!({"from": "blow"})] {
        holds(&parking(need.clone()), &stays);
        refused("E3", &parking(need), &goes);
    }
    // To a step that is planned it is held as in any job.
    for need in [json!({"to": "blow"}), json!({"from": "blow", "to": "blow"})] {
        holds(&parking(need), &goes);
    }
    let none = parking(json!({"from": "look"}));
    holds(&none, &part(&[blow("7 am")], &["look"]));
    refused("E3", &none, &stays);
}
