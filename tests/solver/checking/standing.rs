//! Rules C12 and C13: what standing and hire cost.

use serde_json::{Value, json};
use yardless_plan::Costs;

use crate::forge::{book, haul, holds, judge, plan, refused, small_job, step, with};

/// Places with a price but the lot; x takes the trailer at a on Tuesday. The drive from the lot to b takes a half-day.
fn streets(parts: &Value) -> Value {
    let places = json!([{"id": "lot"}, {"id": "a", "stand_half_day": 10}, {"id": "b", "stand_half_day": 3.5}, {"id": "hill", "road": "hill road"}]);
    let drives = json!([{"from": "lot", "to": "a", "minutes": 30}, {"from": "lot", "to": "b", "minutes": 100}, {"from": "a", "to": "b", "minutes": 100}]);
    let job = small_job("x", "a", &json!({"needs": [{"kind": "trailer"}]}));
    with(book(&json!({"places": places, "drives": drives, "jobs": [job]})), parts)
}

fn hauled(hauls: &Value) -> Value {
    plan(&json!({"steps": [step("x/w", "north", "8 am", "8 am", &["tr"])], "hauls": hauls}))
}

fn costs(book: &Value, hauls: &Value) -> Costs {
    let (plan, verdict) = (hauled(hauls), judge(book, &hauled(hauls)));
    assert!(verdict.holds(), "{plan}: {:?}", verdict.breaches);
    verdict.costs
}

#[test]
fn c12_counts_worked_half_days_after_the_hauls_of_their_start_held_or_not() {
    let standing = |book: &Value, hauls: Value| costs(book, &hauls).standing.to_string();
    let come = |when: &str| haul("tr", "lot", "a", when, "t1");
    // From Tuesday am to Friday 18 pm: 8 half-days and 10.
    assert_eq!(standing(&streets(&json!({})), json!([come("8 am")])), "180.00");
    // There since noon of Monday; brought in the evening it is at the lot in that half-day.
    assert_eq!(standing(&streets(&json!({})), json!([come("7 pm")])), "190.00");
    assert_eq!(standing(&streets(&json!({})), json!([come("7 pm evening")])), "180.00");
    // Back at noon, or in the evening, when it still stood there in the pm.
    let back = |when: &str| haul("tr", "a", "lot", when, "t1");
    assert_eq!(standing(&streets(&json!({})), json!([come("8 am"), back("8 pm")])), "10.00");
    assert_eq!(standing(&streets(&json!({})), json!([come("8 am"), back("8 pm evening")])), "20.00");
    // Days off cost nothing.
    let shop =
        json!({"name": "Forge", "time_zone": "America/New_York", "closed": ["2026-12-09 am", "2026-12-14/2026-12-18"]});
    assert_eq!(standing(&streets(&json!({ "shop": shop })), json!([come("8 am")])), "70.00");
    // What is carried stands for nothing.
    let mut carried = streets(&json!({}));
    carried["equipment"][0]["moves"] = json!("carried");
    assert_eq!(standing(&carried, json!([come("8 am")])), "0.00");
}

#[test]
fn c12_on_the_road_is_the_price_of_the_place_that_it_left() {
    let on = |to: &str| {
        let hauls = json!([haul("tr", "lot", "a", "8 am", "t1"), haul("tr", "a", to, "9 am", "t1")]);
        costs(&streets(&json!({})), &hauls).standing.to_string()
    };
    // Tuesday at a; on Wednesday am it comes to the lot at once, or is on the road to b. It then stands there on Wednesday
    // pm, two days, and five: 20 + 10 + 15 x 3.50.
    assert_eq!(on("lot"), "20.00");
    assert_eq!(on("b"), "82.50");
}

#[test]
fn c12_is_what_the_plan_says() {
    let hauls = json!([haul("tr", "lot", "a", "8 am", "t1")]);
    // 60 of towing, 2 x 2 of waiting and 2 cents.
    let said = |standing: i64| {
        let parts = json!({"cost": 244.02, "costs": {"hauls": 60, "waiting": 4.02, "standing": standing}});
        with(hauled(&hauls), &parts)
    };
    holds(&streets(&json!({})), &said(180));
    let verdict = judge(&streets(&json!({})), &said(170));
    assert_eq!(verdict.breaches.iter().map(|breach| breach.rule.text()).collect::<Vec<_>>(), ["C12"]);
    refused("C12", &streets(&json!({})), &said(190));
}

#[test]
fn c13_counts_worked_half_days_away_from_where_it_is_hired() {
    let hired = |from: &str, place: &str| {
        let mut book = streets(&json!({"places": [{"id": "lot"}, {"id": "a"}, {"id": "b"}, {"id": "hill"}]}));
        book["equipment"][0]["hire_half_day"] = json!(12.5);
        book["equipment"][0]["hire_place"] = json!(from);
        book["equipment"][0]["place"] = json!(place);
        book
    };
    let hire = |book: &Value, hauls: Value| costs(book, &hauls).hire.to_string();
    let come = |when: &str| haul("tr", "lot", "a", when, "t1");
    let back = |when: &str| haul("tr", "a", "lot", when, "t1");
    // 18 half-days from Tuesday on; held in one of them; back at noon, and in the evening; carried too.
    assert_eq!(hire(&hired("lot", "lot"), json!([come("8 am")])), "225.00");
    assert_eq!(hire(&hired("lot", "lot"), json!([come("8 am"), back("8 pm")])), "12.50");
    assert_eq!(hire(&hired("lot", "lot"), json!([come("7 pm evening"), back("8 pm evening")])), "25.00");
    let mut carried = hired("lot", "lot");
    carried["equipment"][0]["moves"] = json!("carried");
    assert_eq!(hire(&carried, json!([come("8 am"), back("8 pm")])), "12.50");
    // It stands at the job when all begins, and is hired from b: Monday, Tuesday and the half-day on the road.
    assert_eq!(hire(&hired("b", "a"), json!([haul("tr", "a", "b", "9 am", "t1")])), "62.50");
    // Hired from where it is wanted: Monday only, at the lot.
    assert_eq!(hire(&hired("a", "lot"), json!([come("8 am")])), "25.00");
    let mut free = hired("lot", "lot");
    free["equipment"][0]["hire_half_day"] = json!(0);
    assert_eq!(hire(&free, json!([come("8 am")])), "0.00");
    let said = |hire: f64| {
        let parts = json!({"cost": 289.02, "costs": {"hauls": 60, "waiting": 4.02, "hire": hire}});
        with(hauled(&json!([come("8 am")])), &parts)
    };
    holds(&hired("lot", "lot"), &said(225.0));
    refused("C13", &hired("lot", "lot"), &said(212.5));
}
