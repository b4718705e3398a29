//! Sentences of the rules that are easily read wrong: each test names the wrong reading that it tells apart.

use serde_json::{Value, json};

use crate::forge::{book, first_at, haul, holds, job, plan, refused, small_job, step, steps, with};

fn hauls(rows: &[Value]) -> Value {
    plan(&json!({ "hauls": rows }))
}

fn to_hill(when: &str) -> Value {
    hauls(&[haul("tr", "lot", "hill", when, "t1")])
}

#[test]
fn ranges_include_their_last_half_day() {
    // Wrong: a range with a date at its end stops at that date's am, or at its beginning.
    for (range, last, first) in [
        ("2026-12-07/2026-12-09", "9 pm", "10 am"),
        ("2026-12-07/2026-12-09 am", "9 am", "9 pm"),
        ("2026-12-07 pm/2026-12-08", "8 pm", "9 am"),
        ("2026-12-08 pm", "8 pm", "9 am"),
    ] {
        first_at(&book(&json!({"jobs": [small_job("x", "a", &json!({"no_access": [range]}))]})), "W2", last, first);
    }
}

#[test]
fn only_and_away_both_hold() {
    // Wrong: `only` brings back people who are away; or a surplus away is made up for by another range.
    let crews = json!([{"id": "north", "people": 2, "skills": ["insulation"], "only": ["2026-12-07/2026-12-09"],
        "away": [{"on": "2026-12-07/2026-12-08", "people": 5}, {"on": "2026-12-08", "people": 1}]}]);
    let trucks = json!([{"id": "t1", "crew": "north", "tow_lb": 14000}]);
    let book = book(&json!({"crews": crews, "trucks": trucks, "jobs": [small_job("x", "a", &json!({}))]}));
    first_at(&book, "W2", "8 pm", "9 am");
    first_at(&book, "W2", "10 am", "9 pm");
}

#[test]
fn a_crew_is_present_when_some_of_it_is() {
    // Wrong: the truck stands still unless the whole crew is there, or unless min_people are.
    let crews =
        json!([{"id": "north", "people": 3, "skills": ["insulation"], "away": [{"on": "2026-12-07", "people": 2}]}]);
    let trucks = json!([{"id": "t1", "crew": "north", "tow_lb": 14000}]);
    holds(&book(&json!({"crews": crews, "trucks": trucks})), &hauls(&[haul("tr", "lot", "a", "7 am", "t1")]));
}

#[test]
fn labor_hours_are_added_without_rounding_error() {
    // Wrong: tenths added up in floating point: eight of them are 0.7999999999999999 and a ninth half-day would be worked.
    let shop = json!({"name": "Forge", "time_zone": "America/New_York", "half_day_hours": 0.1});
    let x = job("x", "a", &json!([{"id": "w", "skill": "insulation", "labor_hours": 0.8, "max_people": 1}]));
    let book = book(&json!({"shop": shop, "jobs": [x]}));
    holds(&book, &steps(&[step("x/w", "north", "7 am", "10 pm", &[])]));
}

#[test]
fn access_binds_work_and_not_hauls() {
    // Wrong: nothing comes to a site before `earliest`, or while there is no access.
    let x = small_job(
        "x",
        "a",
        &json!({"half_days": 1, "needs": [{"kind": "trailer"}], "no_access": ["2026-12-08 am"], "earliest": "2026-12-08"}),
    );
    let book = book(&json!({"jobs": [x]}));
    for when in ["7 am", "8 am"] {
        holds(
            &book,
            &plan(
                &json!({"steps": [step("x/w", "north", "8 pm", "8 pm", &["tr"])], "hauls": [haul("tr", "lot", "a", when, "t1")]}),
            ),
        );
    }
}

#[test]
fn a_crews_truck_hauls_while_the_crew_works_elsewhere() {
    // Wrong: hauling takes the crew's time, or its truck must be where it works.
    let book = book(&json!({"jobs": [small_job("x", "a", &json!({}))]}));
    let rows =
        json!({"steps": [step("x/w", "north", "7 am", "7 am", &[])], "hauls": [haul("tr", "lot", "b", "7 am", "t1")]});
    holds(&book, &plan(&rows));
}

#[test]
fn seasons_include_both_ends_and_wrap_the_year() {
    let season = |season: &str| book(&json!({"roads": [{"id": "hill road", "no_trailers": [season]}]}));
    // Wrong: the first or the last date of a season is open.
    for (date, open) in [("7 pm", true), ("8 am", false), ("9 pm", false), ("10 am", true)] {
        if open {
            holds(&season("12-08/12-09"), &to_hill(date));
        } else {
            refused("H2", &season("12-08/12-09"), &to_hill(date));
        }
    }
    // Wrong: a season that ends before it begins is never, or all year.
    refused("H2", &season("12-14/02-28"), &to_hill("14 am"));
    holds(&season("12-14/02-28"), &to_hill("11 pm"));
    refused("H2", &season("12-14/12-08"), &to_hill("8 pm"));
    holds(&season("12-14/12-08"), &to_hill("9 am"));
}

#[test]
fn later_reports_replace_field_by_field() {
    let weather = |entries: Value| {
        book(&json!({"weather": entries, "jobs": [small_job("x", "hill", &json!({"outside": true, "dry": true}))]}))
    };
    let (on, monday) = ("2026-12-07", steps(&[step("x/w", "north", "7 am", "7 am", &[])]));
    // Wrong: a later entry replaces the whole report, or the earlier one wins.
    refused("W7", &weather(json!([{"on": on, "storm": true}, {"on": on, "rain": false}])), &monday);
    holds(&weather(json!([{"on": on, "storm": true}, {"on": on, "storm": false}])), &monday);
    refused("W7", &weather(json!([{"on": on, "storm": false}, {"on": on, "storm": true}])), &monday);
    // Wrong: null is as if the field were not mentioned, so that the clear of before still holds; or it is a fault.
    holds(
        &weather(json!([{"on": on, "roads": "clear"}])),
        &with(to_hill("7 am"), &json!({"left_out": [{"job": "x"}]})),
    );
    let taken_back = weather(json!([{"on": on, "roads": "clear"}, {"on": on, "roads": null}]));
    refused("H2", &taken_back, &with(to_hill("7 am"), &json!({"left_out": [{"job": "x"}]})));
}

#[test]
fn an_entry_counts_as_a_report_whatever_it_says() {
    let roads = json!([{"id": "hill road", "no_trailers": ["11-15/04-15"], "expect_clear": ["thu", "fri"]}]);
    let reported = |entry: Value| book(&json!({"roads": roads, "weather": [entry]}));
    // Wrong: only an entry that speaks of roads counts; only one that names the place; only its first date.
    for entry in [
        json!({"on": "2026-12-07/2026-12-10", "low_f": 20}),
        json!({"on": "2026-12-10 am", "at": ["hill"], "roads": null}),
    ] {
        refused("H2", &reported(entry.clone()), &to_hill("10 pm"));
        holds(&reported(entry), &to_hill("11 am"));
    }
    // Wrong: past the report every day is expected clear; or before the report, days that it does not cover.
    refused("H2", &reported(json!({"on": "2026-12-10", "low_f": 20})), &to_hill("14 am"));
    refused("H2", &reported(json!({"on": "2026-12-14", "low_f": 20})), &to_hill("11 am"));
}

#[test]
fn a_road_is_closed_for_its_own_half_day_only() {
    let storm = |on: &str| book(&json!({"weather": [{"on": on, "at": ["a"], "storm": true}]}));
    // Wrong: an evening haul is judged by the next half-day, in which the unit arrives.
    let evening = hauls(&[haul("tr", "lot", "a", "7 pm evening", "t1")]);
    holds(&storm("2026-12-08 am"), &evening);
    refused("H2", &storm("2026-12-07 pm"), &evening);
}

/// Trailers stand one at a, one at the lot; both drives out of a take 100 minutes, 130 in all.
fn far_yard(spots_at_a: u32, spots_at_lot: u32) -> Value {
    let trailer = |id: &str, place: &str| json!({"id": id, "kinds": ["trailer"], "moves": "towed", "place": place});
    book(&json!({
        "places": [{"id": "lot", "trailer_spots": spots_at_lot}, {"id": "a", "trailer_spots": spots_at_a}, {"id": "b"}, {"id": "hill"}],
        "drives": [{"from": "lot", "to": "a", "minutes": 100}, {"from": "a", "to": "b", "minutes": 100}, {"from": "lot", "to": "hill", "minutes": 30}, {"from": "a", "to": "hill", "minutes": 30}],
        "equipment": [trailer("u", "a"), trailer("v", "hill")],
    }))
}

#[test]
fn a_unit_on_the_road_takes_no_spot() {
    let book = far_yard(1, 1);
    // Wrong: on the road it still takes the spot that it left. v comes to a on Monday am, when u sets out.
    holds(&book, &hauls(&[haul("u", "a", "b", "7 am", "t1"), haul("v", "hill", "a", "7 am", "t2")]));
    // Wrong: on the road it already takes the spot that it goes to. v leaves the lot only at the start of Tuesday am, when u comes.
    let v = [haul("v", "hill", "lot", "7 am", "t2"), haul("v", "lot", "hill", "8 am", "t2")];
    holds(&book, &hauls(&[haul("u", "a", "lot", "7 pm", "t1"), v[0].clone(), v[1].clone()]));
    // Nor is it anywhere else than on its way: from Tuesday am it does take one.
    refused(
        "E6",
        &book,
        &hauls(&[haul("u", "a", "lot", "7 pm", "t1"), v[0].clone(), haul("v", "lot", "hill", "8 pm", "t2")]),
    );
}

#[test]
fn too_many_trailers_at_the_beginning_are_mended_at_the_start_of_index_0() {
    // Wrong: spots are counted before the hauls of the start; or a plan may leave the beginning as it finds it.
    let book = far_yard(0, 1);
    holds(&book, &hauls(&[haul("u", "a", "lot", "7 am", "t1")]));
    refused("E6", &book, &hauls(&[haul("u", "a", "lot", "7 pm", "t1")]));
    refused("E6", &book, &hauls(&[]));
}

#[test]
fn steps_of_one_job_share_no_unit_at_a_time() {
    // Wrong: a job's own steps may use the same machine at once.
    let needs = json!([{"kind": "machine"}]);
    let two = json!([{"id": "w", "skill": "insulation", "half_days": 1, "needs": needs}, {"id": "v", "skill": "insulation", "half_days": 1, "needs": needs, "after": []}]);
    let book = book(&json!({"jobs": [job("x", "lot", &two)]}));
    let rows = |unit: &str| {
        steps(&[step("x/w", "north", "7 am", "7 am", &["m1"]), step("x/v", "south", "7 am", "7 am", &[unit])])
    };
    holds(&book, &rows("m2"));
    refused("E2", &book, &rows("m1"));
}

#[test]
fn what_follows_a_later_job_is_not_done() {
    // Wrong: a later job no longer binds what follows it; or its follower, whose own earliest is within, is later too.
    let later = with(small_job("y", "a", &json!({})), &json!({"earliest": "2026-12-21"}));
    let book = book(&json!({"jobs": [later, small_job("x", "a", &json!({"after": ["y/w"]}))]}));
    let listed = |left_out: Value, later: Value, rows: &[Value]| {
        plan(&json!({"steps": rows, "left_out": left_out, "later": later}))
    };
    holds(&book, &listed(json!([{"job": "x"}]), json!([{"job": "y"}]), &[]));
    refused("W6", &book, &listed(json!([]), json!([{"job": "y"}]), &[step("x/w", "north", "7 am", "7 am", &[])]));
    refused("W1", &book, &listed(json!([]), json!([{"job": "y"}, {"job": "x"}]), &[]));
}

#[test]
fn wait_and_within_are_counted_from_each_step_before() {
    // Wrong: only the first or the last listed predecessor binds; or the own job's name before the slash is another job.
    let mut three = vec![
        json!({"id": "u", "skill": "insulation", "half_days": 1}),
        json!({"id": "v", "skill": "insulation", "half_days": 1, "after": []}),
    ];
    for after in
        [json!(["x/u", {"step": "v", "wait_half_days": 2}]), json!([{"step": "v", "wait_half_days": 2}, "x/u"])]
    {
        three.truncate(2);
        three.push(json!({"id": "w", "skill": "insulation", "half_days": 1, "after": after}));
        let book = book(&json!({"jobs": [job("x", "a", &json!(three))]}));
        let rows = |u: &str, v: &str, w: &str| {
            steps(&[step("x/u", "north", u, u, &[]), step("x/v", "south", v, v, &[]), step("x/w", "north", w, w, &[])])
        };
        // v ends at 0: w from 0 + 1 + 2 = 3; u ends at 3: w from 4.
        holds(&book, &rows("7 am", "7 am", "8 pm"));
        refused("W6", &book, &rows("7 am", "7 am", "8 am"));
        holds(&book, &rows("8 pm", "7 am", "9 am"));
        refused("W6", &book, &rows("9 am", "7 am", "8 pm"));
    }
}

#[test]
fn hours_of_too_few_or_too_many_people_do_not_count() {
    // Wrong: a half-day with fewer than min_people adds their hours (8 + 4 + 8); or those over max_people do (12 + 12).
    let crews =
        json!([{"id": "north", "people": 3, "skills": ["insulation"], "away": [{"on": "2026-12-07 pm", "people": 2}]}]);
    let trucks = json!([{"id": "t1", "crew": "north", "tow_lb": 14000}]);
    let x = job(
        "x",
        "a",
        &json!([{"id": "w", "skill": "insulation", "labor_hours": 20, "min_people": 2, "max_people": 2}]),
    );
    let book = book(&json!({"crews": crews, "trucks": trucks, "jobs": [x]}));
    // 8 hours on Monday am, a pause with one person, 8 on Tuesday am, 8 on Tuesday pm.
    holds(&book, &steps(&[step("x/w", "north", "7 am", "8 pm", &[])]));
    refused("W3", &book, &steps(&[step("x/w", "north", "7 am", "8 am", &[])]));
}
