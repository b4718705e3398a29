//! `offers` and `together`: every date stands on a plan that holds, at the cost that trying everything finds for it.

use serde_json::json;
use yardless_answer::{Ask, Given, offers, sooner, together};
use yardless_book::Book;
use yardless_book::money::Cents;
use yardless_check::check;
use yardless_engine::Limits;
use yardless_plan::Plan;
use yardless_plan::shop::KeptStep;

use super::{MOST, NEVER, STEPS, end, leads, must_end, planned, shop};
use yardless_support::exhaustive::best_from;
use yardless_support::{day, half, monday};

/// What a job must cost at least where it ends by a date, by trying everything; `None`: no plan does it.
fn least(book: &Book, kept: &Plan, job: &str, by: chrono::NaiveDate) -> Option<Cents> {
    let mut book = book.clone();
    must_end(&mut book, job, by);
    let mut kept = serde_json::to_value(kept).expect("JSON");
    kept["steps"].as_array_mut().expect("rows").retain(|row| row["job"] != json!(job));
    let best = best_from(&book, monday(), 1, 0, Some(&kept), MOST).expect("few states");
    Some(Cents(best.cents)).filter(|cents| *cents < NEVER)
}

#[test]
fn dates_offered_cost_what_trying_everything_finds_and_no_sooner_one_costs_less() {
    let (mut rows, mut sooner) = (0, 0);
    for seed in 0..120 {
        let (book, plan) = planned(seed);
        let Some(job) = book.jobs.iter().rev().find(|job| !leads(&book, &job.id)) else { continue };
        let kept: Vec<KeptStep> = plan.kept();
        let shop = shop(&book, &kept);
        let given = Given::new(&shop, "", &plan).expect("the plan holds");
        let found = offers(&given, job, 5, &Limits::steps(STEPS * 8)).expect("no fault");
        for row in &found.rows {
            assert!(check(&found.shop, &row.plan).holds(), "{seed}: {:?}", check(&found.shop, &row.plan).breaches);
        }
        let proven: Vec<_> = found.rows.iter().filter(|row| row.proven).collect();
        for (n, row) in proven.iter().enumerate() {
            assert_eq!(end(&row.plan, &job.id), Some(row.end.date()));
            assert_eq!(Some(row.plan.cost), least(&book, &plan, &job.id, row.end.date()), "{seed}: by {}", row.end);
            rows += 1;
            // A day sooner costs what the row before does, or cannot be.
            let before = least(&book, &plan, &job.id, row.end.date() - chrono::Days::new(1));
            let told = n.checked_sub(1).map(|n| proven[n].plan.cost);
            assert!(before.is_none_or(|before| before >= row.plan.cost), "{seed}: {before:?} a day before {}", row.end);
            if found.rows.len() < 5 && found.rows.len() <= proven.len() + 1 {
                assert_eq!(before, told, "{seed}: a day before {}", row.end);
                sooner += usize::from(before.is_some());
            }
        }
    }
    assert!(rows >= 45 && sooner >= 3, "only {rows} dates, {sooner} with a sooner one");
}

/// Two sites, one blower, one truck: it is held at A on Monday and Tuesday.
fn one_blower() -> (Book, Plan) {
    let step = |days: u32| json!([{ "id": "blow", "skill": "insulation", "half_days": days, "needs": [{ "kind": "blower" }] }]);
    let book = yardless_support::book(json!({
        "book": 1,
        "shop": { "name": "Test", "time_zone": "America/New_York" },
        "places": [{ "id": "lot" }, { "id": "a" }, { "id": "b" }],
        "drives": [
            { "from": "lot", "to": "a", "minutes": 20 }, { "from": "lot", "to": "b", "minutes": 20 },
            { "from": "a", "to": "b", "minutes": 20 }
        ],
        "crews": [{ "id": "north", "people": 2, "skills": ["insulation"] }, { "id": "south", "people": 2, "skills": ["insulation"] }],
        "trucks": [{ "id": "t1" }],
        "equipment": [{ "id": "blower", "kinds": ["blower"], "moves": "carried", "place": "lot" }],
        "weather": [{ "on": day(2), "at": ["b"], "no_travel": true }],
        "jobs": [{ "id": "x", "place": "a", "due": day(1), "steps": step(4) }]
    }));
    let plan = yardless_engine::plan(&shop(&book, &[]), "", &Limits::steps(STEPS), &mut |_| {});
    assert!(plan.proven);
    (book, plan)
}

#[test]
fn free_knows_the_hold_the_haul_and_the_closed_road_and_what_moving_work_brings() {
    let (book, plan) = one_blower();
    let shop = shop(&book, &plan.kept());
    let given = Given::new(&shop, "", &plan).expect("the plan holds");
    let place = |id: &str| shop.places.find(|place| place.id == id);
    let kind = shop.kinds.find(|kind| kind.id == "blower").expect("the kind");
    let ask = |place, half_days| Ask { kind, count: 1, half_days, place, from: 0 };
    // Held at A from Monday am to Tuesday pm, free where it stands on Wednesday am; a haul to the lot takes no half-day.
    let first = |place, half_days| together(&given, &ask(place, half_days)).map(|found| found.first.to_string());
    assert_eq!(first(None, 1), Some(half(4)));
    assert_eq!(first(place("lot"), 1), Some(half(4)));
    // There is no travel at B on Wednesday; it can be there from the evening before, for x has let it go by then.
    let at_b = together(&given, &ask(place("b"), 2)).expect("a time");
    assert_eq!((at_b.first.to_string(), at_b.hauls.len()), (half(4), 1));
    assert_eq!((at_b.hauls[0].at.to_string(), at_b.hauls[0].evening), (half(3), true));
    assert_eq!(first(place("b"), 6), Some(half(4)));
    assert_eq!(first(place("b"), 7), None);
    // On Monday, if x waits: it is one day late for one half-day, or two for more.
    let offer =
        sooner(&given, &ask(place("lot"), 1), place("lot").expect("the lot"), at_b.first, &Limits::steps(STEPS));
    assert_eq!(offer.map(|offer| (offer.start.to_string(), offer.moved)), Some((half(0), 1)));
}
