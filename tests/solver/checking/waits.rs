//! Rules T4, W14, W15, W17 and E9, C1 of a step, C10 and ranks.

use serde_json::{Value, json};

use crate::forge::{book, first_at, holds, judge, plan, refused, small_job, step, steps, with};

fn one(step: &Value) -> Value {
    book(&json!({"jobs": [small_job("x", "a", step)]}))
}

fn of_job(more: &Value) -> Value {
    book(&json!({"jobs": [with(small_job("x", "a", &json!({})), more)]}))
}

fn ends(at: &str) -> Value {
    steps(&[step("x/w", "north", at, at, &[])])
}

fn cost(book: &Value, at: &str, of: fn(&yardless_plan::Costs) -> yardless_book::money::Cents) -> String {
    of(&judge(book, &ends(at)).costs).to_string()
}

#[test]
fn t4_a_range_of_weekdays_and_a_half_leaves_the_others() {
    // Wednesday 9 and 16: the mornings are barred, by the job and by the step, in text with an open end too.
    for range in [
        json!({"on": "2026-12-07/2026-12-20", "weekdays": ["wed"], "half": "am"}),
        json!({"on": "2026-12-07/", "weekdays": ["wed"], "half": "am"}),
    ] {
        for barred in [of_job(&json!({"no_access": [range]})), one(&json!({"no_access": [range]}))] {
            refused("W2", &barred, &ends("9 am"));
            refused("W2", &barred, &ends("16 am"));
            holds(&barred, &ends("9 pm"));
            holds(&barred, &ends("8 am"));
            holds(&barred, &ends("10 am"));
        }
    }
    // The range still has its ends: from Wednesday pm on, the mornings of which are Thursday's and the next ones.
    let from_pm = of_job(&json!({"no_access": [{"on": "2026-12-09 pm/2026-12-17", "half": "am"}]}));
    holds(&from_pm, &ends("9 am"));
    refused("W2", &from_pm, &ends("10 am"));
    holds(&from_pm, &ends("18 am"));
}

#[test]
fn t4_weekdays_stand_beside_the_range_of_people_and_weather_too() {
    let north = |away: &Value| {
        json!([{"id": "north", "people": 2, "skills": ["insulation"], "away": [away]},
        {"id": "south", "people": 2, "skills": ["insulation", "carpentry"]}])
    };
    for away in [
        json!({"on": "2026-12-07/2026-12-18", "weekdays": ["mon", "tue"]}),
        json!({"on": {"on": "2026-12-07/2026-12-18", "weekdays": ["mon", "tue"]}}),
        json!({"on": {"on": "2026-12-07/", "weekdays": ["mon", "tue"]}, "people": 2}),
    ] {
        let away = book(&json!({"crews": north(&away), "jobs": [small_job("x", "a", &json!({}))]}));
        first_at(&away, "W2", "15 pm", "16 am");
        first_at(&away, "W2", "14 am", "9 am");
    }
    let rain = json!([{"on": "2026-12-07/2026-12-18", "weekdays": ["fri"], "half": "pm", "rain": true}]);
    let dry = book(&json!({"weather": rain, "jobs": [small_job("x", "a", &json!({"dry": true}))]}));
    refused("W7", &dry, &ends("11 pm"));
    refused("W7", &dry, &ends("18 pm"));
    holds(&dry, &ends("11 am"));
    holds(&dry, &ends("10 pm"));
}

#[test]
fn t4_closed_weekdays_are_no_dates_that_the_shop_works() {
    // Due on Tuesday 8, done on Thursday 10: Thursday alone, as Wednesdays are closed.
    let shop = json!({"name": "Forge", "time_zone": "America/New_York",
        "closed": [{"on": "2026-11-01/", "weekdays": ["wed"]}]});
    let closed = with(of_job(&json!({"due": "2026-12-08"})), &json!({ "shop": shop }));
    refused("W2", &closed, &ends("9 am"));
    assert_eq!(cost(&closed, "10 am", |costs| costs.late), "100.00");
    // Its mornings alone do not make a date one that the shop does not work: Wednesday counts again.
    let shop = json!({"name": "Forge", "time_zone": "America/New_York",
        "closed": [{"on": "2026-11-01/", "weekdays": ["wed"], "half": "am"}]});
    let mornings = with(of_job(&json!({"due": "2026-12-08"})), &json!({ "shop": shop }));
    assert_eq!(cost(&mornings, "10 am", |costs| costs.late), "200.00");
}

#[test]
fn w14_nothing_starts_before_what_it_waits_on_is_expected() {
    let waits = json!({"waits_on": [{"what": "the wiring", "expected": "2026-12-09"}, {"what": "paint", "expected": "2026-12-08"}]});
    for waiting in [one(&waits), of_job(&waits)] {
        first_at(&waiting, "W14", "8 pm", "9 am");
    }
    // The later of the step's and the job's.
    let both =
        with(small_job("x", "a", &waits), &json!({"waits_on": [{"what": "a permit", "expected": "2026-12-10"}]}));
    first_at(&book(&json!({ "jobs": [both] })), "W14", "9 pm", "10 am");
    // It binds the start, not the work: what waits may not begin on the day before and pause until then.
    let two = json!({"half_days": 2, "no_access": ["2026-12-08 pm"], "waits_on": [{"what": "the wiring", "expected": "2026-12-09"}]});
    refused("W14", &one(&two), &steps(&[step("x/w", "north", "8 am", "9 am", &[])]));
    // Confirmed or not makes no difference.
    let confirmed = json!({"waits_on": [{"what": "the wiring", "expected": "2026-12-09", "confirmed": true}]});
    first_at(&one(&confirmed), "W14", "8 pm", "9 am");
}

#[test]
fn w14_without_a_date_a_step_cannot_start_and_a_job_is_later() {
    let undated = json!({"waits_on": [{"what": "windows"}, {"what": "paint", "expected": "2026-12-07"}]});
    refused("W14", &one(&undated), &ends("18 pm"));
    holds(&one(&undated), &plan(&json!({"left_out": [{"job": "x"}]})));
    let later = plan(&json!({"later": [{"job": "x"}]}));
    refused("W1", &one(&undated), &later);
    holds(&of_job(&undated), &later);
    refused("W1", &of_job(&undated), &plan(&json!({"left_out": [{"job": "x"}]})));
    let expected = |date: &str| of_job(&json!({"waits_on": [{"what": "windows", "expected": date}]}));
    holds(&expected("2026-12-21"), &later);
    refused("W1", &expected("2026-12-20"), &later);
}

#[test]
fn w15_heat_stops_what_has_a_highest_high() {
    let weather = |high: f64| json!([{"on": "2026-12-07/2026-12-08", "high_f": high}]);
    let hot =
        |high: f64| book(&json!({"weather": weather(high), "jobs": [small_job("x", "a", &json!({"max_high_f": 85}))]}));
    first_at(&hot(85.1), "W15", "8 pm", "9 am");
    holds(&hot(85.0), &ends("7 am"));
    let other = book(&json!({"weather": weather(99.0), "jobs": [small_job("x", "a", &json!({}))]}));
    holds(&other, &ends("7 am"));
}

#[test]
fn w17_an_own_crew_is_two_at_least_where_the_shop_says_so() {
    let shop = json!({"name": "Forge", "time_zone": "America/New_York", "min_people": 2});
    let crews = |own: bool| json!([{"id": "north", "people": 1, "skills": ["insulation"], "own": own}]);
    let of = |own: bool, step: Value| {
        let trucks = json!([{"id": "t1", "crew": "north", "tow_lb": 14000}]);
        book(&json!({"shop": shop, "crews": crews(own), "trucks": trucks, "jobs": [small_job("x", "a", &step)]}))
    };
    refused("W2", &of(true, json!({})), &ends("7 am"));
    holds(&of(false, json!({})), &ends("7 am"));
    // What the step says counts, and at most so many are asked for.
    holds(&of(true, json!({"min_people": 1})), &ends("7 am"));
    holds(&of(true, json!({"max_people": 1})), &ends("7 am"));
    refused("W2", &of(true, json!({"max_people": 2})), &ends("7 am"));
}

#[test]
fn e9_power_in_number_and_by_way() {
    let unit = |id: &str| json!({"id": id, "kinds": ["generator"], "moves": "carried", "place": "lot"});
    let dark = |step: &Value| {
        let places = json!([{"id": "lot", "power_from": "never"}, {"id": "a"}, {"id": "b"}, {"id": "hill"}]);
        let units = json!([unit("gen"), unit("gen2"), unit("gen3")]);
        book(&json!({"places": places, "equipment": units, "jobs": [small_job("x", "lot", step)]}))
    };
    let row = |units: &[&str]| steps(&[step("x/w", "north", "7 am", "7 am", units)]);
    let two = dark(&json!({"needs_power": 2}));
    holds(&two, &row(&["gen", "gen2"]));
    refused("E5", &two, &row(&["gen"]));
    refused("E2", &two, &row(&["gen", "gen2", "gen3"]));
    holds(&dark(&json!({"needs_power": 0})), &row(&[]));
    let ways = json!([{"id": "quick", "half_days": 1, "needs_power": 2}, {"id": "slow", "half_days": 1}]);
    let mut by_way = dark(&json!({"needs_power": true}));
    by_way["jobs"][0]["steps"] = json!([{"id": "w", "skill": "insulation", "needs_power": true, "ways": ways}]);
    let by =
        |way: &str, units: &[&str]| steps(&[with(step("x/w", "north", "7 am", "7 am", units), &json!({"way": way}))]);
    holds(&by_way, &by("quick", &["gen", "gen3"]));
    refused("E5", &by_way, &by("quick", &["gen"]));
    holds(&by_way, &by("slow", &["gen"]));
    refused("E2", &by_way, &by("slow", &["gen", "gen2"]));
}

#[test]
fn c1_counts_a_steps_own_due_beside_the_jobs() {
    // Due Wednesday 9, done on Friday 11: two worked dates, at the step's price, else the job's.
    let late = |step: Value, job: Value, at: &str| {
        let of = book(&json!({"jobs": [with(small_job("x", "a", &step), &job)]}));
        cost(&of, at, |costs| costs.late)
    };
    assert_eq!(late(json!({"due": "2026-12-09"}), json!({}), "9 pm"), "0.00");
    assert_eq!(late(json!({"due": "2026-12-09"}), json!({}), "11 am"), "200.00");
    assert_eq!(late(json!({"due": "2026-12-09"}), json!({"late_day": 30}), "11 am"), "60.00");
    assert_eq!(late(json!({"due": "2026-12-09", "late_day": 7.5}), json!({"late_day": 30}), "11 am"), "15.00");
    // Beside the job's own: one date of each.
    assert_eq!(late(json!({"due": "2026-12-10", "late_day": 5}), json!({"due": "2026-12-10"}), "11 am"), "105.00");
}

#[test]
fn c10_counts_the_worked_dates_by_which_a_start_misses_what_was_told() {
    let told = |more: Value| with(json!({"from": "2026-12-09", "to": "2026-12-10"}), &more);
    let misses = |more: Value, at: &str| cost(&one(&json!({"told": told(more)})), at, |costs| costs.told);
    for at in ["9 am", "9 pm", "10 am", "10 pm"] {
        assert_eq!(misses(json!({}), at), "0.00");
    }
    // Tuesday 8 is missed by one; Monday 7 by two.
    assert_eq!(misses(json!({}), "8 pm"), "80.00");
    assert_eq!(misses(json!({}), "7 am"), "160.00");
    // Friday 11 is one late; Monday 14 two, as the weekend is not worked.
    assert_eq!(misses(json!({}), "11 am"), "80.00");
    assert_eq!(misses(json!({"day": 12.5}), "14 am"), "25.00");
    // The start counts, not the end.
    let three = one(&json!({"half_days": 3, "told": told(json!({}))}));
    let costs = judge(&three, &steps(&[step("x/w", "north", "10 pm", "11 pm", &[])])).costs;
    assert_eq!(costs.told.to_string(), "0.00");
    // A job left out breaks its word for nothing here.
    let left = judge(&one(&json!({"told": told(json!({}))})), &plan(&json!({"left_out": [{"job": "x"}]})));
    assert_eq!(left.costs.told.to_string(), "0.00");
}

#[test]
fn ranks_give_what_a_job_does_not_say_itself() {
    let ranks = json!([{"id": "promised", "late_day": 250, "left_out": 9000}, {"id": "whenever", "late_day": 20}]);
    let of = |job: &Value| with(of_job(job), &json!({ "ranks": ranks }));
    let late = |job: Value| cost(&of(&with(json!({"due": "2026-12-08"}), &job)), "9 am", |costs| costs.late);
    assert_eq!(late(json!({"rank": "promised"})), "250.00");
    assert_eq!(late(json!({"rank": "promised", "late_day": 40})), "40.00");
    assert_eq!(late(json!({})), "100.00");
    let left = |job: &Value| judge(&of(job), &plan(&json!({"left_out": [{"job": "x"}]}))).costs.left_out.to_string();
    assert_eq!(left(&json!({"rank": "promised"})), "9,000.00");
    assert_eq!(left(&json!({"rank": "promised", "left_out": 10})), "10.00");
    // Without a due date five days' lateness, at the rank's price.
    assert_eq!(left(&json!({"rank": "whenever"})), "100.00");
    // Due on Thursday 17: (20 + Friday 18) days.
    assert_eq!(left(&json!({"rank": "whenever", "due": "2026-12-17"})), "420.00");
}
