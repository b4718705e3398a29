//! Rules E1 to E8.

use serde_json::{Value, json};

use crate::forge::{book, haul, holds, job, plan, refused, small_job, step, with};

fn made(steps: &[Value], hauls: &[Value]) -> Value {
    plan(&json!({"steps": steps, "hauls": hauls}))
}

#[test]
fn e1_a_unit_is_where_its_last_haul_left_it() {
    let book = book(&json!({}));
    let first = haul("tr", "lot", "a", "7 am", "t1");
    holds(&book, &made(&[], &[first.clone(), haul("tr", "a", "b", "7 pm", "t1")]));
    refused("E1", &book, &made(&[], &[first.clone(), haul("tr", "lot", "b", "7 pm", "t1")]));
    // Before any haul it is at its place, and a haul listed first is not made first.
    refused("E1", &book, &made(&[], &[haul("tr", "a", "b", "7 am", "t1")]));
    holds(&book, &made(&[], &[haul("tr", "a", "b", "7 pm", "t1"), first]));
}

#[test]
fn e2_a_step_holds_just_the_units_it_needs() {
    let book = book(&json!({"jobs": [small_job("x", "lot", &json!({"needs": [{"kind": "machine", "count": 2}]}))]}));
    let with_units = |units: &[&str]| made(&[step("x/w", "north", "7 am", "7 am", units)], &[]);
    holds(&book, &with_units(&["m2", "m1"]));
    for units in [&["m1"][..], &["m1", "tr"], &["m1", "m2", "gen"], &["m1", "m1"], &["m1", "m1", "m2"]] {
        refused("E2", &book, &with_units(units));
    }
}

#[test]
fn e2_units_of_several_kinds_are_matched_exactly() {
    // Both serve as a pump, only u1 as a blower: giving u1 to the need listed first would leave the other unmet.
    let unit = |id: &str, kinds: Value| json!({"id": id, "kinds": kinds, "moves": "carried", "place": "a"});
    let equipment =
        json!([unit("u1", json!(["pump", "blower"])), unit("u2", json!(["pump"])), unit("u3", json!(["blower"]))]);
    let x = small_job("x", "a", &json!({"needs": [{"kind": "pump"}, {"kind": "blower"}]}));
    let book = book(&json!({"equipment": equipment, "jobs": [x]}));
    let with_units = |units: &[&str]| made(&[step("x/w", "north", "7 am", "7 am", units)], &[]);
    holds(&book, &with_units(&["u1", "u2"]));
    holds(&book, &with_units(&["u3", "u1"]));
    refused("E2", &book, &with_units(&["u1"]));
    refused("E2", &book, &with_units(&["u1", "u2", "u3"]));
}

#[test]
fn e2_a_unit_is_held_at_the_place_from_start_to_end_pauses_included() {
    // Monday am and Tuesday am, a pause between.
    let x =
        small_job("x", "a", &json!({"half_days": 2, "no_access": ["2026-12-07 pm"], "needs": [{"kind": "machine"}]}));
    let book = book(&json!({"jobs": [x, small_job("y", "a", &json!({"needs": [{"kind": "machine"}]}))]}));
    let rows =
        |unit: &str, y: &str| [step("x/w", "north", "7 am", "8 am", &["m1"]), step("y/w", "south", y, y, &[unit])];
    let there = haul("m1", "lot", "a", "7 am", "t1");
    holds(&book, &made(&rows("m1", "8 pm"), std::slice::from_ref(&there)));
    refused("E2", &book, &made(&rows("m1", "7 pm"), std::slice::from_ref(&there)));
    refused("E2", &book, &made(&rows("m1", "8 am"), std::slice::from_ref(&there)));
    // At the lot instead; and taken away and brought back within the pause.
    refused("E2", &book, &made(&rows("m1", "8 pm"), &[]));
    let away = [there, haul("m1", "a", "lot", "7 pm", "t1"), haul("m1", "lot", "a", "8 am", "t1")];
    refused("E2", &book, &made(&rows("m1", "8 pm"), &away));
}

#[test]
fn e2_a_unit_is_free_from_the_half_day_after_the_end() {
    let needs = json!({"needs": [{"kind": "machine"}]});
    let book = book(&json!({"jobs": [small_job("x", "a", &needs), small_job("y", "b", &needs)]}));
    let x = step("x/w", "north", "7 am", "7 am", &["m1"]);
    let (there, on) = (haul("m1", "lot", "a", "7 am", "t1"), haul("m1", "a", "b", "7 pm", "t1"));
    holds(&book, &made(&[x.clone(), step("y/w", "south", "7 pm", "7 pm", &["m1"])], &[there.clone(), on]));
    // Held on Monday am, it cannot also be towed off at the start of that half-day.
    let early = [haul("m1", "lot", "b", "7 am", "t1")];
    refused("E2", &book, &made(&[x, step("y/w", "south", "7 pm", "7 pm", &["m1"])], &early));
}

#[test]
fn e3_parked_units_stay_from_the_first_start_to_the_latest_end() {
    let two = json!([{"id": "w", "skill": "insulation", "half_days": 4}, {"id": "v", "skill": "carpentry", "half_days": 1, "after": []}]);
    let x = with(job("x", "lot", &two), &json!({"parked": [{"kind": "staging"}]}));
    let book = book(&json!({"jobs": [x, small_job("y", "a", &json!({"needs": [{"kind": "staging"}]}))]}));
    let rows = |y: &str| {
        [
            step("x/w", "north", "7 pm", "9 am", &[]),
            step("x/v", "south", "7 am", "7 am", &[]),
            step("y/w", "south", y, y, &["st"]),
        ]
    };
    let parked = |units: &[&str], y: &str, hauled: &str| {
        plan(
            &json!({"steps": rows(y), "parked": [{"job": "x", "units": units}], "hauls": [haul("st", "lot", "a", hauled, "t2")]}),
        )
    };
    holds(&book, &parked(&["st"], "9 pm", "9 pm"));
    // The step listed last ends on Monday am; the other goes on to Wednesday am.
    refused("E3", &book, &parked(&["st"], "9 am", "9 am"));
    for units in [&[][..], &["tr"], &["st", "tr"], &["st", "st"]] {
        refused("E3", &book, &parked(units, "9 pm", "9 pm"));
    }
}

#[test]
fn e3_parked_units_are_there_from_the_earliest_start_not_the_first_listed() {
    let two = json!([{"id": "w", "skill": "insulation", "half_days": 1}, {"id": "v", "skill": "carpentry", "half_days": 1, "after": []}]);
    let x = with(job("x", "lot", &two), &json!({"parked": [{"kind": "staging"}]}));
    let book = book(&json!({"jobs": [x, small_job("y", "lot", &json!({"needs": [{"kind": "staging"}]}))]}));
    // w, listed first, starts on Tuesday pm; v on Monday pm or Tuesday am; y holds the staging on Monday pm.
    let v_at = |v: &str| {
        let rows = [step("x/w", "north", "8 pm", "8 pm", &[]), step("x/v", "south", v, v, &[])];
        let y = step("y/w", "north", "7 pm", "7 pm", &["st"]);
        plan(&json!({"steps": [rows[0], rows[1], y], "parked": [{"job": "x", "units": ["st"]}]}))
    };
    holds(&book, &v_at("8 am"));
    refused("E3", &book, &v_at("7 pm"));
}

#[test]
fn e3_parked_units_are_besides_what_the_steps_need() {
    let x = with(
        small_job("x", "lot", &json!({"needs": [{"kind": "machine"}]})),
        &json!({"parked": [{"kind": "machine"}]}),
    );
    let book = book(&json!({"jobs": [x]}));
    let parked = |unit: &str| {
        plan(
            &json!({"steps": [step("x/w", "north", "7 am", "7 am", &["m1"])], "parked": [{"job": "x", "units": [unit]}]}),
        )
    };
    holds(&book, &parked("m2"));
    refused("E3", &book, &parked("m1"));
    // Nothing is parked at a job that is not done.
    refused("E3", &book, &plan(&json!({"left_out": [{"job": "x"}], "parked": [{"job": "x", "units": ["m2"]}]})));
}

#[test]
fn e4_a_unit_that_is_out_is_neither_held_nor_hauled() {
    let out = |range: &str, place: &str| json!([{"id": "m1", "kinds": ["machine"], "moves": "carried", "place": place, "out": [range]}]);
    let x = small_job("x", "a", &json!({"half_days": 2, "needs": [{"kind": "machine"}]}));
    let yard = |range: &str, place: &str| book(&json!({"equipment": out(range, place), "jobs": [x.clone()]}));
    let friday = made(&[step("x/w", "north", "11 pm", "14 am", &["m1"])], &[]);
    // Held over a Saturday on which it is out, and just not.
    refused("E4", &yard("2026-12-12 pm", "a"), &friday);
    holds(&yard("2026-12-14 pm/2026-12-18", "a"), &friday);
    holds(&yard("2026-12-07/2026-12-11 am", "a"), &friday);
    // Hauled in the evening of the last half-day that it is out, and at the start of the first that it is not.
    let hauled =
        |when: &str| made(&[step("x/w", "north", "8 am", "8 pm", &["m1"])], &[haul("m1", "lot", "a", when, "t1")]);
    refused("E4", &yard("2026-12-07 pm", "lot"), &hauled("7 pm evening"));
    holds(&yard("2026-12-07 pm", "lot"), &hauled("8 am"));
    holds(&yard("2026-12-07 am", "lot"), &hauled("7 pm evening"));
}

#[test]
fn e5_power_is_held_by_what_starts_before_there_is_any() {
    let needs = json!({"half_days": 2, "needs_power": true, "needs": [{"kind": "machine"}]});
    let yard = |power_from: &str| {
        let places = json!([{"id": "lot", "power_from": power_from}, {"id": "a"}, {"id": "b"}, {"id": "hill"}]);
        book(&json!({"places": places, "jobs": [small_job("x", "lot", &needs)]}))
    };
    let row = |start: &str, end: &str, units: &[&str]| made(&[step("x/w", "north", start, end, units)], &[]);
    // The start counts, not the end: from Monday pm it holds the generator to the end.
    holds(&yard("2026-12-08"), &row("7 pm", "8 am", &["m1", "gen"]));
    refused("E5", &yard("2026-12-08"), &row("7 pm", "8 am", &["m1"]));
    refused("E5", &yard("2026-12-08"), &row("7 pm", "8 am", &["m1", "m2"]));
    holds(&yard("2026-12-08"), &row("8 am", "8 pm", &["m1"]));
    refused("E2", &yard("2026-12-08"), &row("8 am", "8 pm", &["m1", "gen"]));
    refused("E5", &yard("never"), &row("18 am", "18 pm", &["m1"]));
}

#[test]
fn e5_power_is_besides_the_other_needs() {
    let places = json!([{"id": "lot", "power_from": "never"}, {"id": "a"}, {"id": "b"}, {"id": "hill"}]);
    let x = small_job("x", "lot", &json!({"needs_power": true, "needs": [{"kind": "generator"}]}));
    let two = json!([{"id": "gen", "kinds": ["generator"], "moves": "carried", "place": "lot"}, {"id": "gen2", "kinds": ["generator"], "moves": "carried", "place": "lot"}]);
    let book = book(&json!({"places": places, "equipment": two, "jobs": [x]}));
    let row = |units: &[&str]| made(&[step("x/w", "north", "7 am", "7 am", units)], &[]);
    holds(&book, &row(&["gen", "gen2"]));
    refused("E5", &book, &row(&["gen"]));
}

/// Three half-days of insulation from Monday am on, with something parked, and a step of y that holds the staging.
fn parked_between(parked: &Value, units: &[&[&str]], y: &str) -> (Value, Value) {
    let steps = json!(["a", "b", "c"].map(|id| json!({"id": id, "skill": "insulation", "half_days": 1})));
    let x = with(job("x", "lot", &steps), &json!({ "parked": parked }));
    let jobs = json!([x, small_job("y", "lot", &json!({"skill": "carpentry", "needs": [{"kind": "staging"}]}))]);
    let rows = [("x/a", "7 am"), ("x/b", "7 pm"), ("x/c", "8 am")].map(|(of, at)| step(of, "north", at, at, &[]));
    let rows: Vec<Value> = rows.into_iter().chain([step("y/w", "south", y, y, &["st"])]).collect();
    let parked: Vec<Value> = units.iter().map(|units| json!({"job": "x", "units": units})).collect();
    (book(&json!({ "jobs": jobs })), plan(&json!({"steps": rows, "parked": parked})))
}

#[test]
fn e7_what_is_parked_is_held_from_one_step_to_another() {
    // When y may not have the staging: wrong is to read `from` or `to` as that step alone, or not at all.
    for (from, to, held) in [
        (Some("b"), Some("b"), &["7 pm"][..]),
        (Some("b"), None, &["7 pm", "8 am"]),
        (None, Some("b"), &["7 am", "7 pm"]),
        (Some("a"), Some("b"), &["7 am", "7 pm"]),
        (None, None, &["7 am", "7 pm", "8 am"]),
    ] {
        let mut need = json!({"kind": "staging"});
        for (field, step) in [("from", from), ("to", to)] {
            if let Some(step) = step {
                need[field] = json!(step);
            }
        }
        for y in ["7 am", "7 pm", "8 am", "8 pm"] {
            let (book, plan) = parked_between(&json!([need]), &[&["st"]], y);
            if held.contains(&y) { refused("E3", &book, &plan) } else { holds(&book, &plan) }
        }
    }
}

#[test]
fn e7_each_need_has_a_row_of_its_own() {
    let needs = json!([{"kind": "machine", "from": "c"}, {"kind": "staging", "to": "a"}, {"kind": "machine"}]);
    let judged = |units: &[&[&str]]| parked_between(&needs, units, "8 pm");
    let (book, plan) = judged(&[&["m1"], &["st"], &["m2"]]);
    holds(&book, &plan);
    for units in [[&["st"], &["m1"], &["m2"]], [&["m1"], &["st"], &["m1"]], [&["m1"], &["st"], &["tr"]]] {
        let units: Vec<&[&str]> = units.iter().map(|units| &units[..]).collect();
        let (book, plan) = judged(&units);
        refused("E3", &book, &plan);
    }
    // All in one row: shared out.
    let (book, plan) = judged(&[&["m1", "st", "m2"]]);
    holds(&book, &plan);
    let (book, plan) = judged(&[&["m1", "st"]]);
    refused("E3", &book, &plan);
}

#[test]
fn e7_of_a_step_in_two_spans_the_second_end_counts() {
    let steps = json!([{"id": "a", "skill": "insulation", "half_days": 2, "may_split": true}]);
    let x = with(job("x", "lot", &steps), &json!({"parked": [{"kind": "staging", "from": "a", "to": "a"}]}));
    let y = small_job("y", "lot", &json!({"skill": "carpentry", "needs": [{"kind": "staging"}]}));
    let book = book(&json!({"jobs": [x, y]}));
    let second = with(step("x/a", "north", "8 am", "8 am", &[]), &json!({"span": 2}));
    let made = |y: &str| {
        let rows = [step("x/a", "north", "7 am", "7 am", &[]), second.clone(), step("y/w", "south", y, y, &["st"])];
        plan(&json!({"steps": rows, "parked": [{"job": "x", "units": ["st"]}]}))
    };
    // Wrong: it goes between the spans.
    refused("E3", &book, &made("7 pm"));
    holds(&book, &made("8 pm"));
}

/// Lamps and a generator of shared kinds, and a pump that gives power and is not shared.
fn shared(jobs: &[Value]) -> Value {
    let unit =
        |id: &str, kinds: &[&str], place: &str| json!({"id": id, "kinds": kinds, "moves": "carried", "place": place});
    let kinds = json!([{"id": "lamp", "shared": true}, {"id": "generator", "power": true, "shared": true}, {"id": "pump", "power": true}]);
    let units = json!([
        unit("l1", &["lamp"], "a"),
        unit("l2", &["lamp"], "a"),
        unit("l3", &["lamp"], "b"),
        unit("g1", &["generator"], "a"),
        unit("g2", &["generator"], "a"),
        unit("p", &["pump", "hose"], "a")
    ]);
    let places = json!([{"id": "lot"}, {"id": "a", "power_from": "never"}, {"id": "b"}, {"id": "hill"}]);
    book(&json!({"kinds": kinds, "equipment": units, "places": places, "jobs": jobs}))
}

#[test]
fn e8_a_shared_unit_serves_several_needs_at_its_place_at_once() {
    let lamps = |id: &str, place: &str, n: u32| small_job(id, place, &json!({"needs": [{"kind": "lamp", "count": n}]}));
    let rows = |x: &[&str], y: &[&str]| {
        made(&[step("x/w", "north", "7 am", "7 am", x), step("y/w", "south", "7 am", "7 am", y)], &[])
    };
    let same = shared(&[lamps("x", "a", 1), lamps("y", "a", 2)]);
    holds(&same, &rows(&["l1"], &["l1", "l2"]));
    // Wrong: however shared, one need of two is served by one.
    refused("E2", &same, &rows(&["l1"], &["l1"]));
    refused("E2", &same, &rows(&["l1"], &["l1", "l1"]));
    refused("E2", &same, &rows(&["l1", "l2"], &["l1", "l2"]));
    // Wrong: it serves at other places too.
    refused("E2", &shared(&[lamps("x", "a", 1), lamps("y", "b", 1)]), &rows(&["l1"], &["l1"]));
    holds(&shared(&[lamps("x", "a", 1), lamps("y", "b", 1)]), &rows(&["l1"], &["l3"]));
}

#[test]
fn e8_a_need_listed_twice_and_what_is_parked_besides_are_served_by_one() {
    let x = with(
        small_job("x", "a", &json!({"needs": [{"kind": "lamp"}, {"kind": "lamp", "count": 2}, {"kind": "lamp"}]})),
        &json!({"parked": [{"kind": "lamp"}]}),
    );
    let book = shared(&[x]);
    let with_units = |units: &[&str], parked: &[&str]| {
        plan(
            &json!({"steps": [step("x/w", "north", "7 am", "7 am", units)], "parked": [{"job": "x", "units": parked}]}),
        )
    };
    holds(&book, &with_units(&["l1", "l2"], &["l2"]));
    refused("E2", &book, &with_units(&["l1"], &["l2"]));
    refused("E2", &book, &with_units(&["l1", "l2", "g1"], &["l2"]));
    refused("E3", &book, &with_units(&["l1", "l2"], &["l2", "l1"]));
    refused("E3", &book, &with_units(&["l1", "l2"], &[]));
}

#[test]
fn e8_shared_power_serves_beside_its_kind() {
    let dark = |needs: Value| shared(&[small_job("x", "a", &needs)]);
    let row = |units: &[&str]| made(&[step("x/w", "north", "7 am", "7 am", units)], &[]);
    let both = dark(json!({"needs_power": true, "needs": [{"kind": "generator"}]}));
    for units in [&["g1"][..], &["g1", "g2"], &["g1", "p"]] {
        holds(&both, &row(units));
    }
    refused("E2", &both, &row(&["p"]));
    refused("E2", &both, &row(&["g1", "g2", "p"]));
    // Two units of power are two units; and what is not shared serves one need at a time.
    let two = dark(json!({"needs_power": 2, "needs": [{"kind": "generator"}]}));
    refused("E5", &two, &row(&["g1"]));
    holds(&two, &row(&["g1", "p"]));
    let hose = dark(json!({"needs_power": true, "needs": [{"kind": "hose"}]}));
    refused("E5", &hose, &row(&["p"]));
    holds(&hose, &row(&["p", "g2"]));
}

#[test]
fn e8_a_shared_unit_stays_till_all_that_it_serves_is_over() {
    let lamp = |id: &str, n: u32| small_job(id, "a", &json!({"half_days": n, "needs": [{"kind": "lamp"}]}));
    let book = shared(&[lamp("x", 1), lamp("y", 2)]);
    let rows = [step("x/w", "north", "7 am", "7 am", &["l1"]), step("y/w", "south", "7 am", "7 pm", &["l1"])];
    holds(&book, &made(&rows, &[haul("l1", "a", "b", "7 pm evening", "t1")]));
    refused("E2", &book, &made(&rows, &[haul("l1", "a", "b", "7 pm", "t1")]));
}

#[test]
fn e6_counts_the_trailers_that_stand_after_the_hauls_of_the_start() {
    let places = json!([{"id": "lot"}, {"id": "a", "trailer_spots": 1}, {"id": "b"}, {"id": "hill"}]);
    let book = book(&json!({ "places": places }));
    let first = haul("tr", "lot", "a", "7 am", "t1");
    let swap = |away: &str, in_: &str| {
        made(&[], &[first.clone(), haul("tr", "a", "b", away, "t1"), haul("st", "lot", "a", in_, "t2")])
    };
    holds(&book, &swap("7 pm", "7 pm"));
    holds(&book, &swap("7 pm evening", "7 pm evening"));
    // In the evening it still stands there, and the other does already.
    refused("E6", &book, &swap("7 pm evening", "7 pm"));
    holds(&book, &swap("8 am", "7 pm evening"));
    refused("E6", &book, &swap("8 pm", "7 pm evening"));
    // Carried units take no spot.
    holds(&book, &made(&[], &[first, haul("m1", "lot", "a", "7 pm", "t1")]));
}
