//! Rules W1 to W8, and T1 to T3 through them.

use serde_json::json;

use crate::forge::{book, first_at, holds, job, plan, refused, small_job, step, steps, with};

#[test]
fn w1_a_job_is_done_whole_or_listed_once() {
    let two = job(
        "x",
        "a",
        &json!([{"id": "w", "skill": "insulation", "half_days": 1}, {"id": "v", "skill": "insulation", "half_days": 1}]),
    );
    let later = with(small_job("z", "a", &json!({})), &json!({"earliest": "2026-12-21"}));
    let book = book(&json!({"jobs": [two, later]}));
    let (w, v) = (step("x/w", "north", "7 am", "7 am", &[]), step("x/v", "north", "7 pm", "7 pm", &[]));
    let made = |rows: &[serde_json::Value], left_out: serde_json::Value, later: serde_json::Value| {
        plan(&json!({"steps": rows, "left_out": left_out, "later": later}))
    };
    let (x, z) = (json!([{"job": "x"}]), json!([{"job": "z"}]));
    holds(&book, &made(&[w.clone(), v.clone()], json!([]), z.clone()));
    holds(&book, &made(&[], x.clone(), z.clone()));
    let step_missing = made(std::slice::from_ref(&w), json!([]), z.clone());
    let done_and_left_out = made(&[w.clone(), v.clone()], x.clone(), z.clone());
    let step_twice = made(&[w.clone(), v.clone(), w.clone()], json!([]), z.clone());
    let omitted = made(&[], json!([]), z.clone());
    let listed_twice = made(&[], json!([{"job": "x"}, {"job": "x"}]), z.clone());
    let not_later = made(&[], json!([]), json!([{"job": "x"}, {"job": "z"}]));
    let later_omitted = made(&[], x.clone(), json!([]));
    let later_left_out = made(&[], json!([{"job": "x"}, {"job": "z"}]), json!([]));
    for forged in
        [step_missing, done_and_left_out, step_twice, omitted, listed_twice, not_later, later_omitted, later_left_out]
    {
        refused("W1", &book, &forged);
    }
}

#[test]
fn w1_earliest_on_the_last_date_is_not_later() {
    let on = |date: &str| book(&json!({"jobs": [with(small_job("x", "a", &json!({})), &json!({"earliest": date}))]}));
    let later = plan(&json!({"later": [{"job": "x"}]}));
    holds(&on("2026-12-21"), &later);
    refused("W1", &on("2026-12-20"), &later);
}

#[test]
fn w2_takes_people_access_and_a_shop_that_works() {
    let x = |more: serde_json::Value| json!([with(small_job("x", "a", &json!({})), &more)]);
    let crew =
        |more: serde_json::Value| json!([with(json!({"id": "north", "people": 2, "skills": ["insulation"]}), &more)]);
    let alone = |crew: serde_json::Value| {
        let trucks = json!([{"id": "t1", "crew": "north", "tow_lb": 14000}]);
        book(&json!({"crews": crew, "trucks": trucks, "jobs": x(json!({}))}))
    };
    // T1: the shop works a half-day on a work day that is not closed.
    let closed = json!({"name": "Forge", "time_zone": "America/New_York", "closed": ["2026-12-07/2026-12-08 am"]});
    first_at(&book(&json!({"shop": closed, "jobs": x(json!({}))})), "W2", "8 am", "8 pm");
    first_at(&book(&json!({"jobs": x(json!({}))})), "W2", "13 pm", "14 am");
    // T2: away without a number is all; entries add up (1 + 1 of 2), and never below 0 (2 + 1 of 2, then one comes back).
    first_at(&alone(crew(json!({"away": [{"on": "2026-12-07"}]}))), "W2", "7 pm", "8 am");
    first_at(
        &alone(crew(
            json!({"away": [{"on": "2026-12-07/2026-12-08 am", "people": 1}, {"on": "2026-12-08", "people": 1}]}),
        )),
        "W2",
        "8 am",
        "8 pm",
    );
    first_at(&alone(crew(json!({"only": ["2026-12-08 pm", "2026-12-10"]}))), "W2", "9 am", "8 pm");
    // W2: access from the half-day after no_access, and from the am of `earliest`, for the job and for the step.
    for field in [json!({"no_access": ["2026-12-07/2026-12-08 am"]}), json!({"no_access": ["2026-12-08 am"]})] {
        first_at(&book(&json!({"jobs": x(field.clone())})), "W2", "8 am", "8 pm");
        first_at(&book(&json!({"jobs": [small_job("x", "a", &field)]})), "W2", "8 am", "8 pm");
    }
    first_at(&book(&json!({"jobs": x(json!({"earliest": "2026-12-09"}))})), "W2", "8 pm", "9 am");
    first_at(&book(&json!({"jobs": [small_job("x", "a", &json!({"earliest": "2026-12-09"}))]})), "W2", "8 pm", "9 am");
}

#[test]
fn w2_min_people_is_the_ways_before_the_steps() {
    let crews = json!([{"id": "north", "people": 3, "skills": ["insulation"], "away": [{"on": "2026-12-07", "people": 1}]},
        {"id": "south", "people": 1, "skills": ["insulation"]}]);
    let of_step = small_job("x", "a", &json!({"min_people": 3}));
    first_at(&book(&json!({"crews": crews, "jobs": [of_step]})), "W2", "7 pm", "8 am");
    // The way `few` takes 2 though the step says 3: two are there on Monday.
    let steps_json = json!([{"id": "w", "skill": "insulation", "min_people": 3, "ways": [{"id": "few", "half_days": 1, "min_people": 2}, {"id": "own", "half_days": 1}]}]);
    let by_ways = book(&json!({"crews": crews, "jobs": [job("x", "a", &steps_json)]}));
    let row = |way: &str| steps(&[with(step("x/w", "north", "7 am", "7 am", &[]), &json!({"way": way}))]);
    holds(&by_ways, &row("few"));
    refused("W2", &by_ways, &row("own"));
}

#[test]
fn w3_works_every_workable_half_day_until_done() {
    let no_access = small_job("x", "a", &json!({"half_days": 3, "no_access": ["2026-12-07 pm"]}));
    let book = book(&json!({"jobs": [no_access]}));
    let row = |start: &str, end: &str| steps(&[step("x/w", "north", start, end, &[])]);
    // Monday am, Tuesday am and pm: the pause on Monday pm does not count.
    holds(&book, &row("7 am", "8 pm"));
    refused("W3", &book, &row("7 am", "8 am"));
    refused("W3", &book, &row("7 am", "9 am"));
    // Over the weekend: Friday am, pm, Monday am.
    holds(&book, &row("11 am", "14 am"));
    // The last three half-days of the horizon that are worked; one later it cannot end.
    holds(&book, &row("17 pm", "18 pm"));
    refused("W3", &book, &row("18 am", "21 am"));
    refused("W3", &book, &row("9 pm", "9 am"));
}

#[test]
fn w3_labor_hours_are_done_by_the_people_present() {
    let row = |end: &str| steps(&[step("x/w", "north", "7 am", end, &[])]);
    let hours = |step: serde_json::Value| {
        let crews = json!([{"id": "north", "people": 3, "skills": ["insulation"], "away": [{"on": "2026-12-07 am", "people": 2}]}, {"id": "south", "people": 1, "skills": ["insulation"]}]);
        let x = json!([with(json!({"id": "w", "skill": "insulation"}), &step)]);
        book(&json!({"crews": crews, "jobs": [job("x", "a", &x)]}))
    };
    // One person, then three: 4 hours, then 12.
    for (labor, end, too_soon) in
        [(4.0, "7 am", None), (4.1, "7 pm", Some("7 am")), (16.0, "7 pm", Some("7 am")), (16.1, "8 am", Some("7 pm"))]
    {
        let book = hours(json!({"labor_hours": labor}));
        holds(&book, &row(end));
        if let Some(too_soon) = too_soon {
            refused("W3", &book, &row(too_soon));
        }
    }
    // At most two count: 4 + 8 + 8.
    holds(&hours(json!({"labor_hours": 12, "max_people": 2})), &row("7 pm"));
    refused("W3", &hours(json!({"labor_hours": 13, "max_people": 2})), &row("7 pm"));
}

#[test]
fn w4_a_crew_is_at_one_step_and_free_in_its_pauses() {
    let outside = small_job("x", "a", &json!({"half_days": 2, "outside": true}));
    let weather = json!([{"on": "2026-12-07 pm", "storm": true}]);
    let book = book(&json!({"jobs": [outside, small_job("y", "b", &json!({}))], "weather": weather}));
    let both = |crew: &str, y: &str| steps(&[step("x/w", "north", "7 am", "8 am", &[]), step("y/w", crew, y, y, &[])]);
    holds(&book, &both("north", "7 pm"));
    refused("W4", &book, &both("north", "7 am"));
    refused("W4", &book, &both("north", "8 am"));
    holds(&book, &both("south", "8 am"));
}

#[test]
fn w5_the_crew_has_the_skill() {
    let book = book(&json!({"jobs": [small_job("x", "a", &json!({"skill": "carpentry"}))]}));
    holds(&book, &steps(&[step("x/w", "south", "7 am", "7 am", &[])]));
    refused("W5", &book, &steps(&[step("x/w", "north", "7 am", "7 am", &[])]));
}

#[test]
fn w6_counts_every_half_day_from_the_one_after_the_end() {
    let after = |link: serde_json::Value| {
        let two = json!([{"id": "w", "skill": "insulation", "half_days": 1}, with(json!({"id": "v", "skill": "insulation", "half_days": 1}), &link)]);
        book(&json!({"jobs": [job("x", "a", &two)]}))
    };
    let both = |w: &str, v: &str| steps(&[step("x/w", "north", w, w, &[]), step("x/v", "south", v, v, &[])]);
    // Without `after`: after the step listed before.
    holds(&after(json!({})), &both("7 am", "7 pm"));
    refused("W6", &after(json!({})), &both("7 am", "7 am"));
    holds(&after(json!({"after": []})), &both("8 am", "7 am"));
    // Friday pm is index 9; 9 + 1 + 4 = 14 is Monday am: the weekend counts. 5 is one more than passes by then.
    let wait = |n: u32| after(json!({"after": [{"step": "w", "wait_half_days": n}]}));
    holds(&wait(4), &both("11 pm", "14 am"));
    refused("W6", &wait(5), &both("11 pm", "14 am"));
    let within = |n: u32| after(json!({"after": [{"step": "w", "within_half_days": n}]}));
    holds(&within(4), &both("11 pm", "14 am"));
    refused("W6", &within(3), &both("11 pm", "14 am"));
}

#[test]
fn w6_another_jobs_step_must_be_done_too() {
    let book =
        book(&json!({"jobs": [small_job("x", "a", &json!({})), small_job("y", "b", &json!({"after": ["x/w"]}))]}));
    let y = |at: &str| step("y/w", "south", at, at, &[]);
    holds(&book, &steps(&[step("x/w", "north", "7 am", "7 am", &[]), y("7 pm")]));
    refused("W6", &book, &steps(&[step("x/w", "north", "7 am", "7 am", &[]), y("7 am")]));
    refused("W6", &book, &plan(&json!({"steps": [y("7 pm")], "left_out": [{"job": "x"}]})));
}

#[test]
fn w7_weather_stops_a_step_beyond_its_limits_only() {
    let in_weather = |step: serde_json::Value, weather: serde_json::Value| {
        let weather = json!([with(json!({"on": "2026-12-07 am", "at": ["a"]}), &weather)]);
        book(&json!({"jobs": [small_job("x", "a", &step)], "weather": weather}))
    };
    let monday = steps(&[step("x/w", "north", "7 am", "7 am", &[])]);
    for (limit, stops, passes) in [
        (
            json!({"outside": true}),
            json!({"storm": true}),
            json!({"rain": true, "gust_mph": 60, "low_f": -10, "roads": "covered"}),
        ),
        (json!({"max_gust_mph": 25}), json!({"gust_mph": 25.1}), json!({"gust_mph": 25, "storm": true})),
        (json!({"min_low_f": 20}), json!({"low_f": 19.9}), json!({"low_f": 20, "storm": true})),
        (json!({"dry": true}), json!({"rain": true}), json!({"rain": false, "storm": true})),
        (
            json!({}),
            json!({"no_travel": true}),
            json!({"storm": true, "roads": "covered", "rain": true, "gust_mph": 90, "low_f": -40}),
        ),
    ] {
        refused("W7", &in_weather(limit.clone(), stops), &monday);
        holds(&in_weather(limit, passes), &monday);
    }
}

#[test]
fn w8_what_is_fixed_is_done_so_or_not_at_all() {
    let ways = json!([{"id": "slow", "half_days": 1}, {"id": "quick", "half_days": 1}]);
    let fixed = |fixed: serde_json::Value| {
        let step = json!([{"id": "w", "skill": "insulation", "ways": ways, "fixed": fixed}]);
        book(&json!({"jobs": [job("x", "a", &step)]}))
    };
    let row = |crew: &str, way: &str, at: &str| steps(&[with(step("x/w", crew, at, at, &[]), &json!({"way": way}))]);
    let all = fixed(json!({"crew": "south", "way": "quick", "start": "2026-12-09 pm"}));
    holds(&all, &row("south", "quick", "9 pm"));
    holds(&all, &plan(&json!({"left_out": [{"job": "x"}]})));
    refused("W8", &all, &row("north", "quick", "9 pm"));
    refused("W8", &all, &row("south", "slow", "9 pm"));
    refused("W8", &all, &row("south", "quick", "9 am"));
    holds(&fixed(json!({"way": "quick"})), &row("north", "quick", "7 am"));
}

#[test]
fn w9_and_w10_are_refused_where_the_book_does_not_allow_them() {
    let book = book(&json!({"jobs": [small_job("x", "a", &json!({}))]}));
    let row = step("x/w", "north", "7 am", "7 am", &[]);
    refused("W9", &book, &steps(&[with(row.clone(), &json!({"overtime": true}))]));
    refused("W10", &book, &steps(&[with(row.clone(), &json!({"span": 2}))]));
    holds(&book, &steps(&[with(row, &json!({"span": 1, "overtime": false}))]));
}
