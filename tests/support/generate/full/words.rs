//! What was said of a job: dates of single steps, words given, waits on others, ranks, and when nobody is let in.

use serde_json::{Value, json};

use super::super::Shape;
use super::date;
use crate::day;
use crate::draw::Draw;
use crate::waits::list;

pub fn add(draw: &mut Draw, shape: Shape, job: &mut Value) {
    if draw.chance(50) {
        job["rank"] = json!(draw.pick(&["promised", "usual", "usual", "filler"]));
        let fields = job.as_object_mut().expect("a job");
        fields.remove("late_day");
        fields.remove("left_out");
    }
    if draw.chance(15) {
        let mut shut = json!({ "on": format!("{}/", day(0)), "weekdays": [draw.pick(&["mon", "fri"])] });
        if draw.chance(50) {
            shut["half"] = json!("am");
        }
        job["no_access"] = json!([shut]);
    }
    let begins = days_after(&job["earliest"]);
    let horizon = 7 * shape.weeks as usize;
    if draw.chance(10) {
        let expected = begins + draw.below(horizon / 2);
        job["waits_on"] = json!([wait(draw, expected, "permit", "the town")]);
    }
    let count = job["steps"].as_array().map_or(0, Vec::len);
    for (n, step) in list(job, "steps").enumerate() {
        // Where it may come in about, if all steps take the same.
        let about = begins + (horizon - begins.min(horizon)) * n / count;
        if n > 0 && draw.chance(18) && step["waits_on"].is_null() {
            let expected = begins + draw.below(horizon / 2);
            step["waits_on"] = json!([wait(draw, expected, "wiring", "the electrician")]);
        }
        if draw.chance(20) && step["id"] != "look" {
            step["due"] = json!(day(about + draw.between(3, 10)));
            if draw.chance(50) {
                step["late_day"] = json!(draw.pick(&[20, 60]));
            }
        }
        if draw.chance(20) {
            let first = about as i64 + draw.between(0, 8) as i64;
            step["told"] = json!({ "from": date(first), "to": date(first + draw.pick(&[1, 2, 4])) });
            if draw.chance(50) {
                step["told"]["day"] = json!(draw.pick(&[25, 120]));
            }
        }
        if matches!(step["id"].as_str(), Some("foam" | "seal" | "close" | "strip")) && draw.chance(75) {
            step["max_high_f"] = json!(55);
        }
    }
}

/// Days from the Monday to a date; 0 where there is none.
fn days_after(date: &Value) -> usize {
    let date = date.as_str().and_then(|text| text.parse::<chrono::NaiveDate>().ok());
    date.map_or(0, |date| (date - crate::monday()).num_days().max(0) as usize)
}

/// Now and then nobody knows till when.
fn wait(draw: &mut Draw, expected: usize, what: &str, who: &str) -> Value {
    if draw.chance(8) {
        return json!({ "what": what, "who": who });
    }
    let mut wait = json!({ "what": what, "who": who, "expected": day(expected), "confirmed": draw.chance(50) });
    if draw.chance(30) {
        wait["ask_days"] = json!(draw.pick(&[2, 10]));
    }
    wait
}
