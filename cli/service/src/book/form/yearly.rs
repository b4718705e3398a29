//! What recurs as rows of fields: times of the year, hours on the clock, forecast zones; and where a place is on the map.

use serde_json::{Value, json};

use super::cells::{cell, date, number, pick, text, tick, time};
use super::{Field, Input};
use crate::book::besides::coordinates;
use crate::request::sent::Fields;

/// The months, as a season writes them.
const MONTHS: [(&str, &str); 12] = [
    ("01", "January"),
    ("02", "February"),
    ("03", "March"),
    ("04", "April"),
    ("05", "May"),
    ("06", "June"),
    ("07", "July"),
    ("08", "August"),
    ("09", "September"),
    ("10", "October"),
    ("11", "November"),
    ("12", "December"),
];

/// The fields of a season.
pub fn season_fields(value: &str, name: &str) -> Vec<Field> {
    let (first, last) = value.split_once('/').unwrap_or((value, ""));
    let end = |of: &str, at: &str, day_says: &str, says: &str| {
        let (month, day) = of.split_once('-').unwrap_or(("", of));
        [
            cell(format!("{name}.{at}_day"), day_says, number(day, true)),
            cell(format!("{name}.{at}_month"), says, pick(&MONTHS, month)),
        ]
    };
    end(first, "from", "From, day", "month").into_iter().chain(end(last, "to", "To, day", "month")).collect()
}

/// The season that was sent.
pub fn sent_season(sent: &Fields, name: &str) -> Option<Value> {
    let end = |at: &str| {
        let (day, month) = (sent.get(&format!("{name}.{at}_day")), sent.get(&format!("{name}.{at}_month")));
        let day = if day.len() == 1 { format!("0{day}") } else { day.to_owned() };
        match (month, day.as_str()) {
            ("", "") => String::new(),
            // Either is kept as it was typed, and told.
            ("", day) => day.to_owned(),
            (month, day) => format!("{month}-{day}"),
        }
    };
    let (from, to) = (end("from"), end("to"));
    (!from.is_empty() || !to.is_empty()).then(|| format!("{from}/{to}").into())
}

/// The fields of a span of hours.
pub fn hours_fields(value: &str, name: &str) -> Vec<Field> {
    let (from, to) = value.split_once('-').unwrap_or((value, ""));
    vec![cell(format!("{name}.from"), "From", time(from)), cell(format!("{name}.to"), "To", time(to))]
}

/// The span of hours that was sent.
pub fn sent_hours(sent: &Fields, name: &str) -> Option<Value> {
    let (from, to) = (sent.get(&format!("{name}.from")), sent.get(&format!("{name}.to")));
    (!from.is_empty() || !to.is_empty()).then(|| format!("{from}-{to}").into())
}

/// The field of a text of a list.
pub fn text_field(value: &str, name: &str, label: &str) -> Vec<Field> {
    vec![cell(format!("{name}.is"), label, text(value))]
}

/// Latitude and longitude.
pub fn place_fields(value: &[String], name: &str) -> Vec<Field> {
    let of = |n: usize| value.get(n).map_or("", String::as_str);
    vec![
        cell(format!("{name}.0"), "Latitude", number(of(0), false)),
        cell(format!("{name}.1"), "Longitude", number(of(1), false)),
    ]
}

/// What was sent of them; both may be pasted into the first.
pub fn sent_place(sent: &Fields, name: &str) -> Option<Value> {
    let (first, second) = (sent.get(&format!("{name}.0")), sent.get(&format!("{name}.1")));
    let degrees = |text: &str| text.parse::<f64>().map_or_else(|_| Value::from(text), |n| json!(n));
    match (first, second) {
        ("", "") => None,
        (pasted, "") => match coordinates(pasted) {
            Some(Value::Array(pair)) => Some(pair.into()),
            _ => Some(json!([degrees(pasted)])),
        },
        (first, second) => Some(json!([degrees(first), degrees(second)])),
    }
}

/// A date from which something is, or never.
pub fn power_fields(value: &str, name: &str) -> Vec<Field> {
    let never = value == "never";
    vec![
        cell(format!("{name}.date"), "From", date(if never { "" } else { value })),
        cell(format!("{name}.never"), "never has power", tick(never)),
    ]
}

/// What was sent of it.
pub fn sent_power(sent: &Fields, name: &str) -> Option<Value> {
    if sent.ticked(&format!("{name}.never")) {
        return Some("never".into());
    }
    let date = sent.get(&format!("{name}.date"));
    (!date.is_empty()).then(|| date.into())
}

/// Any of what is known, and one more that is typed.
pub fn tag_fields(known: Vec<(String, String)>, chosen: &[String], name: &str, label: &str) -> Vec<Field> {
    let all = known.into_iter().map(|(id, says)| (id.clone(), says, chosen.contains(&id))).collect();
    vec![cell(name.to_owned(), label, Input::Several(all)), cell(format!("{name}.more"), "Another one", text(""))]
}

/// In the order in which they stood, new ones behind.
pub fn in_order(sent: Vec<String>, was: Option<&Value>) -> Vec<String> {
    let was: Vec<&str> = was.and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str).collect();
    let stays = was.iter().filter(|of| sent.iter().any(|sent| sent == *of)).map(|of| (*of).to_owned());
    let mut all: Vec<String> = stays.collect();
    for of in sent {
        if !all.contains(&of) {
            all.push(of);
        }
    }
    all
}
