//! Rules W11 and C11: crews that help others; and C4, C8, W8 and W10 with them.

use serde_json::{Value, json};
use yardless_book::money::Cents;

use crate::forge::{book, breaks, haul, holds, job, judge, refused, small_job, step, steps, with};

/// North with the skill, south and east without it, and an electrician of another firm who has it too.
fn crews(north: &Value, south: &Value) -> Value {
    let crew = |id: &str, people: u32, skills: &[&str]| json!({"id": id, "people": people, "skills": skills});
    json!([
        with(crew("north", 2, &["insulation"]), north),
        with(crew("south", 2, &["carpentry"]), south),
        crew("east", 1, &["carpentry"]),
        with(crew("spark", 2, &["insulation"]), &json!({"own": false})),
    ])
}

/// A job of insulation that one crew may help with.
fn helped(step: &Value) -> Value {
    small_job("x", "a", &with(json!({"help": 1}), step))
}

fn of(step: &Value) -> Value {
    book(&json!({"crews": crews(&json!({}), &json!({})), "jobs": [helped(step)]}))
}

/// Where south is away in these half-days.
fn south_away(on: &str, step: &Value) -> Value {
    let south = json!({"away": [{"on": format!("2026-12-{on}")}]});
    book(&json!({"crews": crews(&json!({}), &south), "jobs": [helped(step)]}))
}

fn row(crew: &str, with_: &[&str], start: &str, end: &str) -> Value {
    with(step("x/w", crew, start, end, &[]), &json!({ "with": with_ }))
}

fn by(crew: &str, with_: &[&str], start: &str, end: &str) -> Value {
    steps(&[row(crew, with_, start, end)])
}

fn help_cost(book: &Value, plan: &Value) -> i64 {
    let costs = serde_json::to_value(judge(book, plan).costs).expect("JSON");
    serde_json::from_value::<Cents>(costs["help"].clone()).map_or(0, |cents| cents.0)
}

#[test]
fn w11_people_are_those_of_the_crew_and_its_helpers() {
    // Sixteen labor hours: two people take two half-days, four take one.
    let hours = of(&json!({"half_days": null, "labor_hours": 16}));
    holds(&hours, &by("north", &["south"], "7 am", "7 am"));
    holds(&hours, &by("north", &[], "7 am", "7 pm"));
    refused("W3", &hours, &by("north", &[], "7 am", "7 am"));
    refused("W3", &hours, &by("north", &["south"], "7 am", "7 pm"));
    // At most three count: 12, then 4.
    let most = of(&json!({"half_days": null, "labor_hours": 16, "max_people": 3}));
    holds(&most, &by("north", &["south"], "7 am", "7 pm"));
    refused("W3", &most, &by("north", &["south"], "7 am", "7 am"));
    // At least three: two and one make them, two do not; nor do they make four.
    let least = |n: u32| of(&json!({ "min_people": n }));
    holds(&least(3), &by("north", &["east"], "7 am", "7 am"));
    refused("W2", &least(3), &by("north", &[], "7 am", "7 am"));
    refused("W2", &least(4), &by("north", &["east"], "7 am", "7 am"));
}

#[test]
fn w11_there_are_no_more_helpers_than_the_way_or_the_step_says() {
    let two = ["south", "east"];
    holds(&of(&json!({"help": 2})), &by("north", &two, "7 am", "7 am"));
    refused("W11", &of(&json!({"help": 1})), &by("north", &two, "7 am", "7 am"));
    refused("W11", &of(&json!({"help": 0})), &by("north", &["east"], "7 am", "7 am"));
    // The way's own counts in place of the step's.
    let ways = json!([{"id": "usual", "half_days": 1}, {"id": "alone", "half_days": 1, "help": 0}, {"id": "all", "half_days": 1, "help": 2}]);
    let mut by_ways = of(&json!({}));
    by_ways["jobs"][0]["steps"] = json!([{"id": "w", "skill": "insulation", "help": 1, "ways": ways}]);
    let done = |way: &str, with_: &[&str]| steps(&[with(row("north", with_, "7 am", "7 am"), &json!({ "way": way }))]);
    holds(&by_ways, &done("usual", &["south"]));
    refused("W11", &by_ways, &done("usual", &two));
    holds(&by_ways, &done("alone", &[]));
    refused("W11", &by_ways, &done("alone", &["south"]));
    holds(&by_ways, &done("all", &two));
}

#[test]
fn w11_all_that_join_are_own_crews_other_ones_and_named_once() {
    let book = of(&json!({"help": 2}));
    refused("W11", &book, &by("north", &["spark"], "7 am", "7 am"));
    refused("W11", &book, &by("spark", &["south"], "7 am", "7 am"));
    holds(&book, &by("spark", &[], "7 am", "7 am"));
    breaks("W11", &book, &by("north", &["south", "south"], "7 am", "7 am"));
    breaks("W11", &book, &by("north", &["north"], "7 am", "7 am"));
}

#[test]
fn w11_the_crew_has_the_skill_and_is_there_its_helpers_need_not() {
    refused("W5", &of(&json!({})), &by("south", &["north"], "7 am", "7 am"));
    // North is away on Monday afternoon: south does not go on alone, though it is two.
    let north = json!({"away": [{"on": "2026-12-07 pm"}]});
    let two = helped(&json!({"half_days": 2}));
    let away = book(&json!({"crews": crews(&north, &json!({})), "jobs": [two]}));
    holds(&away, &by("north", &["south"], "7 am", "8 am"));
    breaks("W2", &away, &by("north", &["south"], "7 am", "7 pm"));
    breaks("W2", &away, &by("north", &["south"], "7 pm", "8 pm"));
}

#[test]
fn w11_each_helper_is_there_once_at_least() {
    let two = json!({"half_days": 2});
    // Away on Monday: on it from Monday pm to Tuesday am south is there once, on Monday never.
    let away = south_away("07", &two);
    holds(&away, &by("north", &["south"], "7 pm", "8 am"));
    refused("W11", &away, &by("north", &["south"], "7 am", "7 pm"));
    holds(&away, &by("north", &[], "7 am", "7 pm"));
    // It is there in the pause only.
    let pause = south_away("07 am", &with(two, &json!({"no_access": ["2026-12-07 pm"]})));
    holds(&pause, &by("north", &["south"], "7 am", "8 am"));
    let gone = json!({"away": [{"on": "2026-12-07 am/2026-12-08 am", "people": 1}, {"on": "2026-12-07 am", "people": 1},
        {"on": "2026-12-08 am", "people": 1}]});
    let jobs = json!([helped(&json!({"half_days": 2, "no_access": ["2026-12-07 pm"]}))]);
    let only_then = book(&json!({"crews": crews(&json!({}), &gone), "jobs": jobs}));
    refused("W11", &only_then, &by("north", &["south"], "7 am", "8 am"));
}

#[test]
fn w4_a_helper_is_at_one_step_and_free_where_the_step_pauses() {
    let other = small_job("y", "b", &json!({"skill": "carpentry"}));
    let jobs = json!([helped(&json!({"half_days": 2, "no_access": ["2026-12-07 pm"]})), other]);
    let book_of = book(&json!({"crews": crews(&json!({}), &json!({})), "jobs": jobs}));
    let both = |at: &str| steps(&[row("north", &["south"], "7 am", "8 am"), step("y/w", "south", at, at, &[])]);
    refused("W4", &book_of, &both("7 am"));
    refused("W4", &book_of, &both("8 am"));
    holds(&book_of, &both("7 pm"));
    holds(&book_of, &both("8 pm"));
    // Helping two crews at once.
    let crews = json!([{"id": "north", "people": 2, "skills": ["insulation"]},
        {"id": "south", "people": 2, "skills": ["insulation"]}, {"id": "east", "people": 1, "skills": ["carpentry"]}]);
    let y = small_job("y", "b", &json!({"help": 1}));
    let pair = book(&json!({"crews": crews, "jobs": [helped(&json!({})), y]}));
    let y_row = |at: &str| with(step("y/w", "south", at, at, &[]), &json!({"with": ["east"]}));
    refused("W4", &pair, &steps(&[row("north", &["east"], "7 am", "7 am"), y_row("7 am")]));
    holds(&pair, &steps(&[row("north", &["east"], "7 am", "7 am"), y_row("7 pm")]));
}

#[test]
fn c11_help_is_paid_where_it_comes_and_between_usual_partners_not() {
    // Monday is without south: two of the four half-days.
    let four = json!({"half_days": 4});
    assert_eq!(help_cost(&of(&four), &by("north", &["south"], "7 am", "8 pm")), 8000);
    assert_eq!(help_cost(&south_away("07", &four), &by("north", &["south"], "7 am", "8 pm")), 4000);
    assert_eq!(help_cost(&of(&four), &by("north", &[], "7 am", "8 pm")), 0);
    // Each helper by itself.
    let both = of(&json!({"help": 2}));
    assert_eq!(help_cost(&both, &by("north", &["south", "east"], "7 am", "7 am")), 4000);
    let partners = |north: Value, south: Value| {
        book(
            &json!({"crews": crews(&north, &south), "jobs": [helped(&json!({"help": 2}))], "prices": {"help_half_day": 7.5}}),
        )
    };
    let plan = by("north", &["south", "east"], "7 am", "7 am");
    // One of the two names the other, whichever; what helpers are to each other says nothing.
    assert_eq!(help_cost(&partners(json!({"usual_with": ["south"]}), json!({})), &plan), 750);
    assert_eq!(help_cost(&partners(json!({}), json!({"usual_with": ["north"]})), &plan), 750);
    assert_eq!(help_cost(&partners(json!({}), json!({"usual_with": ["east"]})), &plan), 1500);
    assert_eq!(help_cost(&partners(json!({"usual_with": ["south", "east"]}), json!({})), &plan), 0);
}

#[test]
fn c4_counts_the_crews_of_the_rows_alone() {
    let two = json!([{"id": "w", "skill": "insulation", "half_days": 1, "help": 1}, {"id": "v", "skill": "carpentry", "half_days": 1}]);
    let book = book(&json!({"crews": crews(&json!({}), &json!({})), "jobs": [job("x", "a", &two)]}));
    let extra = |helpers: &[&str], next: &str| {
        let rows = [row("north", helpers, "7 am", "7 am"), step("x/v", next, "7 pm", "7 pm", &[])];
        judge(&book, &steps(&rows)).costs.crews.to_string()
    };
    assert_eq!(extra(&["south"], "south"), "150.00");
    assert_eq!(extra(&["east"], "south"), "150.00");
    let alone = of(&json!({}));
    assert_eq!(judge(&alone, &by("north", &["south"], "7 am", "7 am")).costs.crews.to_string(), "0.00");
}

#[test]
fn w8_a_fixed_crew_is_the_rows_and_who_helps_is_free() {
    let fixed = of(&json!({"fixed": {"crew": "north"}}));
    holds(&fixed, &by("north", &["south"], "7 am", "7 am"));
    holds(&fixed, &by("north", &["east"], "7 am", "7 am"));
    let skilled = json!([{"id": "north", "people": 2, "skills": ["insulation"]}, {"id": "south", "people": 2, "skills": ["insulation"]}]);
    let fixed = with(fixed, &json!({ "crews": skilled }));
    refused("W8", &fixed, &by("south", &["north"], "7 am", "7 am"));
}

#[test]
fn w10_the_second_span_has_the_helpers_of_the_first() {
    let split = json!({"half_days": 4, "may_split": true, "help": 2});
    let spans = |first: &[&str], second: &[&str]| {
        let back = with(row("north", second, "8 pm", "9 am"), &json!({"span": 2}));
        steps(&[row("north", first, "7 am", "7 pm"), back])
    };
    let book_of = of(&split);
    holds(&book_of, &spans(&["south"], &["south"]));
    holds(&book_of, &spans(&["south", "east"], &["east", "south"]));
    for (first, second) in [(&["south"][..], &[][..]), (&[], &["south"]), (&["south"], &["east"])] {
        breaks("W11", &book_of, &spans(first, second));
    }
    // It is there in one of them, whichever; in neither is too seldom.
    holds(&south_away("07", &split), &spans(&["south"], &["south"]));
    holds(&south_away("08 pm/2026-12-09", &split), &spans(&["south"], &["south"]));
    breaks("W11", &south_away("07/2026-12-09", &split), &spans(&["south"], &["south"]));
}

#[test]
fn c8_counts_each_crew_that_works_in_overtime_and_its_truck_hauls() {
    let shop = json!({"name": "Forge", "time_zone": "America/New_York", "overtime_days": ["sat"]});
    let x = helped(&json!({"half_days": 2, "needs": [{"kind": "machine"}]}));
    let south_comes =
        |south: Value| book(&json!({"shop": shop, "crews": crews(&json!({}), &south), "jobs": [x.clone()]}));
    let by_truck = |truck: &str, helpers: &[&str]| {
        let row = with(row("north", helpers, "12 am", "12 pm"), &json!({"overtime": true, "units": ["m1"]}));
        with(steps(&[row]), &json!({"hauls": [haul("m1", "lot", "a", "12 am", truck)]}))
    };
    let overtime = |book: &Value, plan: &Value| judge(book, plan).costs.overtime.to_string();
    let all = south_comes(json!({}));
    assert_eq!(overtime(&all, &by_truck("t1", &["south"])), "960.00");
    assert_eq!(overtime(&all, &by_truck("t1", &[])), "480.00");
    // South's truck comes with south.
    holds(&all, &by_truck("t2", &["south"]));
    refused("H1", &all, &by_truck("t2", &[]));
    refused("H1", &all, &by_truck("t2", &["east"]));
    let afternoon = south_comes(json!({"away": [{"on": "2026-12-12 am"}]}));
    assert_eq!(overtime(&afternoon, &by_truck("t1", &["south"])), "720.00");
    refused("H1", &afternoon, &by_truck("t2", &["south"]));
    holds(&afternoon, &by_truck("t1", &["south"]));
}
