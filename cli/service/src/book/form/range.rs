//! Ranges of half-days as a row of fields: from and to, each a date and a half, and which weekdays of them.

use serde_json::{Map, Value, json};

use super::cells::{WEEK, cell, date, pick, tick};
use super::{Field, Input};
use crate::request::sent::Fields;

/// A half of a date, and what it is called.
const HALVES: [(&str, &str); 2] = [("am", "morning"), ("pm", "afternoon")];

/// What the fields of a range say.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Days {
    from: String,
    from_half: String,
    to: String,
    to_half: String,
    /// It has no end.
    open: bool,
    weekdays: Vec<String>,
    half: String,
}

impl Days {
    /// As a value has it; what is no range stands where the first date would.
    pub fn of(value: &Value) -> Self {
        let Some(on) = value["on"].as_str().or(value.as_str()) else { return Self::default() };
        let (first, last) = on.split_once('/').map_or((on, None), |(first, last)| (first, Some(last)));
        let (from, from_half) = half_day(first);
        let (to, to_half) = half_day(last.unwrap_or_default());
        let list = value["weekdays"].as_array().into_iter().flatten();
        Self {
            from,
            from_half,
            to,
            to_half,
            open: last == Some(""),
            weekdays: list.filter_map(Value::as_str).map(str::to_owned).collect(),
            half: value["half"].as_str().unwrap_or_default().to_owned(),
        }
    }

    /// As it was sent.
    pub fn sent(sent: &Fields, name: &str) -> Self {
        let get = |field: &str| sent.get(&format!("{name}.{field}")).to_owned();
        let days = format!("{name}.weekdays");
        let of = |date: &str, half: String| if date.is_empty() { String::new() } else { half };
        let (from, to) = (get("from"), get("to"));
        Self {
            from_half: of(&from, get("from_half")),
            to_half: of(&to, get("to_half")),
            open: sent.ticked(&format!("{name}.open")) && to.is_empty() && !from.is_empty(),
            weekdays: sent.all(&days).map(str::to_owned).collect(),
            half: get("half"),
            from,
            to,
        }
    }

    /// The value that it says; `None`: nothing. One that was there already stays as it was written.
    pub fn value(&self, was: &[Value]) -> Option<Value> {
        if self.from.is_empty() && self.to.is_empty() {
            return None;
        }
        if let Some(same) = was.iter().find(|was| Self::of(was) == *self) {
            return Some(same.clone());
        }
        let at = |date: &str, half: &str| if half.is_empty() { date.to_owned() } else { format!("{date} {half}") };
        let mut on = at(&self.from, &self.from_half);
        if self.open || !self.to.is_empty() {
            on.push('/');
            on += &at(&self.to, &self.to_half);
        }
        if self.weekdays.is_empty() && self.half.is_empty() {
            return Some(on.into());
        }
        let mut group = Map::from_iter([("on".to_owned(), on.into())]);
        if !self.weekdays.is_empty() {
            group.insert("weekdays".to_owned(), json!(self.weekdays));
        }
        if !self.half.is_empty() {
            group.insert("half".to_owned(), self.half.as_str().into());
        }
        Some(group.into())
    }

    /// Its fields. `grouped`: with the weekdays and the half, which some objects give beside their range.
    pub fn fields(&self, name: &str, grouped: bool) -> Vec<Field> {
        let at = |field: &str| format!("{name}.{field}");
        let half = |field: &str, label: &str, chosen: &str| Field {
            default: "all day".to_owned(),
            ..cell(at(field), label, pick(&HALVES, chosen))
        };
        let mut all = vec![
            cell(at("from"), "From", date(&self.from)),
            half("from_half", "of that day", &self.from_half),
            cell(at("to"), "To", date(&self.to)),
            half("to_half", "of the last day", &self.to_half),
            cell(at("open"), "without an end", tick(self.open)),
        ];
        if grouped {
            let days =
                WEEK.map(|(day, says)| (day.to_owned(), says.to_owned(), self.weekdays.contains(&day.to_owned())));
            all.push(cell(at("weekdays"), "Only on", Input::Several(days.to_vec())));
            let halves = pick(&[("am", "mornings"), ("pm", "afternoons")], &self.half);
            all.push(Field { default: "all day".to_owned(), ..cell(at("half"), "Half", halves) });
        }
        all
    }
}

/// A date and its half, of `2026-12-09 am`; what is neither stands where the date would.
pub fn half_day(text: &str) -> (String, String) {
    match text.split_once(' ') {
        Some((date, half)) if HALVES.iter().any(|(of, _)| *of == half) => (date.to_owned(), half.to_owned()),
        _ => (text.to_owned(), String::new()),
    }
}

/// The fields of a half-day.
pub fn half_day_fields(text: &str, name: &str) -> Vec<Field> {
    let (day, half) = half_day(text);
    let halves = Input::Pick(HALVES.map(|(of, says)| (of.to_owned(), says.to_owned())).to_vec(), half);
    vec![cell(format!("{name}.date"), "Date", date(&day)), cell(format!("{name}.half"), "Half", halves)]
}

/// The half-day that was sent; a date alone is its morning.
pub fn sent_half_day(sent: &Fields, name: &str) -> Option<Value> {
    let (date, half) = (sent.get(&format!("{name}.date")), sent.get(&format!("{name}.half")));
    let half = if half.is_empty() { "am" } else { half };
    (!date.is_empty()).then(|| format!("{date} {half}").into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_comes_back_as_it_was() {
        let all = [
            json!("2026-12-07/"),
            json!("2026-12-07 pm/2026-12-09 am"),
            json!("2026-12-07 am"),
            json!("/2026-12-09"),
            json!("no date at all"),
            json!({ "on": "2026-12-07/2026-12-18", "weekdays": ["wed", "thu"], "half": "am" }),
            json!({ "on": "2026-12-07", "half": "pm" }),
        ];
        for range in &all {
            assert_eq!(Days::of(range).value(&[]).as_ref(), Some(range));
        }
        let own = json!({ "on": "2026-12-07", "half": "pm", "x_why": "school" });
        assert_eq!(Days::of(&own).value(std::slice::from_ref(&own)), Some(own));
    }
}
