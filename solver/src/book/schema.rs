//! The JSON Schema of the book.

/// The schema that `yardless schema` prints.
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(super::Book).to_value()
}
