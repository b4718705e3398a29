//! Rules H1 to H6.

use serde_json::{Value, json};

use crate::forge::{book, haul, holds, plan, refused, small_job, step, with};

fn hauls(rows: &[Value]) -> Value {
    plan(&json!({ "hauls": rows }))
}

#[test]
fn h1_at_the_start_a_unit_has_stood_there_since_before() {
    let book = book(&json!({}));
    let evening = haul("tr", "lot", "a", "7 pm evening", "t1");
    // Over in the evening, it stands at a from Tuesday am: hauled on from there at the start of Tuesday pm, or in its evening.
    holds(&book, &hauls(&[evening.clone(), haul("tr", "a", "b", "8 pm", "t1")]));
    holds(&book, &hauls(&[evening.clone(), haul("tr", "a", "b", "8 pm evening", "t1")]));
    refused("H1", &book, &hauls(&[evening, haul("tr", "a", "b", "8 am", "t1")]));
    // Hauled at the start, it has stood there to the end of that half-day.
    holds(&book, &hauls(&[haul("tr", "lot", "a", "7 am", "t1"), haul("tr", "a", "b", "7 pm", "t1")]));
}

#[test]
fn h1_from_the_road_a_unit_is_hauled_on_in_the_evening_at_the_earliest() {
    let drives = json!([{"from": "lot", "to": "a", "minutes": 100}, {"from": "lot", "to": "b", "minutes": 40}, {"from": "a", "to": "b", "minutes": 25}]);
    let book = book(&json!({ "drives": drives }));
    // 100 + 30 = 130 minutes: on the road on Monday am, at a from Monday pm.
    let long = haul("tr", "lot", "a", "7 am", "t1");
    holds(&book, &hauls(&[long.clone(), haul("tr", "a", "b", "7 pm evening", "t1")]));
    refused("H1", &book, &hauls(&[long, haul("tr", "a", "b", "7 pm", "t1")]));
}

#[test]
fn h1_one_haul_in_a_half_day_that_the_shop_works() {
    let book = book(&json!({}));
    holds(&book, &hauls(&[haul("tr", "lot", "a", "11 pm evening", "t1")]));
    refused("H1", &book, &hauls(&[haul("tr", "lot", "a", "11 am evening", "t1")]));
    refused("H1", &book, &hauls(&[haul("tr", "lot", "lot", "11 am", "t1")]));
    let twice = [haul("m1", "lot", "a", "7 pm", "t1"), haul("m1", "a", "b", "7 pm evening", "t1")];
    refused("H1", &book, &hauls(&twice));
    let before = with(haul("tr", "lot", "a", "7 am", "t1"), &json!({"at": "2026-12-04 pm"}));
    refused("H1", &book, &hauls(&[before]));
}

#[test]
fn h1_nothing_is_hauled_on_a_day_off() {
    // A truck of no crew, so that only the haul itself is at fault.
    let book = book(&json!({"trucks": [{"id": "t1", "tow_lb": 14000}]}));
    holds(&book, &hauls(&[haul("tr", "lot", "a", "14 am", "t1")]));
    refused("H1", &book, &hauls(&[haul("tr", "lot", "a", "12 am", "t1")]));
}

#[test]
fn h1_an_evening_haul_is_no_longer_than_the_limit_and_follows_work() {
    let drive = |minutes: u32| {
        let x = small_job("x", "lot", &json!({"needs": [{"kind": "trailer"}]}));
        book(&json!({"drives": [{"from": "lot", "to": "a", "minutes": minutes}], "jobs": [x]}))
    };
    let evening = plan(
        &json!({"steps": [step("x/w", "north", "7 pm", "7 pm", &["tr"])], "hauls": [haul("tr", "lot", "a", "7 pm evening", "t1")]}),
    );
    holds(&drive(90), &evening);
    refused("H1", &drive(91), &evening);
}

#[test]
fn h2_a_trailer_goes_only_where_the_road_is_open_at_both_ends() {
    let on_monday = |weather: Value| book(&json!({"weather": [with(json!({"on": "2026-12-07 am"}), &weather)]}));
    let (out, town) =
        (hauls(&[haul("tr", "lot", "hill", "7 am", "t1")]), hauls(&[haul("tr", "lot", "a", "7 am", "t1")]));
    refused("H2", &book(&json!({})), &out);
    holds(&on_monday(json!({"roads": "clear"})), &out);
    for closes in [json!({"storm": true}), json!({"no_travel": true}), json!({"roads": "covered"})] {
        for end in ["lot", "a"] {
            refused("H2", &on_monday(with(closes.clone(), &json!({"at": [end]}))), &town);
        }
        holds(&on_monday(with(closes, &json!({"at": ["b"]}))), &town);
    }
    // Clear lifts the season only.
    refused("H2", &on_monday(json!({"roads": "clear", "storm": true})), &out);
    refused("H2", &on_monday(json!({"roads": "clear", "no_travel": true})), &out);
    // What closes the road to trailers does not stop what stands there.
    let x = small_job("x", "lot", &json!({"needs": [{"kind": "trailer"}]}));
    let stormy = book(&json!({"jobs": [x], "weather": [{"on": "2026-12-07", "storm": true}]}));
    holds(&stormy, &plan(&json!({"steps": [step("x/w", "north", "7 am", "7 am", &["tr"])]})));
}

#[test]
fn h2_expect_clear_holds_past_the_last_report_and_is_marked() {
    let roads = json!([{"id": "hill road", "no_trailers": ["11-15/04-15"], "expect_clear": ["thu"]}]);
    let reported = |weather: Value| book(&json!({"roads": roads, "weather": weather}));
    let on = |when: &str, needs_clear: Value| {
        hauls(&[with(haul("tr", "lot", "hill", when, "t1"), &json!({"needs_clear": needs_clear}))])
    };
    let none = reported(json!([]));
    holds(&none, &on("10 am", json!(true)));
    holds(&none, &on("10 pm", json!(null)));
    refused("H2", &none, &on("10 am", json!(false)));
    refused("H2", &none, &on("9 am", json!(false)));
    // Reported to Thursday am: all of Thursday is covered, the next Thursday is not. Reports of another place do not count.
    let to_thursday = reported(
        json!([{"on": "2026-12-10 am", "at": ["hill"], "rain": false}, {"on": "2026-12-17", "at": ["lot"], "rain": false}]),
    );
    refused("H2", &to_thursday, &on("10 pm", json!(false)));
    holds(&to_thursday, &on("17 am", json!(true)));
    // Reported clear, it leans on nothing.
    let clear = reported(json!([{"on": "2026-12-10", "roads": "clear"}]));
    holds(&clear, &on("10 am", json!(false)));
    refused("H2", &clear, &on("10 am", json!(true)));
}

#[test]
fn h3_a_carried_unit_goes_unless_there_is_no_travel() {
    let on_monday = |weather: Value| book(&json!({"weather": [with(json!({"on": "2026-12-07 am"}), &weather)]}));
    let carried = hauls(&[haul("m1", "lot", "hill", "7 am", "t1")]);
    holds(&on_monday(json!({"storm": true, "roads": "covered"})), &carried);
    for end in ["lot", "hill"] {
        refused("H3", &on_monday(json!({"no_travel": true, "at": [end]})), &carried);
    }
    holds(&on_monday(json!({"no_travel": true, "at": ["a"]})), &carried);
}

#[test]
fn h4_a_truck_is_there_and_strong_enough() {
    let truck =
        |more: Value| book(&json!({"trucks": [with(json!({"id": "t1", "crew": "north", "tow_lb": 5000}), &more)]}));
    let towed = hauls(&[haul("tr", "lot", "a", "7 am", "t1")]);
    holds(&truck(json!({})), &towed);
    for broken in [json!({"tow_lb": 4999}), json!({"tows": 0}), json!({"out": ["2026-12-07 am"]})] {
        refused("H4", &truck(broken), &towed);
    }
    holds(&truck(json!({"out": ["2026-12-07 pm"]})), &towed);
    // Its crew away; a truck of no crew needs none.
    let crews = json!([{"id": "north", "people": 2, "skills": ["insulation"], "away": [{"on": "2026-12-07"}]}]);
    let with_crew =
        |crew: Value| book(&json!({"crews": crews, "trucks": [{"id": "t1", "tow_lb": 5000, "crew": crew}]}));
    refused("H4", &with_crew(json!("north")), &towed);
    holds(&with_crew(json!(null)), &towed);
}

#[test]
fn h4_counts_start_and_evening_together_towed_and_carried_apart() {
    let units = |moves: &str| {
        (1..=4)
            .map(|n| json!({"id": format!("u{n}"), "kinds": ["unit"], "moves": moves, "place": "lot"}))
            .collect::<Vec<_>>()
    };
    let one_truck = |moves: &str, more: Value| {
        let mut equipment = units(moves);
        equipment.push(json!({"id": "other", "kinds": ["unit"], "moves": if moves == "towed" { "carried" } else { "towed" }, "place": "lot"}));
        book(&json!({"equipment": equipment, "trucks": [with(json!({"id": "t1", "tow_lb": 1000}), &more)]}))
    };
    let many = |count: usize| {
        let mut rows: Vec<Value> = (1..=count)
            .map(|n| haul(&format!("u{n}"), "lot", "a", if n % 2 == 0 { "7 pm" } else { "7 pm evening" }, "t1"))
            .collect();
        rows.push(haul("other", "lot", "a", "7 pm", "t1"));
        hauls(&rows)
    };
    // Three carried and one towed unless it says otherwise.
    for (moves, more, most) in [
        ("carried", json!({}), 3),
        ("towed", json!({}), 1),
        ("carried", json!({"carries": 2}), 2),
        ("towed", json!({"tows": 3}), 3),
    ] {
        let book = one_truck(moves, more);
        holds(&book, &many(most));
        refused("H4", &book, &many(most + 1));
    }
    // Without tow_lb, or with 0, it tows nothing, not even what weighs nothing; it still carries.
    let weak =
        |tow_lb: Value| book(&json!({"equipment": units("towed"), "trucks": [with(json!({"id": "t1"}), &tow_lb)]}));
    for tow_lb in [json!({}), json!({"tow_lb": 0}), json!({"tow_lb": 0, "tows": 2})] {
        refused("H4", &weak(tow_lb), &hauls(&[haul("u1", "lot", "a", "7 am", "t1")]));
    }
    holds(&weak(json!({"tow_lb": 1})), &hauls(&[haul("u1", "lot", "a", "7 am", "t1")]));
}

#[test]
fn h5_a_haul_of_just_the_limit_is_there_in_the_same_half_day() {
    let needs = json!({"needs": [{"kind": "trailer"}]});
    let drive = |minutes: u32| {
        book(
            &json!({"drives": [{"from": "lot", "to": "a", "minutes": minutes}], "jobs": [small_job("x", "a", &needs)]}),
        )
    };
    let worked = |at: &str, minutes: u32| {
        let haul = with(haul("tr", "lot", "a", "7 am", "t1"), &json!({ "minutes": minutes }));
        plan(&json!({"steps": [step("x/w", "north", at, at, &["tr"])], "hauls": [haul]}))
    };
    // 90 + 30 to hitch = 120; one more and Monday am is spent on the road.
    holds(&drive(90), &worked("7 am", 120));
    refused("H5", &drive(91), &worked("7 am", 121));
    holds(&drive(91), &worked("7 pm", 121));
    refused("H5", &drive(90), &worked("7 am", 119));
    // Carried: 15 to load.
    let carried = |minutes: u32| hauls(&[with(haul("m1", "lot", "a", "7 am", "t1"), &json!({ "minutes": minutes }))]);
    holds(&book(&json!({})), &carried(45));
    refused("H5", &book(&json!({})), &carried(60));
}

#[test]
fn h6_an_estimate_needs_coordinates_and_is_marked() {
    // 0.1 degree along a meridian: 6371.0088 x pi / 180 x 0.1 = 11.1195 km x 1.3 / 50 x 60 = 17.35 minutes, up to 18; 18 + 30 = 48.
    let places =
        json!([{"id": "lot", "at": [44.0, -72.0]}, {"id": "a", "at": [44.1, -72.0]}, {"id": "b"}, {"id": "hill"}]);
    let book = book(&json!({"places": places, "drives": [{"from": "b", "to": "lot", "minutes": 40}]}));
    let row = |to: &str, marks: Value| hauls(&[with(haul("tr", "lot", to, "7 am", "t1"), &marks)]);
    holds(&book, &row("a", json!({"minutes": 48, "estimate": true})));
    holds(&book, &row("a", json!({})));
    refused("H6", &book, &row("a", json!({"estimate": false})));
    // Listed the other way round: 40 + 30.
    holds(&book, &row("b", json!({"minutes": 70, "estimate": false})));
    refused("H6", &book, &row("b", json!({"estimate": true})));
    refused("H6", &book, &row("hill", json!({})));
}
