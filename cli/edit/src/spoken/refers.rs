//! What a field holds by the schema: which list of the book it names something of, or which object.

use std::sync::LazyLock;

use serde_json::Value;
use yardless_book::schema;

/// The list; `None`: the field names nothing. `of`: the schema's name of the object that has it.
pub fn refers_to(of: &str, field: &str) -> Option<&'static str> {
    Some(match (of, field) {
        ("Job" | "Equipment" | "HomeBy", "place")
        | ("Equipment", "hire_place")
        | ("Crew", "home")
        | ("Drive", "from" | "to")
        | ("Weather" | "Thing" | "Seen" | "Material", "at")
        | ("Material", "to") => "places",
        ("Job", "rank") => "ranks",
        ("Place", "road") => "roads",
        ("Truck" | "Fixed" | "DoneStep" | "Progress", "crew")
        | ("DoneStep" | "Progress", "with")
        | ("Crew", "usual_with") => "crews",
        ("Step", "skill") | ("Skill", "id") | ("Crew", "skills") => "skills",
        ("Need" | "Parked", "kind") | ("Equipment", "kinds") => "kinds",
        ("Parked" | "Progress", "units") => "equipment",
        _ => return None,
    })
}

/// The schema.
pub(super) fn definitions() -> &'static Value {
    static SCHEMA: LazyLock<Value> = LazyLock::new(schema);
    &SCHEMA
}

/// The schema's name of the object, or of a member of the list, that a field holds; `None`: it holds none.
pub(super) fn of_field(of: &str, field: &str) -> Option<String> {
    let schema = definitions();
    let entry = if of.is_empty() { &schema["properties"][field] } else { &schema["$defs"][of]["properties"][field] };
    object(entry).map(str::to_owned)
}

fn object(entry: &'static Value) -> Option<&'static str> {
    if let Some(name) = entry["$ref"].as_str().and_then(|of| of.rsplit('/').next()) {
        let of = &definitions()["$defs"][name];
        return if of["properties"].is_object() { Some(name) } else { object(of) };
    }
    if let Some(items) = entry.get("items") {
        return object(items);
    }
    entry["anyOf"].as_array().into_iter().flatten().find_map(object)
}
