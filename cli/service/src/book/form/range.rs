//! Ranges as they are typed: `2026-12-07/2026-12-18`, and of some weekdays or a half `2026-12-07/; wed thu; am`.

use serde_json::{Map, Value, json};

/// The halves of a date.
const HALVES: [&str; 2] = ["am", "pm"];

/// A range as it is typed.
pub fn typed(value: &Value) -> String {
    let Some(on) = value["on"].as_str() else {
        return value.as_str().map_or_else(|| value.to_string(), str::to_owned);
    };
    let days: Vec<&str> = value["weekdays"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    let mut parts = vec![on.to_owned()];
    if !days.is_empty() {
        parts.push(days.join(" "));
    }
    parts.extend(value["half"].as_str().map(str::to_owned));
    parts.join("; ")
}

/// The range that a text means; one that was there already stays as it was written.
pub fn read(text: &str, was: &[Value]) -> Value {
    if let Some(same) = was.iter().find(|was| typed(was) == text) {
        return same.clone();
    }
    let mut parts = text.split(';').map(str::trim).filter(|part| !part.is_empty());
    let on = parts.next().unwrap_or_default();
    let mut group = Map::new();
    for part in parts {
        if HALVES.contains(&part) {
            group.insert("half".to_owned(), part.into());
        } else {
            let days: Vec<&str> = part.split([' ', ',']).filter(|day| !day.is_empty()).collect();
            group.insert("weekdays".to_owned(), json!(days));
        }
    }
    if group.is_empty() {
        return on.into();
    }
    group.shift_insert(0, "on".to_owned(), on.into());
    group.into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_with_weekdays_comes_back_as_it_was() {
        let all = [
            json!("2026-12-07/"),
            json!({ "on": "2026-12-07/2026-12-18", "weekdays": ["wed", "thu"], "half": "am" }),
            json!({ "on": "2026-12-07", "half": "pm" }),
        ];
        for range in &all {
            assert_eq!(read(&typed(range), &[]), *range);
        }
        let own = json!({ "on": "2026-12-07", "half": "pm", "x_why": "school" });
        assert_eq!(read(&typed(&own), std::slice::from_ref(&own)), own);
    }
}
