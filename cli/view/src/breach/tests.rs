use serde_json::{Value, json};
use yardless_book::Book;
use yardless_book::half_day::Horizon;
use yardless_check::check;
use yardless_plan::Plan;

use super::*;

/// The breaches of a plan of one row: `12 Elm Street` is done by a crew without the skill.
fn unskilled() -> (Shop, Vec<Breach>) {
    let step = json!({ "id": "w", "name": "Blow the attic", "skill": "carpentry", "half_days": 1 });
    let book: Book = serde_json::from_value(json!({
        "book": 1,
        "shop": { "name": "Test", "time_zone": "America/New_York" },
        "places": [{ "id": "a" }],
        "crews": [
            { "id": "north", "people": 2, "skills": ["insulation"] },
            { "id": "south", "people": 2, "skills": ["carpentry"], "away": [{ "on": "2026-12-07" }] }
        ],
        "trucks": [{ "id": "t1" }],
        "equipment": [],
        "jobs": [{ "id": "x", "name": "12 Elm Street", "place": "a", "steps": [step] }]
    }))
    .expect("a book");
    let at = "2026-12-07 am";
    let row = |crew: &str| json!({ "job": "x", "step": "w", "way": "usual", "crew": crew, "start": at, "end": at });
    let plan = |crew: &str| json!({ "plan": 1, "from": "2026-12-07", "weeks": 1, "cost": 0, "steps": [row(crew)] });
    let horizon = Horizon::new("2026-12-07".parse().expect("a date"), 1).expect("a Monday");
    let shop = Shop::new(&book, horizon).expect("no fault");
    let judged = |crew: &str| -> Vec<Breach> {
        let plan: Plan = serde_json::from_value(plan(crew)).expect("a plan");
        check(&shop, &plan).breaches.into_iter().filter(|breach| !breach.of_cost()).collect()
    };
    let breaches = [judged("south"), judged("north")].concat();
    (shop, breaches)
}

#[test]
fn breaches_speak_in_printed_names_by_rule_and_then_by_words() {
    let (shop, breaches) = unskilled();
    let listed: Vec<String> = in_order(&shop, breaches)
        .iter()
        .map(|breach| format!("{:4} {} / {}", breach.rule, says(&shop, breach), on_sheet(&shop, breach)))
        .collect();
    let away = "Blow the attic at 12 Elm Street cannot start on";
    let unskilled = "north does Blow the attic at 12 Elm Street, which takes `carpentry`, and has not that skill";
    assert_eq!(
        listed,
        [
            format!("W2   {away} 2026-12-07 am: south is away / {away} Mon 7 Dec am: south is away"),
            format!("W5   {unskilled} / {unskilled}"),
        ]
    );
}

#[test]
fn programs_are_told_ids_and_a_kind_that_stays() {
    let (shop, breaches) = unskilled();
    let told: Vec<Value> = breaches.iter().map(|breach| fact(&shop, &breach.fact).into()).collect();
    let step = json!({ "job": "x", "step": "w" });
    let away = json!({
        "kind": "cannot-start", "step": step, "crew": "south", "start": "2026-12-07 am", "obstacle": "few-people"
    });
    assert_eq!(told, [away, json!({ "kind": "no-skill", "step": step, "crew": "north" })]);
}
