//! Ids from names, where none are given: `Birch attic` is `birch-attic`.

use serde_json::Value;

use super::definition;
use super::widget::{Widget, widget};

/// Names one of the book's objects and all within that have ids; `taken`: the ids of its list.
pub fn name_by(of: &str, value: &mut Value, taken: &[String]) {
    let Some(fields) = value.as_object_mut() else { return };
    let properties = &definition(of)["properties"];
    for (field, value) in fields.iter_mut() {
        let (Some(Widget::List(inner)), Value::Array(list)) = (widget(of, field, &properties[field.as_str()]), value)
        else {
            continue;
        };
        for n in 0..list.len() {
            let others: Vec<String> = list.iter().filter_map(|of| of["id"].as_str().map(str::to_owned)).collect();
            name_by(&inner, &mut list[n], &others);
        }
    }
    if properties.get("id").is_none() || fields.contains_key("id") {
        return;
    }
    if let Some(free) = id_by(fields.get("name").and_then(Value::as_str).unwrap_or_default(), taken) {
        fields.insert("id".to_owned(), free.into());
    }
}

/// An id of a name that none has yet; `None`: the name has no letter or digit.
pub fn id_by(name: &str, taken: &[String]) -> Option<String> {
    let words = name.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_lowercase);
    let id = words.collect::<Vec<_>>().join("-");
    let mut all = std::iter::once(id.clone()).chain((2..).map(|n| format!("{id}-{n}")));
    all.find(|id| !taken.contains(id)).filter(|_| !id.is_empty())
}
