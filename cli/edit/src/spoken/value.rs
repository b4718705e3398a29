//! What a value of the book says, as one would say it: dates, ranges, names in place of ids.

use std::fmt::Write;

use serde_json::Value;
use yardless_book::half_day::{HalfDay, Range, parse_date};

use super::label::label;
use super::refers::{of_field, refers_to};

/// `Wed 9 Dec 2026`; what is no date stays as it is.
pub fn date(text: &str) -> String {
    parse_date(text).map_or_else(|_| text.to_owned(), |date| date.format("%a %-d %b %Y").to_string())
}

/// `Wed 9 Dec 2026, morning`.
pub fn half_day(text: &str) -> String {
    text.parse::<HalfDay>().map_or_else(|_| date(text), of_half_day)
}

fn of_half_day(at: HalfDay) -> String {
    format!("{}, {}", at.date().format("%a %-d %b %Y"), if at.is_pm() { "afternoon" } else { "morning" })
}

/// `Wed 9 Dec 2026 to Fri 11 Dec 2026`, `from Wed 9 Dec 2026 on`.
pub fn range(text: &str) -> String {
    let Ok(of) = text.parse::<Range>() else { return text.to_owned() };
    let day = |at: HalfDay| at.date().format("%a %-d %b %Y").to_string();
    let first = if of.first.is_pm() { of_half_day(of.first) } else { day(of.first) };
    let last = if of.last.is_pm() { day(of.last) } else { of_half_day(of.last) };
    match (of.is_open(), of.first.date() == of.last.date()) {
        (true, _) => format!("from {first} on"),
        (_, true) if of.first == of.last => of_half_day(of.first),
        (_, true) => day(of.first),
        _ => format!("{first} to {last}"),
    }
}

/// `15 Nov to 15 Apr`.
pub fn season(text: &str) -> String {
    const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    let day = |text: &str| -> Option<String> {
        let (month, day) = text.split_once('-')?;
        let month = MONTHS.get(month.parse::<usize>().ok()?.checked_sub(1)?)?;
        Some(format!("{} {month}", day.parse::<u32>().ok()?))
    };
    let both = text.split_once('/').and_then(|(a, b)| Some(format!("{} to {}", day(a)?, day(b)?)));
    both.unwrap_or_else(|| text.to_owned())
}

/// `Wednesday` of `wed`.
pub fn weekday(text: &str) -> &str {
    match text {
        "mon" => "Monday",
        "tue" => "Tuesday",
        "wed" => "Wednesday",
        "thu" => "Thursday",
        "fri" => "Friday",
        "sat" => "Saturday",
        "sun" => "Sunday",
        other => other,
    }
}

/// What a value says. `of`: the schema's name of the object that has it in this field.
pub fn value(book: &Value, of: &str, field: &str, value: &Value) -> String {
    match value {
        Value::Null => "taken back".to_owned(),
        Value::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Value::Number(number) => number.to_string(),
        Value::String(text) => one(book, of, field, text),
        Value::Array(list) if field == "at" && of == "Place" => {
            list.iter().map(Value::to_string).collect::<Vec<_>>().join(", ")
        }
        Value::Array(list) if list.is_empty() => "none".to_owned(),
        Value::Array(list) => list.iter().map(|one| self::value(book, of, field, one)).collect::<Vec<_>>().join("; "),
        Value::Object(fields) => {
            if let Some(on) = fields.get("on").and_then(Value::as_str) {
                return days(on, value);
            }
            if let Some(name) = fields.get("name").or(fields.get("id")).and_then(Value::as_str) {
                return name.to_owned();
            }
            let inner = of_field(of, field);
            let inner = inner.as_deref().unwrap_or_default();
            let says = fields.iter().filter(|(name, _)| !name.starts_with("x_"));
            let says = says.map(|(name, of)| match of {
                Value::Bool(true) => label(inner, name).to_lowercase(),
                of if ["kind", "what"].contains(&name.as_str()) => self::value(book, inner, name, of),
                of => format!("{} {}", label(inner, name).to_lowercase(), self::value(book, inner, name, of)),
            });
            says.collect::<Vec<_>>().join(", ")
        }
    }
}

/// `every Wednesday and Thursday, Wed 9 Dec 2026 to Fri 18 Dec 2026, mornings`, and how many people.
fn days(on: &str, of: &Value) -> String {
    let days: Vec<&str> =
        of["weekdays"].as_array().into_iter().flatten().filter_map(Value::as_str).map(weekday).collect();
    let mut says = if days.is_empty() { String::new() } else { format!("every {}, ", days.join(" and ")) };
    let yearly = season(on);
    says += &if yearly == on { range(on) } else { yearly };
    match of["half"].as_str() {
        Some("am") => says += ", mornings",
        Some("pm") => says += ", afternoons",
        _ => {}
    }
    if let Some(people) = of["people"].as_u64() {
        let _ = write!(says, ", {people} {}", if people == 1 { "person" } else { "people" });
    }
    says
}

fn one(book: &Value, of: &str, field: &str, text: &str) -> String {
    if let Some(list) = refers_to(of, field) {
        return named(&book[list], text).to_owned();
    }
    if matches!((of, field), ("Thing" | "Seen", "rides_in" | "home")) {
        let lists = ["trucks", "equipment", "places"].into_iter();
        return lists.map(|list| named(&book[list], text)).find(|name| *name != text).unwrap_or(text).to_owned();
    }
    if of == "Step" && field == "after" {
        return match text.split_once('/') {
            Some((job, step)) => {
                let of_job = book["jobs"].as_array().into_iter().flatten().find(|of| of["id"] == job);
                let steps = of_job.map_or(&Value::Null, |of| &of["steps"]);
                format!("{} of {}", named(steps, step), named(&book["jobs"], job))
            }
            None => text.to_owned(),
        };
    }
    match field {
        "work_days" | "overtime_days" | "weekdays" | "expect_clear" => weekday(text).to_owned(),
        "no_trailers" => season(text),
        "time_zone" => text.replace('_', " "),
        "half" => if text == "am" { "mornings" } else { "afternoons" }.to_owned(),
        "name" | "note" | "contact" | "address" | "what" | "who" | "source" | "event" => text.to_owned(),
        "start" | "end" => half_day(text),
        "hours" => text.replace('-', " to "),
        _ if text.len() == 10 => date(text),
        _ => range(text),
    }
}

/// What an id of a list is called.
fn named<'v>(list: &'v Value, id: &'v str) -> &'v str {
    let found = list.as_array().into_iter().flatten().find(|member| member["id"] == id);
    found.and_then(|member| member["name"].as_str()).unwrap_or(id)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn values_are_said_without_the_format_of_the_book() {
        let book = json!({ "places": [{ "id": "elm", "name": "Elm Street" }],
            "jobs": [{ "id": "a", "name": "Attic", "steps": [{ "id": "s", "name": "Seal" }] }] });
        let says = |of: &str, field: &str, is: Value| value(&book, of, field, &is);
        assert_eq!(says("Job", "place", json!("elm")), "Elm Street");
        assert_eq!(says("Job", "due", json!("2026-12-09")), "Wed 9 Dec 2026");
        assert_eq!(says("Step", "after", json!(["a/s"])), "Seal of Attic");
        assert_eq!(says("Road", "no_trailers", json!(["11-15/04-15"])), "15 Nov to 15 Apr");
        let away = json!([{ "on": "2026-12-14/2026-12-16 am", "people": 1 }]);
        assert_eq!(says("Crew", "away", away), "Mon 14 Dec 2026 to Wed 16 Dec 2026, morning, 1 person");
        let fridays = json!([{ "on": "2026-12-07/", "weekdays": ["fri"], "half": "pm" }, "2026-12-24 pm"]);
        assert_eq!(
            says("Job", "no_access", fridays),
            "every Friday, from Mon 7 Dec 2026 on, afternoons; Thu 24 Dec 2026, afternoon"
        );
        let fixed = json!({ "crew": "north", "start": "2026-12-21 am" });
        assert_eq!(says("Step", "fixed", fixed), "by which crew north, starts Mon 21 Dec 2026, morning");
    }
}
