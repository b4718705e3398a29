//! A tiny book with what came later in odd company: ranges by weekday, waits on others, heat, two people at least, power in
//! number, dates and words given of single steps, ranks (T4, W14, W15, W17, E9, C1, C10, N3).

use serde_json::{Value, json};

use super::draw::Draw;
use super::{day, half, monday};

/// Adds the fields to a book of one week.
pub fn add(draw: &mut Draw, json: &mut Value) {
    shop(draw, json);
    for crew in list(json, "crews") {
        attendance(draw, crew);
    }
    for hauling in ["equipment", "trucks"] {
        for row in list(json, hauling) {
            if draw.chance(15) {
                row["out"] = json!([some_of(draw)]);
            }
        }
    }
    generator(draw, json);
    weather(draw, json);
    if draw.chance(25) {
        hill(draw, json);
    }
    for job in list(json, "jobs") {
        self::job(draw, job);
        for step in list(job, "steps") {
            self::step(draw, step);
        }
        unfix(job);
    }
}

/// The rows of a list, none where the object has no such list.
pub(super) fn list<'a>(of: &'a mut Value, name: &str) -> impl Iterator<Item = &'a mut Value> {
    of.get_mut(name).and_then(Value::as_array_mut).into_iter().flatten()
}

fn shop(draw: &mut Draw, json: &mut Value) {
    if draw.chance(40) {
        json["shop"]["min_people"] = json!(draw.pick(&[2, 2, 3]));
    }
    if draw.chance(10) {
        json["shop"]["closed"] = json!([some_of(draw)]);
    }
    if draw.chance(25) {
        json["shop"]["told_half_days"] = json!(draw.pick(&[0, 1, 2, 3, 5]));
    }
    if draw.chance(60) {
        // Also more than any other change.
        json["prices"]["change_same_date"] = json!(draw.pick(&[0.0, 0.5, 2.0, 10.0, 75.0]));
    }
    if draw.chance(70) {
        json["prices"]["told_day"] = json!(draw.pick(&[40.0, 7.25, 1.0]));
    }
    json["ranks"] = json!([
        { "id": "promised", "late_day": draw.pick(&[300.0, 75.5]), "left_out": draw.pick(&[1500, 400]) },
        { "id": "filler", "late_day": 8 },
        { "id": "whenever", "name": "Whenever", "left_out": draw.pick(&[30, 5, 0]) }
    ]);
}

/// Of a range, at times without an end, the half-days of some weekdays or of one half.
fn some_of(draw: &mut Draw) -> Value {
    let first = draw.below(10);
    let on = match draw.below(4) {
        0 => format!("{}/", half(first)),
        1 => format!("{}/", monday() - chrono::TimeDelta::days(6)),
        2 => format!("{}/{}", day(first / 2), day(first / 2 + draw.between(1, 4))),
        _ => return json!(format!("{}/", half(first.max(5)))),
    };
    let mut when = json!({ "on": on });
    days(draw, &mut when);
    when
}

/// Weekdays or a half, or both, beside `on`.
fn days(draw: &mut Draw, entry: &mut Value) {
    let both = draw.below(3);
    if both != 0 {
        entry["weekdays"] =
            json!(draw.pick(&[vec!["mon"], vec!["tue"], vec!["wed", "thu"], vec!["mon", "fri"], vec!["sun", "tue"]]));
    }
    if both != 1 {
        entry["half"] = json!(draw.pick(&["am", "pm"]));
    }
}

fn attendance(draw: &mut Draw, crew: &mut Value) {
    if draw.chance(20) {
        // Another firm sends one.
        crew["own"] = json!(false);
        crew["people"] = json!(1);
    }
    for away in list(crew, "away") {
        match draw.below(5) {
            0 | 1 => {
                away["on"] = json!(format!("{}/{}", day(draw.below(2)), day(6)));
                days(draw, away);
            }
            2 => away["on"] = some_of(draw),
            _ => {}
        }
    }
    if crew["only"].is_array() && draw.chance(60) {
        crew["only"] = json!([{ "on": format!("{}/", day(0)), "half": draw.pick(&["am", "pm"]) }, some_of(draw)]);
    }
}

/// At times one more unit that gives power, so that there may be two.
fn generator(draw: &mut Draw, json: &mut Value) {
    if draw.chance(45) {
        let (places, units) = (json["places"].as_array().map_or(1, Vec::len), json["equipment"].as_array_mut());
        let units = units.expect("equipment");
        let place = format!("p{}", draw.below(places));
        units.push(json!({ "id": "more", "kinds": ["generator"], "moves": "carried", "place": place }));
    }
}

fn weather(draw: &mut Draw, json: &mut Value) {
    let entries = json["weather"].as_array_mut().expect("weather");
    for entry in entries.iter_mut() {
        if draw.chance(40) {
            entry["on"] = json!(format!("{}/{}", day(draw.below(3)), day(draw.between(3, 8))));
            days(draw, entry);
        }
    }
    for _ in 0..draw.below(3) {
        let first = draw.below(8);
        let on = json!(format!("{}/{}", half(first), half(first + draw.below(5))));
        let high = draw.pick(&[json!(85), json!(90), json!(90.5), json!(101), Value::Null]);
        let mut entry = json!({ "on": on, "high_f": high });
        match draw.below(4) {
            0 => entry["on"] = json!({ "on": on, "half": draw.pick(&["am", "pm"]) }),
            1 => days(draw, &mut entry),
            _ => {}
        }
        entries.push(entry);
    }
}

/// All sites are up the hill, and what is reported covers some days only: after the last of them it may be clear (H2).
fn hill(draw: &mut Draw, json: &mut Value) {
    for place in list(json, "places").skip(1) {
        place["road"] = json!("hill");
    }
    json["roads"][1]["expect_clear"] = draw.pick(&[json!(["tue", "thu"]), json!(["wed"]), json!(["wed", "fri"])]);
    let on = format!("{}/{}", day(0), day(draw.between(3, 6)));
    json["weather"] = json!([{ "on": on, "weekdays": draw.pick(&[vec!["mon"], vec!["tue", "mon"]]), "gust_mph": 20 }]);
}

/// One or two waits; now and then nobody knows till when, or it is beyond the horizon.
fn waits_on(draw: &mut Draw) -> Value {
    let wait = |draw: &mut Draw| {
        let mut wait = json!({ "what": "wiring", "who": "the electrician" });
        if draw.chance(88) {
            wait["expected"] = json!(day(draw.pick(&[0, 1, 1, 2, 2, 3, 4, 7])));
            wait["confirmed"] = json!(draw.chance(50));
        }
        wait
    };
    (0..draw.between(1, 2)).map(|_| wait(draw)).collect()
}

fn job(draw: &mut Draw, job: &mut Value) {
    if draw.chance(60) {
        job["rank"] = json!(draw.pick(&["promised", "filler", "whenever"]));
        for field in ["late_day", "left_out"] {
            if draw.chance(60) {
                job.as_object_mut().expect("a job").remove(field);
            }
        }
    }
    if draw.chance(25) {
        job["waits_on"] = waits_on(draw);
    }
    if draw.chance(15) {
        job["no_access"] = json!([some_of(draw)]);
    }
}

fn step(draw: &mut Draw, step: &mut Value) {
    if draw.chance(25) {
        step["waits_on"] = waits_on(draw);
    }
    if draw.chance(10) {
        step["no_access"] = json!([some_of(draw)]);
    }
    if draw.chance(35) {
        step["max_high_f"] = json!(90);
    }
    if draw.chance(35) {
        step["needs_power"] = draw.pick(&[json!(2), json!(2), json!(1), json!(0)]);
    }
    for way in list(step, "ways") {
        if draw.chance(35) {
            way["needs_power"] = draw.pick(&[json!(2), json!(1), json!(0), json!(false), json!(true)]);
        }
    }
    if draw.chance(40) {
        // As of a job: before the horizon, in it, after it; never before `earliest`.
        let date = (monday() + chrono::TimeDelta::days(draw.pick(&[-4, -1, 0, 0, 1, 2, 4, 9]))).to_string();
        if step["earliest"].as_str().is_none_or(|earliest| earliest <= date.as_str()) {
            step["due"] = json!(date);
        }
    }
    if draw.chance(30) {
        step["late_day"] = json!(draw.pick(&[15.5, 60.0]));
    }
    if draw.chance(45) {
        let first = draw.pick(&[-3_i64, 0, 1, 2, 2, 3, 4, 8]);
        let date = |after: i64| (monday() + chrono::TimeDelta::days(after)).to_string();
        step["told"] = json!({ "from": date(first), "to": date(first + draw.below(3) as i64) });
        if draw.chance(50) {
            step["told"]["day"] = json!(draw.pick(&[0.0, 2.5, 30.0, 120.0]));
        }
    }
}

/// A start fixed before what is waited on is expected would be a fault (W14).
fn unfix(job: &mut Value) {
    let expected = |row: &Value| {
        let waits = row["waits_on"].as_array().into_iter().flatten();
        waits.filter_map(|wait| wait["expected"].as_str().map(str::to_owned)).max().unwrap_or_default()
    };
    let of_job = expected(job);
    for step in list(job, "steps") {
        let latest = of_job.clone().max(expected(step));
        if step["fixed"]["start"].as_str().is_some_and(|start| start < latest.as_str()) {
            step.as_object_mut().expect("a step").remove("fixed");
        }
    }
}
