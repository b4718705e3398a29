//! How much power a step takes where its place has none (E5, E9).

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

/// Units that give power: a number, or whether one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum PowerNeed {
    /// One, or none.
    Any(bool),
    /// So many.
    Units(u32),
}

impl PowerNeed {
    /// How many.
    pub fn units(self) -> u32 {
        match self {
            Self::Any(any) => u32::from(any),
            Self::Units(n) => n,
        }
    }
}

impl Default for PowerNeed {
    fn default() -> Self {
        Self::Any(false)
    }
}

impl JsonSchema for PowerNeed {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "PowerNeed".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "anyOf": [
            { "type": "boolean" },
            { "type": "integer", "minimum": 0, "maximum": 1_000 }
        ] })
    }
}
