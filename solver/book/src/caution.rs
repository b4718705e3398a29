//! What calls for care: said of skills and kinds, or read off their names.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Extra;

/// What a skill or a kind calls for on the sheets.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(extend("format" = "caution"))]
pub enum Caution {
    /// Staging stands there.
    Staging,
    /// Air sealing changes how appliances draw their combustion air.
    Combustion,
    /// Foam is sprayed.
    Foam,
    /// Closed cavities are packed.
    DensePack,
}

impl Caution {
    /// Words in a name that call for it, where nothing is said: in that of a kind for staging, else in that of a skill or
    /// a step. Capitals do not matter.
    pub fn words(self) -> &'static [&'static str] {
        match self {
            Self::Staging => &["staging", "scaffold"],
            Self::Combustion => &["air seal", "air-seal"],
            Self::Foam => &["foam"],
            Self::DensePack => &["dense pack", "dense-pack"],
        }
    }

    /// Whether one of the names has one of the words.
    pub fn named(self, names: &[&str]) -> bool {
        names.iter().any(|name| {
            let name = name.to_lowercase();
            self.words().iter().any(|word| name.contains(word))
        })
    }
}

/// A skill of which more is said than its name.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Skill {
    /// Unique among skills; one that a crew has.
    #[schemars(extend("format" = "id"))]
    pub id: String,
    /// The cautions that its work calls for, whatever the names of skill and step say. Default: none.
    #[serde(default)]
    pub cautions: Vec<Caution>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}
