//! Trucks that tow and carry.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Extra, When, default};

/// A truck.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Truck {
    /// Unique among trucks; any text without `/`.
    #[schemars(extend("format" = "id"))]
    pub id: String,
    /// How it is printed. Default: the id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Its crew; it drives only while the crew is present (H4). None: whenever the shop works.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub crew: Option<String>,
    /// The heaviest unit that it tows, in pounds. Default 0: it tows nothing.
    #[serde(default)]
    #[schemars(range(max = 1_000_000))]
    pub tow_lb: u32,
    /// Most towed units in a half-day (H4). Default 1.
    #[serde(default = "default::one")]
    #[schemars(range(max = 1_000))]
    pub tows: u32,
    /// Most carried units in a half-day (H4). Default 3.
    #[serde(default = "default::three")]
    #[schemars(range(max = 1_000))]
    pub carries: u32,
    /// When it is in repair or lent.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub out: Vec<When>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}
