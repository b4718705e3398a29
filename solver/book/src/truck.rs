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
    /// What it weighs as it is driven, with people, fuel and tools (H7). None: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 1_000_000))]
    pub weight_lb: Option<u32>,
    /// What its maker rates it for, alone and loaded: told of for the licence. None: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 1_000_000))]
    pub rating_lb: Option<u32>,
    /// What its maker rates it for together with what it tows (H7). None: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 1_000_000))]
    pub combined_lb: Option<u32>,
    /// The heaviest unit that it carries (H7). None: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 1_000_000))]
    pub payload_lb: Option<u32>,
    /// The hitches that it has, in the shop's own words (H7). None: not known.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub hitches: Vec<String>,
    /// Whether it can work a trailer's electric brakes (H7). None: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub brake_control: Option<bool>,
    /// Where its figures are from; printed, never read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ratings_from: Option<String>,
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
