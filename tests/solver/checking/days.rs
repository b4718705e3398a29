//! Rules C14 and C15: half-days that a crew keeps open, and the rounds from its home.

use serde_json::{Value, json};
use yardless_book::money::Cents;

use crate::forge::{book, breaks, holds, judge, plan, small_job, step, steps, with};

/// Jobs x, y, z and v of one step each, at a, b, a and b; `north` and `south` say more of the crews.
fn week(of: &[Value], north: &Value, south: &Value, prices: &Value) -> Value {
    let crew = |id: &str| json!({"id": id, "people": 2, "skills": ["insulation"]});
    let crews = json!([with(crew("north"), north), with(crew("south"), south)]);
    let places = [("x", "a"), ("y", "b"), ("z", "a"), ("v", "b")];
    let jobs: Vec<Value> = of.iter().zip(places).map(|(step, (id, place))| small_job(id, place, step)).collect();
    book(&json!({"crews": crews, "jobs": jobs, "prices": prices}))
}

fn rows(crew: &str, at: &[(&str, &str)]) -> Value {
    let rows: Vec<Value> = at
        .iter()
        .zip(["x", "y", "z", "v"])
        .map(|((start, end), id)| step(&format!("{id}/w"), crew, start, end, &[]))
        .collect();
    steps(&rows)
}

fn cost(term: &str, book: &Value, plan: &Value) -> i64 {
    let costs = serde_json::to_value(judge(book, plan).costs).expect("JSON");
    serde_json::from_value::<Cents>(costs[term].clone()).map_or(0, |cents| cents.0)
}

fn half_days(n: u32) -> Value {
    json!({ "half_days": n })
}

#[test]
fn c14_a_week_that_falls_short_of_what_its_crew_keeps_open_costs() {
    // Ten half-days a week: of 8 kept open two are free of charge.
    let open =
        |n: u32, more: Value| week(&[half_days(3)], &with(json!({ "keep_open": n }), &more), &json!({}), &json!({}));
    let three = rows("north", &[("7 am", "8 am")]);
    for (n, short) in [(0, 0), (7, 0), (8, 6000), (9, 12_000), (10, 18_000)] {
        assert_eq!(cost("reserve", &open(n, json!({})), &three), short, "{n}");
    }
    // No more than it is there can be kept open: two half-days on Monday, all of them worked, or one.
    let on_monday =
        |of: u32| week(&[half_days(of)], &json!({"keep_open": 10, "only": ["2026-12-07"]}), &json!({}), &json!({}));
    assert_eq!(cost("reserve", &on_monday(2), &rows("north", &[("7 am", "7 pm")])), 12_000);
    assert_eq!(cost("reserve", &on_monday(1), &rows("north", &[("7 pm", "7 pm")])), 6000);
    // Over two weeks each by itself: Friday pm, and Monday am and pm.
    assert_eq!(cost("reserve", &open(8, json!({})), &rows("north", &[("11 pm", "14 pm")])), 0);
    assert_eq!(cost("reserve", &open(9, json!({})), &rows("north", &[("11 pm", "14 pm")])), 6000);
}

#[test]
fn c14_helping_and_stops_are_work_and_a_pause_is_none() {
    let helped = week(&[with(half_days(3), &json!({"help": 1}))], &json!({}), &json!({"keep_open": 8}), &json!({}));
    let with_south = with(step("x/w", "north", "7 am", "8 am", &[]), &json!({"with": ["south"]}));
    assert_eq!(cost("reserve", &helped, &steps(&[with_south])), 6000);
    assert_eq!(cost("reserve", &helped, &rows("north", &[("7 am", "8 am")])), 0);
    // Two stops in one half-day are one that is not open.
    let stop = json!({"half_days": null, "hours": 1});
    let visits = week(&[stop.clone(), stop], &json!({"keep_open": 10}), &json!({}), &json!({}));
    assert_eq!(cost("reserve", &visits, &rows("north", &[("7 am", "7 am"), ("7 am", "7 am")])), 6000);
    assert_eq!(cost("reserve", &visits, &rows("north", &[("7 am", "7 am"), ("7 pm", "7 pm")])), 12_000);
    let pause = week(
        &[with(half_days(2), &json!({"no_access": ["2026-12-07 pm"]}))],
        &json!({"keep_open": 8}),
        &json!({}),
        &json!({}),
    );
    assert_eq!(cost("reserve", &pause, &rows("north", &[("7 am", "8 am")])), 0);
    // Overtime is apart.
    let mut saturday = week(&[half_days(1)], &json!({"keep_open": 10}), &json!({}), &json!({}));
    saturday["shop"]["overtime_days"] = json!(["sat"]);
    let row = with(step("x/w", "north", "12 am", "12 am", &[]), &json!({"overtime": true}));
    assert_eq!(cost("reserve", &saturday, &steps(&[row])), 0);
}

#[test]
fn c15_a_round_leads_home_once_a_date() {
    // From the lot a is 30 minutes away and b 40; between them are 25. Half a dollar a minute.
    let of = |steps: &[Value]| week(steps, &json!({"home": "lot"}), &json!({}), &json!({"drive_minute": 0.5}));
    let two = of(&[half_days(1), half_days(1)]);
    let at = |x: &str, y: &str| rows("north", &[(x, x), (y, y)]);
    // 30 + 25 + 40 on one date, 2 x 30 + 2 x 40 on two.
    assert_eq!(cost("driving", &two, &at("7 am", "7 pm")), 4750);
    assert_eq!(cost("driving", &two, &at("7 pm", "7 am")), 4750);
    assert_eq!(cost("driving", &two, &at("7 am", "8 am")), 7000);
    assert_eq!(cost("driving", &of(&[half_days(4)]), &rows("north", &[("7 am", "8 pm")])), 6000);
    // Whose crew has no home, and where the price is not given.
    assert_eq!(cost("driving", &two, &rows("south", &[("7 am", "7 am"), ("7 pm", "7 pm")])), 0);
    let free = week(&[half_days(1), half_days(1)], &json!({"home": "lot"}), &json!({}), &json!({}));
    assert_eq!(cost("driving", &free, &at("7 am", "7 pm")), 0);
    // At home it drives nowhere.
    let home = week(&[half_days(2)], &json!({"home": "a"}), &json!({}), &json!({"drive_minute": 0.5}));
    assert_eq!(cost("driving", &home, &rows("north", &[("7 am", "7 pm")])), 0);
}

#[test]
fn c15_at_noon_a_crew_with_a_home_drives_so_far_and_no_further() {
    let noon = |minutes: u32, home: Value, price: f64| {
        let mut book = week(&[half_days(1), half_days(1)], &home, &json!({}), &json!({ "drive_minute": price }));
        book["shop"]["noon_minutes"] = json!(minutes);
        book
    };
    let at = |x: &str, y: &str| rows("north", &[(x, x), (y, y)]);
    let lot = json!({"home": "lot"});
    holds(&noon(25, lot.clone(), 0.5), &at("7 am", "7 pm"));
    breaks("C15", &noon(24, lot.clone(), 0.5), &at("7 am", "7 pm"));
    breaks("C15", &noon(24, lot.clone(), 0.5), &at("7 pm", "7 am"));
    holds(&noon(24, lot.clone(), 0.5), &at("7 pm", "8 am"));
    // Where nothing is asked of its rounds.
    holds(&noon(24, json!({}), 0.5), &at("7 am", "7 pm"));
    holds(&noon(24, lot, 0.0), &at("7 am", "7 pm"));
    // Nobody knows how long it is from home to b.
    let mut far = noon(60, json!({"home": "hill"}), 0.5);
    far["jobs"].as_array_mut().expect("jobs").remove(0);
    let only_y = |crew: &str| steps(&[step("y/w", crew, "7 am", "7 am", &[])]);
    breaks("C15", &far, &only_y("north"));
    holds(&far, &only_y("south"));
    holds(&far, &plan(&json!({"left_out": [{"job": "y"}]})));
}

#[test]
fn c15_stops_are_passed_over_and_helpers_drive_too() {
    let price = json!({"drive_minute": 0.5});
    let stop = json!({"half_days": null, "hours": 1});
    let home = json!({"home": "lot"});
    let visits = week(&[half_days(1), stop], &home, &json!({}), &price);
    // The stop at b lies on no round, and no limit at noon binds it.
    let mut near = visits.clone();
    near["shop"]["noon_minutes"] = json!(1);
    let day = rows("north", &[("7 am", "7 am"), ("7 pm", "7 pm")]);
    assert_eq!(cost("driving", &visits, &day), 3000);
    holds(&near, &day);
    let helped = |south: Value| week(&[json!({"help": 1})], &home, &south, &price);
    let row = with(step("x/w", "north", "7 am", "7 am", &[]), &json!({"with": ["south"]}));
    let driven = |south: Value| cost("driving", &helped(south), &steps(std::slice::from_ref(&row)));
    assert_eq!((driven(json!({})), driven(json!({"home": "b"}))), (3000, 5500));
}
