//! Rules C1 to C6, the cost, the bound and the head of a plan.

use chrono::Datelike;
use serde_json::{Value, json};
use yardless_book::Book;
use yardless_book::half_day::{Horizon, parse_date};
use yardless_book::money::Cents;
use yardless_check::check;
use yardless_plan::Costs;
use yardless_plan::shop::{KeptStep, Shop};

use crate::forge::{book, haul, holds, job, judge, plan, refused, shop, small_job, step, steps, with};

fn late_job(more: &Value) -> Value {
    book(&json!({"jobs": [with(small_job("x", "a", &json!({})), more)]}))
}

fn ends(at: &str) -> Value {
    steps(&[step("x/w", "north", at, at, &[])])
}

fn costs(book: &Value, plan: &Value) -> Costs {
    judge(book, plan).costs
}

#[test]
fn c1_counts_the_worked_dates_after_due_up_to_the_end() {
    let late = |more: Value, at: &str| costs(&late_job(&more), &ends(at)).late.to_string();
    // On the due date, in either half, it is not late.
    assert_eq!(late(json!({"due": "2026-12-09"}), "9 pm"), "0.00");
    assert_eq!(late(json!({"due": "2026-12-09"}), "10 am"), "100.00");
    // Due on Thursday 10, done on Monday 14: Friday and Monday, not the weekend.
    assert_eq!(late(json!({"due": "2026-12-10", "late_day": 70.5}), "14 am"), "141.00");
    // Before the horizon: due on Thursday 3; Friday 4 and Monday 7.
    assert_eq!(late(json!({"due": "2026-12-03"}), "7 am"), "200.00");
    assert_eq!(late(json!({}), "18 pm"), "0.00");
    // A date of which one half is closed is worked; one of which both are is not: Tuesday 8 and Thursday 10.
    let shop = json!({"name": "Forge", "time_zone": "America/New_York", "closed": ["2026-12-08 am", "2026-12-09"]});
    let closed = with(late_job(&json!({"due": "2026-12-07"})), &json!({ "shop": shop }));
    assert_eq!(costs(&closed, &ends("10 am")).late.to_string(), "200.00");
}

#[test]
fn c1_counts_worked_dates_as_if_one_by_one() {
    let mut random = fastrand::Rng::with_seed(1);
    for _ in 0..200 {
        let mut date =
            |least: i32| parse_date("2026-12-07").expect("a date") - chrono::Days::new(random.i32(least..90) as u64);
        let due = date(0);
        let closed: Vec<String> = (0..6)
            .map(|_| (date(0), date(0)))
            .map(|(a, b)| (a.min(b), a.max(b).min(a.min(b) + chrono::Days::new(9))))
            .map(|(first, last)| match (first == last, first.day() % 3) {
                (true, 0) => format!("{first} am"),
                (false, 0) => format!("{first} pm/{last} am"),
                (false, 1) => format!("{first}/{last} am"),
                _ => format!("{first}/{last}"),
            })
            .collect();
        let days = [vec!["mon", "tue", "wed", "thu", "fri"], vec!["sat", "sat", "mon"], vec!["mon"]][random.usize(..3)]
            .clone();
        let facts = json!({"name": "Forge", "time_zone": "America/New_York", "closed": closed, "work_days": days});
        let book = with(late_job(&json!({ "due": due })), &json!({ "shop": facts }));
        let made = shop(&book);
        let end = parse_date("2026-12-14").expect("a date");
        let worked =
            due.iter_days().skip(1).take_while(|date| *date <= end).filter(|date| made.works_date(*date)).count();
        let found = costs(&book, &ends("14 am")).late;
        assert_eq!(found, Cents(10_000 * worked as i64), "{due} {closed:?} {days:?}");
        assert_eq!(made.worked_dates(due, end), worked as i64, "{due} {closed:?} {days:?}");
    }
}

#[test]
fn centuries_are_reckoned_in_a_moment() {
    // Counted date by date, this takes minutes.
    let jobs: Vec<Value> =
        (0..2_000).map(|n| with(small_job(&format!("x{n}"), "a", &json!({})), &json!({"due": "1900-01-01"}))).collect();
    let closed = json!(["1900-01-02/1999-12-31 am", "1950-01-01/2010-01-01", "2020-06-01 pm/2020-06-02 am"]);
    let facts = json!({"name": "Forge", "time_zone": "America/New_York", "closed": closed, "notice_half_days": 1000});
    let book: Book = serde_json::from_value(book(&json!({"shop": facts, "jobs": jobs}))).expect("a book");
    let horizon = Horizon::new(parse_date("2199-12-16").expect("a date"), 2).expect("a Monday");
    let kept: Vec<KeptStep> = (0..2_000)
        .map(|n| KeptStep {
            job: format!("x{n}"),
            step: "w".into(),
            crew: "north".into(),
            with: Vec::new(),
            start: "2199-12-31 pm".parse().expect("a half-day"),
        })
        .collect();
    let began = std::time::Instant::now();
    let shop = Shop::again(&book, horizon, 0, Some(&kept)).expect("a book without fault");
    let listed: Vec<Value> = (0..2_000).map(|n| json!({"job": format!("x{n}"), "why": ""})).collect();
    let plan = json!({"plan": 1, "from": "2199-12-16", "weeks": 2, "steps": [], "cost": 0, "left_out": listed});
    let costs = check(&shop, &serde_json::from_value(plan).expect("a plan")).costs;
    // 2 January 2010 is a Saturday, as 1 January 1900 is a Monday; weekdays up to the horizon's last date, Sunday
    // 29 December 2199, by whole weeks from Monday 4 January 2010 on: 9,913 of them.
    assert_eq!(costs.left_out, Cents(10_000) * 2_000 * (20 + 9_913 * 5));
    // Of the half-days before the kept start 23 are worked: fewer than the notice.
    assert_eq!(costs.changes, Cents(6_000) * 2 * 2_000);
    assert!(began.elapsed().as_secs() < 60, "{:?}", began.elapsed());
}

#[test]
fn c1_and_c5_take_the_latest_end_of_the_steps() {
    // w takes Monday to Wednesday am (index 0 to 4), v, listed last, Monday am: a date late, 4 x 2 dollars, 4 + 0 cents.
    let two = json!([{"id": "w", "skill": "insulation", "half_days": 5}, {"id": "v", "skill": "insulation", "half_days": 1, "after": []}]);
    let book = book(&json!({"jobs": [with(job("x", "a", &two), &json!({"due": "2026-12-08"}))]}));
    let found =
        costs(&book, &steps(&[step("x/w", "north", "7 am", "9 am", &[]), step("x/v", "south", "7 am", "7 am", &[])]));
    assert_eq!(found.late.to_string(), "100.00");
    assert_eq!(found.waiting.to_string(), "8.04");
}

#[test]
fn c2_left_out_by_due() {
    let left = |more: Value| costs(&late_job(&more), &plan(&json!({"left_out": [{"job": "x"}]}))).left_out.to_string();
    // The horizon's last date is Sunday 20.
    assert_eq!(left(json!({})), "500.00");
    assert_eq!(left(json!({"due": "2026-12-21"})), "500.00");
    assert_eq!(left(json!({"due": "2026-12-20"})), "2,000.00");
    assert_eq!(left(json!({"due": "2026-12-17"})), "2,100.00");
    // Friday 4 and the ten worked dates of the horizon.
    assert_eq!(left(json!({"due": "2026-12-03", "late_day": 10})), "310.00");
    assert_eq!(left(json!({"due": "2026-12-03", "left_out": 0.5})), "0.50");
    assert_eq!(left(json!({"left_out": 0})), "0.00");
}

#[test]
fn c2_is_what_a_plan_that_does_nothing_costs() {
    let later = with(small_job("z", "a", &json!({})), &json!({"earliest": "2026-12-21", "left_out": 9}));
    let jobs = json!([
        small_job("x", "a", &json!({})),
        with(small_job("y", "b", &json!({})), &json!({"left_out": 12.34})),
        later
    ]);
    let nothing = plan(&json!({"left_out": [{"job": "x"}, {"job": "y"}], "later": [{"job": "z"}]}));
    let verdict = judge(&book(&json!({ "jobs": jobs })), &nothing);
    assert!(verdict.holds(), "{:?}", verdict.breaches);
    assert_eq!(verdict.costs.total().to_string(), "512.34");
}

#[test]
fn c3_minutes_at_the_price_of_towing_or_carrying() {
    let rows = [haul("tr", "lot", "a", "7 am", "t1"), haul("m1", "lot", "b", "7 am", "t1")];
    // Towed 30 + 30 minutes at a dollar; carried 40 + 15 at a quarter: 60 + 13.75.
    assert_eq!(costs(&book(&json!({})), &plan(&json!({ "hauls": rows }))).hauls.to_string(), "73.75");
}

#[test]
fn c4_each_own_crew_beyond_the_first_of_a_job() {
    let crew = |id: &str, own: bool| json!({"id": id, "people": 1, "skills": ["insulation"], "own": own});
    let crews = json!([crew("north", true), crew("south", true), crew("inspector", false), crew("plumber", false)]);
    let five =
        (1..=5).map(|n| json!({"id": format!("s{n}"), "skill": "insulation", "half_days": 1})).collect::<Vec<_>>();
    let book = book(&json!({"crews": crews, "jobs": [job("x", "a", &json!(five))]}));
    let by = |crews: [&str; 5]| {
        let at = ["7 am", "7 pm", "8 am", "8 pm", "9 am"];
        let rows: Vec<Value> = (0..5).map(|i| step(&format!("x/s{}", i + 1), crews[i], at[i], at[i], &[])).collect();
        costs(&book, &steps(&rows)).crews.to_string()
    };
    assert_eq!(by(["north", "south", "north", "south", "inspector"]), "150.00");
    assert_eq!(by(["north", "inspector", "plumber", "north", "north"]), "0.00");
    assert_eq!(by(["inspector", "inspector", "plumber", "plumber", "plumber"]), "0.00");
}

#[test]
fn c5_the_index_of_the_end_and_a_cent_a_step_end() {
    let two =
        json!([{"id": "w", "skill": "insulation", "half_days": 1}, {"id": "v", "skill": "insulation", "half_days": 1}]);
    let book = book(&json!({"jobs": [job("x", "a", &two)], "prices": {"wait_half_day": 3}}));
    // Ends at 3 and at 14 (Monday 14 am): 14 x 3 dollars, 3 + 14 cents.
    let rows = [step("x/w", "north", "8 pm", "8 pm", &[]), step("x/v", "north", "14 am", "14 am", &[])];
    assert_eq!(costs(&book, &steps(&rows)).waiting.to_string(), "42.17");
}

#[test]
fn c6_the_extra_of_each_way_used() {
    let ways = json!([{"id": "w", "skill": "insulation", "ways": [{"id": "plain", "half_days": 1}, {"id": "kit", "half_days": 1, "extra": 40.5}]}]);
    let book = book(&json!({"jobs": [job("x", "a", &ways)]}));
    let row = |way: &str| steps(&[with(step("x/w", "north", "7 am", "7 am", &[]), &json!({"way": way}))]);
    assert_eq!(costs(&book, &row("kit")).ways.to_string(), "40.50");
    assert_eq!(costs(&book, &row("plain")).ways.to_string(), "0.00");
}

/// One plan with every term: late 100, left out 500, hauls 60 + 11.25, crews 150, waiting 2 x 3 + 0.05, ways 7.
fn every_term() -> (Value, Value, Value) {
    let w = json!([{"id": "w", "skill": "insulation", "ways": [{"id": "kit", "half_days": 1, "extra": 7}], "after": []}, {"id": "v", "skill": "insulation", "half_days": 1}]);
    let x = with(job("x", "a", &w), &json!({"due": "2026-12-07"}));
    let book = book(&json!({"jobs": [x, small_job("y", "b", &json!({}))]}));
    let rows = [
        with(step("x/w", "north", "8 am", "8 am", &[]), &json!({"way": "kit"})),
        step("x/v", "south", "8 pm", "8 pm", &[]),
    ];
    let hauls = [haul("tr", "lot", "a", "7 am", "t1"), haul("m1", "lot", "a", "7 am", "t1")];
    let stated = json!({"late": 100, "left_out": 500, "hauls": 71.25, "crews": 150, "waiting": 6.05, "ways": 7});
    let plan =
        plan(&json!({"steps": rows, "hauls": hauls, "left_out": [{"job": "y"}], "cost": 834.3, "costs": stated}));
    (book, plan, stated)
}

#[test]
fn c1_to_c9_a_term_that_is_stated_is_right_to_the_cent() {
    let (book, plan, stated) = every_term();
    holds(&book, &plan);
    for (rule, term) in [
        ("C1", "late"),
        ("C2", "left_out"),
        ("C3", "hauls"),
        ("C4", "crews"),
        ("C5", "waiting"),
        ("C6", "ways"),
        ("C7", "changes"),
        ("C8", "overtime"),
        ("C9", "returns"),
    ] {
        let one_more = stated.get(term).and_then(Value::as_f64).unwrap_or(0.0) + 0.01;
        let forged = with(stated.clone(), &json!({ term: one_more }));
        refused(rule, &book, &with(plan.clone(), &json!({ "costs": forged })));
    }
    refused("cost", &book, &with(plan.clone(), &json!({"cost": 834.29})));
    // Terms need not be stated.
    holds(&book, &with(plan, &json!({"costs": {}})));
}

#[test]
fn bound_is_never_above_the_cost_and_equals_it_when_proven() {
    let (book, plan, _) = every_term();
    let stated = |bound: Value, proven: bool| with(plan.clone(), &json!({"bound": bound, "proven": proven}));
    holds(&book, &stated(json!(834.3), true));
    holds(&book, &stated(json!(834.29), false));
    holds(&book, &stated(json!(null), false));
    refused("bound", &book, &stated(json!(834.31), false));
    refused("bound", &book, &stated(json!(834.29), true));
    refused("bound", &book, &stated(json!(null), true));
}

#[test]
fn plan_is_of_this_book_and_horizon() {
    let (book, plan, _) = every_term();
    // The digest is for the caller to judge.
    holds(&book, &with(plan.clone(), &json!({"book_digest": "00", "now": "2026-12-07 am"})));
    for head in
        [json!({"plan": 2}), json!({"weeks": 3}), json!({"from": "2026-12-14"}), json!({"now": "2026-12-08 am"})]
    {
        refused("plan", &book, &with(plan.clone(), &head));
    }
    for unknown in [
        json!({"later": [{"job": "q"}]}),
        json!({"parked": [{"job": "q", "units": []}]}),
        json!({"parked": [{"job": "x", "units": ["q"]}]}),
    ] {
        refused("plan", &book, &with(plan.clone(), &unknown));
    }
}
