//! The JSON Schema of the book: made from its types, then closed against anything else.

use std::sync::LazyLock;

use schemars::Schema;
use schemars::generate::SchemaSettings;
use schemars::transform::RecursiveTransform;
use serde_json::{Map, Value, json};

use crate::LONGEST_ID;

/// What each object of the book is called; also its title in the schema.
const NOUNS: [(&str, &str); 39] = [
    ("ShopFacts", "shop"),
    ("Prices", "price list"),
    ("Hauling", "hauling"),
    ("Rank", "rank"),
    ("Road", "road"),
    ("Posted", "posted weight"),
    ("Place", "place"),
    ("Drive", "drive"),
    ("Kind", "kind"),
    ("Skill", "skill"),
    ("Crew", "crew"),
    ("Away", "away entry"),
    ("Truck", "truck"),
    ("Equipment", "unit"),
    ("HomeBy", "home date"),
    ("ClearBy", "clearing"),
    ("Thing", "thing"),
    ("Seen", "seen entry"),
    ("Weather", "weather entry"),
    ("Reports", "report table"),
    ("EventRow", "event row"),
    ("Chance", "chance"),
    ("Climate", "climate row"),
    ("Pattern", "pattern"),
    ("Job", "job"),
    ("WaitsOn", "wait"),
    ("ToldWindow", "told window"),
    ("Material", "material"),
    ("Parked", "parked need"),
    ("Step", "step"),
    ("Spread", "spread"),
    ("Need", "need"),
    ("StepWay", "way"),
    ("AfterStep", "after entry"),
    ("Fixed", "fixed"),
    ("DoneStep", "done entry"),
    ("Progress", "progress entry"),
    ("When", "range with weekdays"),
    ("Book", "book"),
];

/// The schema that `yardless schema` prints, and that books are read by.
pub fn schema() -> Value {
    shared().clone()
}

/// What an object of the schema is called; none: it has no such object.
pub fn noun(definition: &str) -> Option<&'static str> {
    NOUNS.iter().find(|(name, _)| *name == definition).map(|(_, noun)| *noun)
}

/// The schema, made once.
pub(super) fn shared() -> &'static Value {
    static SCHEMA: LazyLock<Value> = LazyLock::new(make);
    &SCHEMA
}

fn make() -> Value {
    let settings = SchemaSettings::draft2020_12().with_transform(RecursiveTransform(close));
    let mut schema = settings.into_generator().into_root_schema_for::<super::Book>();
    if let Some(Value::Object(definitions)) = schema.get_mut("$defs") {
        for (definition, noun) in NOUNS {
            if let Some(Value::Object(object)) = definitions.get_mut(definition) {
                object.insert("title".into(), noun.into());
            }
        }
    }
    schema.insert("title".into(), "book".into());
    schema.insert("$id".into(), "urn:yardless:book:1".into());
    schema.to_value()
}

/// What the types alone do not say.
fn close(schema: &mut Schema) {
    let Some(object) = schema.as_object_mut() else { return };
    forbid_null(object);
    if let Some(Value::String(text)) = object.get_mut("description") {
        *text = text.replace("None: ", "Not given: ");
    }
    match object.get("format").and_then(Value::as_str) {
        Some("uint32" | "double") => {
            object.remove("format");
        }
        Some("id") => {
            object.insert("minLength".into(), 1.into());
            object.insert("maxLength".into(), LONGEST_ID.into());
            object.insert("pattern".into(), "^[^/]*$".into());
        }
        Some("zone") => {
            object.insert("pattern".into(), r"^([A-Z]{2}[CZ]\d{3}|\d{6})$".into());
        }
        // Editors divide binary fractions and would refuse 0.29; the reader counts the decimals itself.
        Some("dollars") => {
            object.remove("multipleOf");
        }
        Some("coordinates") => {
            object.remove("items");
            object.insert(
                "prefixItems".into(),
                json!([
                    { "type": "number", "minimum": -90, "maximum": 90, "description": "Latitude in degrees." },
                    { "type": "number", "minimum": -180, "maximum": 180, "description": "Longitude in degrees." }
                ]),
            );
        }
        _ => {}
    }
    if object.get("type").is_some_and(|t| t == "object") {
        let fields = object.entry("properties").or_insert_with(|| json!({}));
        if let Some(fields) = fields.as_object_mut() {
            fields.insert("note".into(), json!({ "description": "A remark: kept, never read." }));
        }
        object.insert("patternProperties".into(), json!({ "^x_": { "description": "Your own: kept, never read." } }));
        object.insert("additionalProperties".into(), false.into());
    }
}

/// A field that may be left out is not one that may be `null`; only a weather report takes something back so, and says it
/// as a constant.
fn forbid_null(object: &mut Map<String, Value>) {
    if let Some(Value::Array(types)) = object.get_mut("type") {
        types.retain(|t| t != "null");
        if let [only] = types.as_slice() {
            let only = only.clone();
            object.insert("type".into(), only);
        }
    }
    if let Some(Value::Array(choices)) = object.get_mut("anyOf") {
        choices.retain(|choice| choice.get("type").is_none_or(|t| t != "null"));
        if let [Value::Object(only)] = choices.as_slice() {
            let only = only.clone();
            object.remove("anyOf");
            for (key, value) in only {
                object.entry(key).or_insert(value);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn schema_lets_no_field_be_null_but_those_of_a_weather_report() {
        fn nulls(value: &Value, at: &str, found: &mut Vec<String>) {
            match value {
                Value::Object(object) => {
                    if object
                        .get("type")
                        .is_some_and(|t| t == "null" || t.as_array().is_some_and(|a| a.contains(&"null".into())))
                        || object.get("const").is_some_and(Value::is_null)
                    {
                        found.push(at.to_owned());
                    }
                    for (key, inner) in object {
                        nulls(inner, &format!("{at}/{key}"), found);
                    }
                }
                Value::Array(list) => list.iter().for_each(|inner| nulls(inner, at, found)),
                _ => {}
            }
        }
        let mut found = vec![];
        nulls(&schema(), "", &mut found);
        // What a weather entry reports, not when and where: storm, no_travel, roads, gust_mph, low_f, high_f, rain.
        let expected = ["storm", "no_travel", "roads", "gust_mph", "low_f", "high_f", "rain"];
        assert_eq!(found, expected.map(|field| format!("/$defs/Weather/properties/{field}/anyOf")));
    }

    #[test]
    fn schema_names_and_closes_every_object() {
        let schema = schema();
        let objects: Vec<&Value> =
            schema["$defs"].as_object().expect("definitions").values().filter(|d| d["type"] == "object").collect();
        assert_eq!(objects.len() + 1, NOUNS.len());
        for object in objects.into_iter().chain([&schema]) {
            assert_eq!(object["additionalProperties"], false, "{object}");
            assert!(object["title"].is_string() && object["properties"]["note"].is_object(), "{object}");
        }
    }
}
