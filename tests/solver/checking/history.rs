//! Rules N1, N3 and W9: planning on from Wednesday 9 December am, index 4.

use serde_json::{Value, json};
use yardless_book::Book;
use yardless_book::half_day::{Horizon, parse_date};
use yardless_book::money::Cents;
use yardless_check::{Verdict, check};
use yardless_plan::Plan;
use yardless_plan::shop::{KeptStep, Shop};

use crate::forge::{book, haul, job, plan, small_job, step, with};

fn judge(book: &Value, plan: &Value, kept: &[KeptStep]) -> Verdict {
    let book: Book = serde_json::from_value(book.clone()).expect("a book");
    let horizon = Horizon::new(parse_date("2026-12-07").expect("a date"), 2).expect("a Monday");
    let shop = Shop::again(&book, horizon, 4, Some(kept)).unwrap_or_else(|faults| panic!("{faults:?}"));
    let plan = with(with(plan.clone(), &json!({ "now": "2026-12-09 am" })), &json!({ "cost": 0 }));
    let mut plan: Plan = serde_json::from_value(plan).expect("a plan");
    plan.cost = check(&shop, &plan).costs.total();
    check(&shop, &plan)
}

#[track_caller]
fn holds(book: &Value, plan: &Value) {
    let verdict = judge(book, plan, &[]);
    assert!(verdict.holds(), "{:#?}", verdict.breaches);
}

#[track_caller]
fn refused(rule: &str, book: &Value, plan: &Value) {
    let verdict = judge(book, plan, &[]);
    let rules: Vec<&str> = verdict.breaches.iter().map(|breach| breach.rule.text()).collect();
    assert!(!rules.is_empty() && rules.iter().all(|found| *found == rule), "{rule}? {:#?}", verdict.breaches);
}

fn rows(rows: &[Value]) -> Value {
    plan(&json!({ "steps": rows }))
}

/// Packing with machine 1, which stands there, begun on Monday am with a half-day left.
fn packing() -> Value {
    let unit = |id: &str, place: &str| json!({"id": id, "kinds": ["machine"], "moves": "carried", "place": place});
    let progress = json!({"crew": "north", "start": "2026-12-07 am", "left": 1, "units": ["m1"]});
    let pack =
        json!({"id": "w", "skill": "insulation", "half_days": 5, "needs": [{"kind": "machine"}], "progress": progress});
    book(&json!({"equipment": [unit("m1", "a"), unit("m2", "a")], "jobs": [job("x", "a", &json!([pack]))]}))
}

#[test]
fn n1_what_is_in_progress_goes_on_as_it_began() {
    let book = packing();
    holds(&book, &rows(&[step("x/w", "north", "7 am", "9 am", &["m1"])]));
    refused("N1", &book, &rows(&[step("x/w", "south", "7 am", "9 am", &["m1"])]));
    refused("N1", &book, &rows(&[step("x/w", "north", "8 am", "9 am", &["m1"])]));
    refused("W3", &book, &rows(&[step("x/w", "north", "7 am", "9 pm", &["m1"])]));
    refused("E2", &book, &rows(&[step("x/w", "north", "7 am", "9 am", &["m2"])]));
    // Left out, though its crew is free and its machine stands there.
    refused("N1", &book, &plan(&json!({"left_out": [{"job": "x"}]})));
}

#[test]
fn w10_what_is_in_progress_may_be_let_go_and_resumed() {
    let mut book = packing();
    let resumed =
        |start: &str, units: &[&str]| rows(&[with(step("x/w", "north", start, start, units), &json!({"span": 2}))]);
    refused("W10", &book, &resumed("9 pm", &["m2"]));
    book["jobs"][0]["steps"][0]["may_split"] = json!(true);
    // Let go now, on Wednesday am, and resumed a half-day later with the other machine.
    holds(&book, &resumed("9 pm", &["m2"]));
    refused("W10", &book, &resumed("9 am", &["m2"]));
    refused("E2", &book, &resumed("9 pm", &[]));
}

#[test]
fn w10_what_was_left_before_now_is_only_come_back_to() {
    let mut book = packing();
    let step_of = |book: &mut Value, parts: Value| {
        let step = &mut book["jobs"][0]["steps"][0];
        *step = with(step.clone(), &parts);
    };
    let progress = json!({"crew": "north", "start": "2026-12-07 am", "left": 1, "units": []});
    step_of(&mut book, json!({"may_split": true, "progress": progress}));
    book["equipment"][0]["place"] = json!("b");
    let back =
        |start: &str, units: &[&str]| rows(&[with(step("x/w", "north", start, start, units), &json!({"span": 2}))]);
    // At once, with any machine, or later; a half-day lay between before now.
    holds(&book, &back("9 am", &["m2"]));
    holds(&book, &back("10 pm", &["m2"]));
    refused("E2", &book, &back("9 am", &[]));
    refused("E2", &book, &back("9 am", &["m1"]));
    refused("W3", &book, &rows(&[with(step("x/w", "north", "9 am", "9 pm", &["m2"]), &json!({"span": 2}))]));
    refused("N1", &book, &rows(&[with(step("x/w", "south", "9 am", "9 am", &["m2"]), &json!({"span": 2}))]));
    // It does not go on as if it had not been left.
    refused("W10", &book, &rows(&[step("x/w", "north", "7 am", "9 am", &[])]));
    refused("N1", &book, &plan(&json!({"left_out": [{"job": "x"}]})));
    let costs = judge(&book, &back("9 am", &["m2"]), &[]).costs;
    // It ends at index 4: 2 x 4 and a cent each half-day.
    assert_eq!((costs.returns, costs.waiting), (Cents(8000), Cents(804)));
    // Without need of a unit it goes on, whatever it holds.
    step_of(&mut book, json!({"needs": []}));
    holds(&book, &rows(&[step("x/w", "north", "7 am", "9 am", &[])]));
    refused("W10", &book, &back("9 am", &[]));
}

#[test]
fn w10_power_is_a_unit_too_where_there_was_none_at_the_start() {
    let dark = |from: &str| {
        let mut book = packing();
        let progress = json!({"crew": "north", "start": "2026-12-07 am", "left": 1});
        let step = &mut book["jobs"][0]["steps"][0];
        *step = with(step.clone(), &json!({"needs": [], "needs_power": true, "may_split": true, "progress": progress}));
        book["places"][1]["power_from"] = json!(from);
        book["equipment"]
            .as_array_mut()
            .expect("units")
            .push(json!({"id": "gen", "kinds": ["generator"], "moves": "carried", "place": "a"}));
        book
    };
    let back = |units: &[&str]| rows(&[with(step("x/w", "north", "9 am", "9 am", units), &json!({"span": 2}))]);
    let on = rows(&[step("x/w", "north", "7 am", "9 am", &[])]);
    holds(&dark("never"), &back(&["gen"]));
    refused("E5", &dark("never"), &back(&[]));
    refused("W10", &dark("never"), &on);
    // There is power by now: its second span holds nothing.
    holds(&dark("2026-12-09"), &back(&[]));
    refused("E2", &dark("2026-12-09"), &back(&["gen"]));
    // There was power when it started: it has held nothing, and goes on.
    holds(&dark("2026-12-07"), &on);
    refused("W10", &dark("2026-12-07"), &back(&[]));
}

#[test]
fn n1_one_unit_is_not_taken_for_both_a_need_and_power() {
    // Both is a machine and gives power, and stands there; the rest of x wants a machine, and power besides.
    let unit = json!({"id": "both", "kinds": ["machine", "generator"], "moves": "carried", "place": "a"});
    let done = json!({"crew": "north", "start": "2026-12-07 am", "end": "2026-12-07 am"});
    let begun = json!({"id": "v", "skill": "insulation", "half_days": 1, "done": done});
    let rest = |power: bool| json!({"id": "w", "skill": "insulation", "half_days": 1, "needs": [{"kind": "machine"}], "needs_power": power});
    let left_out = plan(&json!({"left_out": [{"job": "x"}]}));
    let book_of = |power: bool| {
        let mut book =
            book(&json!({"equipment": [unit.clone()], "jobs": [job("x", "a", &json!([begun.clone(), rest(power)]))]}));
        book["places"][1]["power_from"] = json!("never");
        book
    };
    holds(&book_of(true), &left_out);
    refused("N1", &book_of(false), &left_out);
}

#[test]
fn n1_nothing_is_decided_before_now() {
    let two = book(&json!({"jobs": [small_job("x", "a", &json!({}))]}));
    holds(&two, &rows(&[step("x/w", "north", "9 am", "9 am", &[])]));
    refused("N1", &two, &rows(&[step("x/w", "north", "8 pm", "8 pm", &[])]));
    let hauled = |when: &str| plan(&json!({"left_out": [{"job": "x"}], "hauls": [haul("m1", "lot", "a", when, "t1")]}));
    holds(&two, &hauled("9 am"));
    refused("N1", &two, &hauled("8 pm"));
}

#[test]
fn n1_what_is_done_is_as_the_book_says_and_what_follows_waits() {
    let done = json!({"id": "w", "skill": "insulation", "half_days": 1,
        "done": {"crew": "north", "start": "2026-12-08 pm", "end": "2026-12-08 pm"}});
    let after = json!({"id": "v", "skill": "insulation", "half_days": 1,
        "after": [{"step": "w", "wait_half_days": 2, "within_half_days": 3}]});
    let book = book(&json!({"jobs": [job("x", "a", &json!([done, after]))]}));
    let was = step("x/w", "north", "8 pm", "8 pm", &[]);
    // The end is index 3: 3 + 1 + 2 = 6 is Thursday am, and 3 + 1 + 3 = 7 the last.
    for (start, rule) in [("9 pm", Some("W6")), ("10 am", None), ("10 pm", None), ("11 am", Some("W6"))] {
        let plan = rows(&[was.clone(), step("x/v", "north", start, start, &[])]);
        rule.map_or_else(|| holds(&book, &plan), |rule| refused(rule, &book, &plan));
    }
    let next = step("x/v", "north", "10 am", "10 am", &[]);
    refused("N1", &book, &rows(&[step("x/w", "south", "8 pm", "8 pm", &[]), next]));
}

#[test]
fn n1_what_is_parked_stays_from_now_to_the_end() {
    let st = json!({"id": "st", "kinds": ["staging"], "moves": "towed", "weight_lb": 3000, "place": "a"});
    let done = json!({"id": "w", "skill": "insulation", "half_days": 1,
        "done": {"crew": "north", "start": "2026-12-07 am", "end": "2026-12-07 am"}});
    let last = json!({"id": "v", "skill": "insulation", "half_days": 1});
    let parked = json!({"parked": [{"kind": "staging", "units": ["st"]}]});
    let book = book(&json!({"equipment": [st], "jobs": [with(job("x", "a", &json!([done, last])), &parked)]}));
    let made = |hauls: Value| {
        let rows = json!([step("x/v", "north", "10 am", "10 am", &[])]);
        plan(&json!({"steps": rows, "parked": [{"job": "x", "units": ["st"]}], "hauls": hauls}))
    };
    holds(&book, &made(json!([])));
    let away = json!([haul("st", "a", "b", "9 am", "t1"), haul("st", "b", "a", "10 am", "t1")]);
    refused("E3", &book, &made(away));
}

#[test]
fn c7_a_change_costs_twice_within_notice_and_once_after_it() {
    let told = |start: &str| KeptStep {
        job: "x".into(),
        step: "w".into(),
        crew: "north".into(),
        with: Vec::new(),
        start: start.parse().expect("a half-day"),
    };
    let book = book(&json!({"jobs": [small_job("x", "a", &json!({}))]}));
    let changes = |row: Value, kept: KeptStep| judge(&book, &rows(&[row]), &[kept]).costs.changes;
    let on = |start: &str, crew: &str| step("x/w", crew, start, start, &[]);
    assert_eq!(changes(on("10 am", "north"), told("2026-12-10 am")), Cents(0));
    assert_eq!(changes(on("10 pm", "north"), told("2026-12-10 am")), Cents(12_000));
    assert_eq!(changes(on("10 am", "south"), told("2026-12-10 am")), Cents(12_000));
    // Six worked half-days of notice: Wednesday, Thursday, Friday; the weekend gives none.
    assert_eq!(changes(on("10 am", "north"), told("2026-12-11 pm")), Cents(12_000));
    assert_eq!(changes(on("10 am", "north"), told("2026-12-14 am")), Cents(6_000));
    // What was to start before now is history.
    assert_eq!(changes(on("10 am", "north"), told("2026-12-08 pm")), Cents(0));
}

/// The same, helped by south since it began; east is one.
fn packing_with_south() -> Value {
    let crew = |id: &str, people: u32| json!({"id": id, "people": people, "skills": ["insulation"]});
    let mut book = packing();
    book["crews"] = json!([crew("north", 2), crew("south", 2), crew("east", 1)]);
    book["jobs"][0]["steps"][0]["help"] = json!(1);
    book["jobs"][0]["steps"][0]["progress"]["with"] = json!(["south"]);
    book
}

fn helped(helpers: &[&str], start: &str, end: &str) -> Value {
    with(step("x/w", "north", start, end, &["m1"]), &json!({ "with": helpers }))
}

#[test]
fn n1_helpers_go_on_with_what_they_help() {
    let mut book = packing_with_south();
    holds(&book, &rows(&[helped(&["south"], "7 am", "9 am")]));
    refused("N1", &book, &rows(&[helped(&[], "7 am", "9 am")]));
    refused("N1", &book, &rows(&[helped(&["east"], "7 am", "9 am")]));
    let paid = judge(&book, &rows(&[helped(&["south"], "7 am", "9 am")]), &[]).costs;
    // Help is paid from now on: one half-day.
    let paid = serde_json::to_value(paid).expect("JSON");
    assert_eq!(serde_json::from_value(paid["help"].clone()).unwrap_or(Cents(0)), Cents(2_000));
    // South works on nothing else meanwhile.
    let other = small_job("y", "b", &json!({}));
    book["jobs"].as_array_mut().expect("jobs").push(other);
    let beside = |crew: &str| rows(&[helped(&["south"], "7 am", "9 am"), step("y/w", crew, "9 am", "9 am", &[])]);
    refused("W4", &book, &beside("south"));
    holds(&book, &beside("east"));
    // Who was there before now need not be there again, and is then free of charge.
    let mut away = packing_with_south();
    away["crews"][1]["away"] = json!([{"on": "2026-12-09/2026-12-18"}]);
    holds(&away, &rows(&[helped(&["south"], "7 am", "9 am")]));
    // More of them than a new plan could choose: it happened so.
    away["jobs"][0]["steps"][0]["help"] = json!(0);
    holds(&away, &rows(&[helped(&["south"], "7 am", "9 am")]));
}

#[test]
fn n1_who_helped_with_what_is_done_is_as_the_book_says() {
    let done = json!({"id": "w", "skill": "insulation", "half_days": 1,
        "done": {"crew": "north", "with": ["south"], "start": "2026-12-07 am", "end": "2026-12-07 am"}});
    let next = json!({"id": "v", "skill": "insulation", "half_days": 1});
    let book = book(&json!({"jobs": [job("x", "a", &json!([done, next]))]}));
    let rest = step("x/v", "north", "9 am", "9 am", &[]);
    let was = |helpers: &[&str]| with(step("x/w", "north", "7 am", "7 am", &[]), &json!({ "with": helpers }));
    holds(&book, &rows(&[was(&["south"]), rest.clone()]));
    refused("N1", &book, &rows(&[was(&[]), rest]));
}

#[test]
fn w10_what_is_resumed_has_the_helpers_that_it_had() {
    let mut book = packing_with_south();
    book["jobs"][0]["steps"][0]["may_split"] = json!(true);
    let resumed = |helpers: &[&str]| rows(&[with(helped(helpers, "9 pm", "9 pm"), &json!({"span": 2}))]);
    holds(&book, &resumed(&["south"]));
    for helpers in [&[][..], &["east"]] {
        let verdict = judge(&book, &resumed(helpers), &[]);
        assert!(!verdict.holds(), "{helpers:?}");
    }
    // South need not be there again.
    book["crews"][1]["away"] = json!([{"on": "2026-12-09/2026-12-18"}]);
    holds(&book, &resumed(&["south"]));
}

#[test]
fn c7_other_helpers_are_another_crew() {
    let mut book = book(&json!({"jobs": [small_job("x", "a", &json!({"help": 2}))]}));
    let crew = |id: &str| json!({"id": id, "people": 2, "skills": ["insulation"]});
    book["crews"] = json!([crew("north"), crew("south"), crew("east")]);
    let row = |helpers: &[&str], at: &str| with(step("x/w", "north", at, at, &[]), &json!({ "with": helpers }));
    let changes = |told: &[&str], told_at: &str, now: &[&str], at: &str| {
        let kept = with(rows(&[row(told, told_at)]), &json!({"cost": 0}));
        let kept = serde_json::from_value::<Plan>(kept).expect("a plan").kept();
        judge(&book, &rows(&[row(now, at)]), &kept).costs.changes
    };
    let told = ["south", "east"];
    assert_eq!(changes(&told, "10 am", &["south", "east"], "10 am"), Cents(0));
    // In any order.
    assert_eq!(changes(&told, "10 am", &["east", "south"], "10 am"), Cents(0));
    for now in [&["south"][..], &[]] {
        assert_eq!(changes(&told, "10 am", now, "10 am"), Cents(12_000));
    }
    assert_eq!(changes(&[], "10 am", &["south"], "10 am"), Cents(12_000));
    // Another half of the same date is cheap with the same helpers only.
    book["prices"] = json!({"change_same_date": 5});
    let changes = |now: &[&str], at: &str| {
        let kept = with(rows(&[row(&["south"], "10 am")]), &json!({"cost": 0}));
        let kept = serde_json::from_value::<Plan>(kept).expect("a plan").kept();
        judge(&book, &rows(&[row(now, at)]), &kept).costs.changes
    };
    assert_eq!(changes(&["south"], "10 pm"), Cents(1_000));
    assert_eq!(changes(&["east"], "10 pm"), Cents(12_000));
}

#[test]
fn w9_overtime_is_worked_where_the_row_says_so_and_hauls_go_with_the_crew() {
    let shop = json!({"name": "Forge", "time_zone": "America/New_York", "overtime_days": ["sat"]});
    let book = book(
        &json!({"shop": shop, "jobs": [small_job("x", "a", &json!({"half_days": 2, "needs": [{"kind": "machine"}]}))]}),
    );
    let made = |start: &str, end: &str, overtime: bool, hauls: Value| {
        let row = with(step("x/w", "north", start, end, &["m1"]), &json!({ "overtime": overtime }));
        plan(&json!({"steps": [row], "hauls": hauls}))
    };
    let by = |truck: &str| json!([haul("m1", "lot", "a", "12 am", truck)]);
    let before = json!([haul("m1", "lot", "a", "11 pm", "t1")]);
    holds(&book, &made("12 am", "12 pm", true, by("t1")));
    assert_eq!(judge(&book, &made("12 am", "12 pm", true, by("t1")), &[]).costs.overtime, Cents(48_000));
    refused("H1", &book, &made("12 am", "12 pm", true, by("t2")));
    // Friday pm and Monday am without overtime; with it the Saturday is worked, and the end is another.
    holds(&book, &made("11 pm", "14 am", false, before.clone()));
    holds(&book, &made("11 pm", "12 am", true, before.clone()));
    refused("W3", &book, &made("11 pm", "14 am", true, before.clone()));
    refused("W2", &book, &made("12 am", "14 am", false, before));
}

#[test]
fn n1_a_job_whose_parked_unit_its_step_wants_besides_has_no_end() {
    let done = json!({"id": "w", "skill": "insulation", "half_days": 1,
        "done": {"crew": "north", "start": "2026-12-07 am", "end": "2026-12-07 am"}});
    let last = json!({"id": "v", "skill": "insulation", "half_days": 1, "needs": [{"kind": "machine"}]});
    let unit = |id: &str| json!({"id": id, "kinds": ["machine"], "moves": "carried", "place": "a"});
    let parked = json!({"parked": [{"kind": "machine", "units": ["m1"]}]});
    let made = |units: &[&str]| {
        let units: Vec<Value> = units.iter().map(|id| unit(id)).collect();
        book(&json!({"equipment": units, "jobs": [with(job("x", "a", &json!([done, last])), &parked)]}))
    };
    let left_out = plan(&json!({"left_out": [{"job": "x"}]}));
    holds(&made(&["m1"]), &left_out);
    refused("N1", &made(&["m1", "m2"]), &left_out);
}
