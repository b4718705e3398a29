//! Rules C17 and C18: what it costs not to be home, and to stand where the work is over.

use serde_json::{Value, json};
use yardless_plan::Costs;

use crate::forge::{book, haul, holds, judge, plan, refused, small_job, step, with};

/// Two jobs, at a and at b; x takes the trailer at a on Tuesday. The drive from a to b takes a half-day.
fn yard(parts: &Value) -> Value {
    let drives = json!([{"from": "lot", "to": "a", "minutes": 30}, {"from": "lot", "to": "b", "minutes": 40}, {"from": "a", "to": "b", "minutes": 100}]);
    let jobs = json!([small_job("x", "a", &json!({"needs": [{"kind": "trailer"}]})), small_job("y", "a", &json!({}))]);
    with(book(&json!({"drives": drives, "jobs": jobs})), parts)
}

/// x on Tuesday am, and y in a half-day or left out, with the trailer brought on Tuesday and hauled on.
fn hauled(y: Option<&str>, hauls: &[Value]) -> Value {
    let mut all = vec![haul("tr", "lot", "a", "8 am", "t1")];
    all.extend_from_slice(hauls);
    let mut steps = vec![step("x/w", "north", "8 am", "8 am", &["tr"])];
    steps.extend(y.map(|at| step("y/w", "south", at, at, &[])));
    let left_out = if y.is_some() { json!([]) } else { json!([{"job": "y", "why": "forged"}]) };
    plan(&json!({"steps": steps, "hauls": all, "left_out": left_out}))
}

fn costs(book: &Value, plan: &Value) -> Costs {
    let verdict = judge(book, plan);
    assert!(verdict.holds(), "{plan}: {:?}", verdict.breaches);
    verdict.costs
}

fn to_be_home(place: &str, more: &Value) -> Value {
    let mut book = yard(&json!({}));
    book["equipment"][0]["home_by"] = with(json!({"date": "2026-12-09", "place": place, "late_day": 10}), more);
    book
}

#[test]
fn c17_counts_the_dates_after_its_own_as_which_begins_a_unit_is_elsewhere() {
    let home = |book: &Value, hauls: &[Value]| costs(book, &hauled(Some("8 am"), hauls)).home.to_string();
    let back = |when: &str| haul("tr", "a", "lot", when, "t1");
    let lot = to_be_home("lot", &json!({}));
    // Wednesday 9 is its date: Thursday, Friday, and the five of the next week.
    assert_eq!(home(&lot, &[]), "70.00");
    assert_eq!(home(&lot, &[back("9 pm evening")]), "0.00");
    assert_eq!(home(&lot, &[back("10 am")]), "10.00");
    assert_eq!(home(&lot, &[back("10 pm evening")]), "10.00");
    assert_eq!(home(&lot, &[back("11 am")]), "20.00");
    // Home in time, and away again.
    assert_eq!(home(&lot, &[back("8 pm"), haul("tr", "lot", "b", "16 am", "t1")]), "20.00");
    // On the road to b all of Wednesday pm, or of Thursday am.
    let on = |when: &str| [haul("tr", "a", "b", when, "t1")];
    assert_eq!(home(&to_be_home("b", &json!({})), &on("9 pm")), "0.00");
    assert_eq!(home(&to_be_home("b", &json!({})), &on("10 am")), "10.00");
}

#[test]
fn c17_counts_worked_dates_at_the_unit_s_price_or_the_list_s() {
    let home = |book: &Value| costs(book, &hauled(Some("8 am"), &[])).home.to_string();
    let on = |date: &str| home(&to_be_home("lot", &json!({ "date": date })));
    // Of the last Friday all, Monday and Tuesday among them: on Monday and as Tuesday begins it stands at the lot.
    assert_eq!(on("2026-12-04"), "80.00");
    assert_eq!((on("2026-12-17"), on("2026-12-18"), on("2027-03-01")), ("10.00".into(), "0.00".into(), "0.00".into()));
    let mut list = to_be_home("lot", &json!({}));
    list["equipment"][0]["home_by"].as_object_mut().expect("an object").remove("late_day");
    assert_eq!(home(&list), "700.00");
    list["prices"] = json!({"late_day": 3});
    assert_eq!(home(&list), "21.00");
    // A date with one half open counts, one that is closed does not.
    let shop =
        json!({"name": "Forge", "time_zone": "America/New_York", "closed": ["2026-12-10 am", "2026-12-14/2026-12-18"]});
    assert_eq!(home(&with(to_be_home("lot", &json!({})), &json!({ "shop": shop }))), "20.00");
    // As Thursday begins, at noon then, it is still at a, though hauled before the half-day is worked.
    let closed = with(to_be_home("lot", &json!({})), &json!({ "shop": shop }));
    let noon = hauled(Some("8 am"), &[haul("tr", "a", "lot", "10 pm", "t1")]);
    assert_eq!(costs(&closed, &noon).home.to_string(), "10.00");
    // What is carried as well.
    let mut carried = to_be_home("lot", &json!({}));
    carried["equipment"][0]["moves"] = json!("carried");
    assert_eq!(home(&carried), "70.00");
}

fn to_be_cleared(days: u32) -> Value {
    let clear = json!({"days": days, "late_day": 10});
    yard(
        &json!({"places": [{"id": "lot"}, {"id": "a", "clear_by": clear}, {"id": "b"}, {"id": "hill", "road": "hill road"}]}),
    )
}

#[test]
fn c18_counts_the_dates_after_the_last_end_at_a_place() {
    let clear =
        |days: u32, y: Option<&str>, hauls: &[Value]| costs(&to_be_cleared(days), &hauled(y, hauls)).clear.to_string();
    let back = |when: &str| haul("tr", "a", "lot", when, "t1");
    // Over on Tuesday 8, to be gone by the end of it: three dates of that week, and five.
    assert_eq!(clear(0, Some("8 am"), &[]), "80.00");
    assert_eq!(clear(0, Some("8 am"), &[back("8 pm evening")]), "0.00");
    assert_eq!(clear(0, Some("8 am"), &[back("9 am")]), "10.00");
    assert_eq!(clear(1, Some("8 am"), &[back("9 pm evening")]), "0.00");
    assert_eq!(clear(1, Some("8 am"), &[back("10 am")]), "10.00");
    // To the last of the jobs there; three dates after Friday are Monday; after the weeks nothing.
    assert_eq!(clear(0, Some("11 pm"), &[back("14 am")]), "10.00");
    assert_eq!(clear(3, Some("11 pm"), &[back("14 pm evening")]), "0.00");
    assert_eq!(clear(3, Some("11 pm"), &[back("15 am")]), "10.00");
    assert_eq!(clear(11, Some("8 am"), &[]), "0.00");
    // One that is left out is not waited for.
    assert_eq!(clear(0, None, &[]), "80.00");
}

#[test]
fn c18_counts_all_that_is_towed_and_nothing_while_work_there_is_to_come() {
    let clear = |book: &Value| costs(book, &hauled(None, &[])).clear.to_string();
    let mut both = to_be_cleared(0);
    both["equipment"][1]["place"] = json!("a");
    assert_eq!(clear(&both), "160.00");
    both["equipment"][0]["moves"] = json!("carried");
    assert_eq!(clear(&both), "80.00");
    // y comes later: then nothing is over. No `y` in the plan's rows, but among what is later.
    let mut later = to_be_cleared(0);
    later["jobs"][1]["earliest"] = json!("2027-01-04");
    let mut plan = hauled(None, &[]);
    plan["left_out"] = json!([]);
    plan["later"] = json!([{"job": "y"}]);
    assert_eq!(costs(&later, &plan).clear.to_string(), "0.00");
    // No job there is done.
    let none = json!({"steps": [], "left_out": [{"job": "x", "why": "forged"}, {"job": "y", "why": "forged"}]});
    assert_eq!(costs(&both, &crate::forge::plan(&none)).clear.to_string(), "0.00");
    // Without a price of its own the list's.
    let mut list = to_be_cleared(0);
    list["places"][1]["clear_by"] = json!({"days": 0});
    list["prices"] = json!({"late_day": 2.5});
    assert_eq!(clear(&list), "20.00");
}

#[test]
fn c18_counts_from_what_was_done_before_these_weeks() {
    let done = json!({"crew": "north", "start": "2026-12-04 am", "end": "2026-12-04 pm"});
    let cleared = |days: u32, hauls: &[Value]| {
        let mut book = to_be_cleared(days);
        book["jobs"] = json!([small_job("x", "a", &json!({"needs": [{"kind": "trailer"}], "done": done}))]);
        book["equipment"][0]["place"] = json!("a");
        let row = json!({"job": "x", "step": "w", "way": "usual", "crew": "north", "start": "2026-12-04 am", "end": "2026-12-04 pm"});
        costs(&book, &plan(&json!({"steps": [row], "hauls": hauls}))).clear.to_string()
    };
    // Friday 4 December: by Monday 7, three dates later, all but that Monday; by Sunday all.
    assert_eq!((cleared(3, &[]), cleared(2, &[])), ("90.00".into(), "100.00".into()));
    let back = |when: &str| [haul("tr", "a", "lot", when, "t1")];
    assert_eq!((cleared(3, &back("7 pm evening")), cleared(2, &back("7 am"))), ("0.00".into(), "10.00".into()));
}

#[test]
fn c17_and_c18_are_what_the_plan_says() {
    let plan = hauled(Some("8 am"), &[]);
    // 60 of towing, twice 2 x 2 of waiting and 2 cents, and 70 or 80.
    let said = |cost: f64, term: &str, is: i64| {
        let mut costs = json!({"hauls": 60, "waiting": 8.04});
        costs[term] = json!(is);
        with(plan.clone(), &json!({"cost": cost, "costs": costs}))
    };
    let home = to_be_home("lot", &json!({}));
    holds(&home, &said(138.04, "home", 70));
    refused("C17", &home, &said(138.04, "home", 60));
    refused("C17", &home, &said(138.04, "home", 80));
    let clear = to_be_cleared(0);
    holds(&clear, &said(148.04, "clear", 80));
    refused("C18", &clear, &said(148.04, "clear", 70));
    refused("C18", &clear, &said(148.04, "clear", 90));
    refused("cost", &clear, &with(plan.clone(), &json!({"cost": 68.04})));
}
