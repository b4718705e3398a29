//! The exhaustive oracle itself: the small cases, and books worked out by hand; and that made-up books are books.

use serde_json::{Value, json};
use yardless_book::half_day::Horizon;
use yardless_book::money::Cents;
use yardless_book::{Job, Step, read};
use yardless_check::check;
use yardless_plan::shop::Shop;
use yardless_plan::{LaterRow, Plan, write};

use yardless_support::exhaustive::{best, best_from};
use yardless_support::generate::full::full;
use yardless_support::generate::{Shape, generate};
use yardless_support::midway::{midway, midway_with};
use yardless_support::planted::{Size, planted};
use yardless_support::tiny::{Fields, tiny, tiny_with};
use yardless_support::{book, cases, monday};

/// Far more states than any case takes that is not one of the random ones.
const MOST: usize = 500_000;

#[test]
fn oracle_finds_the_best_cost_of_every_case_worked_for_a_rule() {
    let small: Vec<_> = cases::all().into_iter().filter(|case| !case.name.starts_with("random-")).collect();
    assert!(small.len() >= 49);
    for case in small {
        let best = best(&case.book, case.from, case.weeks, MOST).unwrap_or_else(|| panic!("{} is too big", case.name));
        assert_eq!(best.cents, case.best_cents, "{}", case.name);
        assert_eq!(Some(best.draft.hauls.len()), case.hauls, "{}", case.name);
    }
}

#[test]
fn oracle_finds_the_best_cost_of_every_case_of_rescheduling() {
    let counts = cases::counts();
    assert!(counts["history"] >= 21 && counts["overtime"] >= 8 && counts["may_split"] >= 8, "{counts:?}");
    for case in cases::rescheduling().into_iter().chain(cases::splitting()) {
        let best = best_from(&case.book, case.from, case.weeks, case.now, case.kept.as_ref(), MOST);
        let best = best.unwrap_or_else(|| panic!("{} is too big", case.name));
        assert_eq!(best.cents, case.best_cents, "{}", case.name);
        assert_eq!(best.plan["hauls"].as_array().map(Vec::len), case.hauls, "{}", case.name);
        assert_eq!(best.left_out, case.left_out, "{}", case.name);
    }
}

#[test]
fn oracle_finds_the_best_cost_of_every_case_by_topic() {
    for case in cases::by_topic() {
        let best = best(&case.book, case.from, case.weeks, MOST).unwrap_or_else(|| panic!("{} is too big", case.name));
        assert_eq!((best.cents, &best.left_out), (case.best_cents, &case.left_out), "{}", case.name);
        let later: Vec<LaterRow> = serde_json::from_value(best.plan["later"].clone()).expect("rows");
        assert_eq!(later, case.later, "{}", case.name);
    }
}

#[test]
fn oracle_finds_plans_that_the_checker_passes_at_the_same_cost() {
    let first = (200..250).map(|seed| (seed, tiny(seed)));
    let with = |fields| (200..250).map(move |seed| (seed, tiny_with(seed, fields)));
    let more =
        [Fields::Waits, Fields::Costs, Fields::Home, Fields::Ratings, Fields::Equipment].into_iter().flat_map(with);
    for (seed, book) in first.chain(more) {
        let Some(best) = best(&book, monday(), 1, 300_000) else { continue };
        let shop = Shop::new(&book, Horizon::new(monday(), 1).expect("a horizon")).expect("a book without fault");
        let mut plan = write(&shop, "", &best.draft, |_| String::new());
        plan.costs = check(&shop, &plan).costs;
        plan.cost = plan.costs.total();
        let verdict = check(&shop, &plan);
        assert!(verdict.holds(), "tiny book {seed}: {:?}", verdict.breaches);
        assert_eq!(plan.cost, Cents(best.cents), "tiny book {seed}");
    }
}

#[test]
fn oracle_finds_plans_with_help_stops_and_days_that_the_checker_passes_at_the_same_cost() {
    let horizon = Horizon::new(monday(), 1).expect("a horizon");
    for (seed, fields) in
        [Fields::Help, Fields::Stops, Fields::Days].into_iter().flat_map(|of| (200..250).map(move |n| (n, of)))
    {
        let book = tiny_with(seed, fields);
        let Some(best) = best(&book, monday(), 1, 300_000) else { continue };
        let shop = Shop::new(&book, horizon).expect("a book without fault");
        let mut plan: Plan = serde_json::from_value(best.plan).expect("a plan");
        plan.costs = check(&shop, &plan).costs;
        let verdict = check(&shop, &plan);
        assert!(verdict.holds(), "tiny book {seed}: {:?}", verdict.breaches);
        assert_eq!(verdict.costs.total(), Cents(best.cents), "tiny book {seed}");
    }
}

#[test]
fn made_up_books_read_without_fault() {
    let tiny = (0..120).map(tiny);
    let real = (0..20).map(|seed| generate(Shape::new(8, 3, 2), seed)).chain([generate(Shape::new(60, 13, 8), 0)]);
    let sizes = [(8, 3, 2, 4), (12, 4, 3, 3), (20, 6, 3, 2), (40, 10, 5, 1), (60, 13, 8, 1)];
    let full = sizes
        .into_iter()
        .flat_map(|(jobs, weeks, crews, seeds)| (0..seeds).map(move |seed| full(Shape::new(jobs, weeks, crews), seed)));
    let planted = (0..5).map(|seed| planted(Size { jobs: 8, weeks: 3, crews: 2 }, seed).book);
    let midway = (0..120).map(|seed| midway(seed, false).book);
    let with = [
        Fields::Waits,
        Fields::Help,
        Fields::Stops,
        Fields::InPart,
        Fields::Costs,
        Fields::Home,
        Fields::Ratings,
        Fields::Posted,
        Fields::Days,
        Fields::Equipment,
        Fields::PartEquipment,
    ];
    let with_midway =
        with.into_iter().flat_map(|fields| (0..60).map(move |seed| midway_with(seed, seed % 2 == 1, fields).book));
    let with = with.into_iter().flat_map(|fields| (0..60).map(move |seed| tiny_with(seed, fields)));
    for made_up in tiny.chain(real).chain(full).chain(planted).chain(midway).chain(with).chain(with_midway) {
        let written = read(&serde_json::to_vec(&made_up).expect("JSON")).unwrap_or_else(|faults| panic!("{faults:?}"));
        assert_eq!(written.book, made_up);
    }
}

/// A lot and two sites, a truck that tows two, one crew, and one job of one half-day at site a.
fn yard(units: &Value, needs: &Value) -> Value {
    json!({
        "book": 1,
        "shop": { "name": "Yard", "time_zone": "America/New_York" },
        "places": [{ "id": "lot" }, { "id": "a", "trailer_spots": 1 }, { "id": "b" }],
        "drives": [
            { "from": "lot", "to": "a", "minutes": 40 }, { "from": "a", "to": "b", "minutes": 10 },
            { "from": "b", "to": "lot", "minutes": 45 }
        ],
        "kinds": [{ "id": "generator", "power": true }],
        "crews": [{ "id": "c", "people": 2, "skills": ["work"] }],
        "trucks": [{ "id": "t", "tow_lb": 9000, "tows": 2 }],
        "equipment": units,
        "jobs": [{ "id": "j", "place": "a", "left_out": 1000, "steps": [{ "id": "s", "skill": "work", "half_days": 1, "needs": needs }] }]
    })
}

#[track_caller]
fn costs(json: Value, cents: i64) {
    assert_eq!(best(&book(json), monday(), 1, MOST).expect("a plan").cents, cents);
}

#[test]
fn oracle_lets_a_unit_of_two_kinds_serve_one_need_at_a_time() {
    // The combination stands at a and serves as blower or as generator; the generator must come from the lot besides:
    // 40 + 15 minutes carried at 0.25 are 13.75. The job ends at index 0: no waiting.
    let combination = json!({ "id": "u", "kinds": ["blower", "generator"], "moves": "carried", "place": "a" });
    let generator = json!({ "id": "g", "kinds": ["generator"], "moves": "carried", "place": "lot" });
    costs(yard(&json!([combination, generator]), &json!([{ "kind": "blower" }, { "kind": "generator" }])), 1375);
    costs(yard(&json!([combination, generator]), &json!([{ "kind": "generator" }])), 0);
}

#[test]
fn oracle_clears_a_spot_to_the_nearest_place_even_where_nothing_is_to_do() {
    // E6: the idle trailer makes room by going to b, 10 + 30 minutes, not to the lot, 40 + 30; the other one comes from
    // the lot, 40 + 30: 110 minutes towed at 1.00.
    let idle = json!({ "id": "idle", "kinds": ["other"], "moves": "towed", "place": "a" });
    let wanted = json!({ "id": "wanted", "kinds": ["trailer"], "moves": "towed", "place": "lot" });
    let needs = json!([{ "kind": "trailer" }]);
    costs(yard(&json!([idle, wanted]), &needs), 11_000);
    // With one tow a half-day the idle one leaves first, at index 0 or that evening; the job ends at index 1 at the
    // soonest: 2.00 + 0.01 more.
    let mut one_tow = yard(&json!([idle, wanted]), &needs);
    one_tow["trucks"][0]["tows"] = json!(1);
    costs(one_tow, 11_201);
}

#[test]
fn oracle_leaves_out_what_costs_less_to_leave_out() {
    // The haul alone is 70.00 (40 + 30 minutes); leaving the job out at 69.99 is cheaper, at 70.01 it is not.
    let wanted = json!([{ "id": "wanted", "kinds": ["trailer"], "moves": "towed", "place": "lot" }]);
    let mut json = yard(&wanted, &json!([{ "kind": "trailer" }]));
    json["jobs"][0]["left_out"] = json!(69.99);
    costs(json.clone(), 6999);
    json["jobs"][0]["left_out"] = json!(70.01);
    costs(json, 7000);
}

/// One job at site a for `c`, who can do it, and `d`, who can only help; `parts` replace what they say.
fn pair(step: &Value, parts: &[(&str, Value)]) -> Value {
    let unit = json!({ "id": "u", "kinds": ["machine"], "moves": "carried", "place": "a" });
    let mut json = yard(&json!([unit]), &json!([]));
    let crew = |id: &str, skill: &str| json!({ "id": id, "people": 2, "skills": [skill] });
    json["crews"] = json!([crew("c", "work"), crew("d", "carrying")]);
    json["jobs"][0]["steps"] = json!([step]);
    for (path, value) in parts {
        *json.pointer_mut(path).unwrap_or_else(|| panic!("{path}")) = value.clone();
    }
    json
}

#[test]
fn oracle_lets_a_helper_come_to_the_second_span_alone() {
    // 32 labor hours with a machine that is out on Tuesday. c does half of it on Monday, when d is away; with d the rest
    // takes Wednesday am alone (index 4): 4 x 100 + 0.04, 20 of help, 5 for coming back. By c alone it ends at index 5.
    let step = json!({ "id": "s", "skill": "work", "labor_hours": 32, "help": 1, "may_split": true, "needs": [{ "kind": "machine" }] });
    let mut json = pair(&step, &[]);
    json["crews"][1]["away"] = json!([{ "on": "2026-12-07" }]);
    json["equipment"][0]["out"] = json!(["2026-12-08"]);
    json["prices"] = json!({ "wait_half_day": 100, "return": 5 });
    costs(json.clone(), 42_504);
    json["jobs"][0]["steps"][0]["help"] = json!(0);
    costs(json, 50_505);
}

#[test]
fn oracle_brings_a_helpers_truck_in_overtime() {
    // Only Monday is worked, when the machine is out; on Tuesday, in overtime, d's truck fetches it, 40 + 15 minutes at 0.25,
    // as d helps: 2 x 240, 20, and 2 x 2 + 0.02 to index 2.
    let step = json!({ "id": "s", "skill": "work", "half_days": 1, "help": 1, "needs": [{ "kind": "machine" }] });
    let mut json =
        pair(&step, &[("/trucks/0", json!({ "id": "t", "crew": "d" })), ("/equipment/0/place", json!("lot"))]);
    json["shop"]["work_days"] = json!(["mon"]);
    json["shop"]["overtime_days"] = json!(["tue"]);
    json["equipment"][0]["out"] = json!(["2026-12-07"]);
    costs(json.clone(), 1375 + 48_000 + 2000 + 402);
    json["jobs"][0]["steps"][0]["help"] = json!(0);
    costs(json, 100_000);
}

#[test]
fn oracle_pays_overtime_once_for_two_stops_side_by_side() {
    // Tuesday am in overtime: 240, and 2 x (2 x 2 + 0.02).
    let stop = json!({ "id": "s", "skill": "work", "hours": 1 });
    let mut json = pair(&stop, &[]);
    json["shop"]["work_days"] = json!(["mon"]);
    json["shop"]["overtime_days"] = json!(["tue"]);
    json["shop"]["closed"] = json!(["2026-12-07"]);
    let mut other = json["jobs"][0].clone();
    other["id"] = json!("k");
    other["place"] = json!("b");
    json["jobs"].as_array_mut().expect("jobs").push(other);
    costs(json.clone(), 24_000 + 2 * 402);
    // Too long for one half-day: 240 more, and a half-day later, 2 + 0.01.
    json["jobs"][1]["steps"][0]["hours"] = json!(2.5);
    costs(json, 2 * 24_000 + 2 * 402 + 201);
}

#[test]
fn oracle_names_no_helper_that_never_comes() {
    // The crews were told that d helps on Monday am, and d is away: a change within notice, 2 x 60.
    let mut json = pair(&json!({ "id": "s", "skill": "work", "half_days": 1, "help": 1 }), &[]);
    let row = json!({ "job": "j", "step": "s", "way": "usual", "crew": "c", "with": ["d"], "start": "2026-12-07 am", "end": "2026-12-07 am" });
    let kept = json!({ "plan": 1, "steps": [row] });
    let cents = |json: &Value| best_from(&book(json.clone()), monday(), 1, 0, Some(&kept), MOST).expect("a plan").cents;
    // There, it is paid for; that costs less than the change.
    assert_eq!(cents(&json), 2000);
    json["crews"][1]["away"] = json!([{ "on": "2026-12-07" }]);
    assert_eq!(cents(&json), 12_000);
}

/// How often the made-up histories show what they are for, so that a comparison on them means something.
#[test]
fn histories_show_what_rescheduling_is_about() {
    let (mut found, mut seen) = (0, [0; 6]);
    for seed in 0..300 {
        let made = midway(seed, seed % 2 == 1);
        let Some(best) = best_from(&made.book, monday(), 1, made.now, Some(&made.kept), 300_000) else { continue };
        found += 1;
        let rows = best.plan["steps"].as_array().expect("rows");
        let started = |job: &Job| job.steps.iter().any(Step::started);
        let ends = |job: &Job| !best.left_out.contains(&job.id);
        let jobs = || made.book.jobs.iter();
        for (n, shows) in [
            jobs().any(|job| started(job) && ends(job) && job.steps.iter().any(|step| step.done.is_none())),
            jobs().any(|job| started(job) && !ends(job)),
            jobs().any(|job| job.steps.iter().all(|step| step.done.is_some())),
            rows.iter().any(|row| row["overtime"] == true),
            rows.iter().any(|row| row["span"] == 2),
            !best.plan["hauls"].as_array().expect("hauls").is_empty(),
        ]
        .into_iter()
        .enumerate()
        {
            seen[n] += usize::from(shows);
        }
    }
    assert!(found >= 280 && seen.iter().all(|n| *n >= 3), "of {found} books: {seen:?}");
}
