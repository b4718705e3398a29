//! What the chance of a date is worked out from: spreads of durations, and a climate.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Extra;
use crate::recurring::Season;

/// Spreads and climate for all jobs. Neither changes a plan: they tell how likely it is to be kept.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Chance {
    /// The least of what the book says that a step takes, as a factor, above 0 and at most 1. Default 1.
    #[serde(default = "one")]
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 1))]
    pub low: f64,
    /// The most, as a factor, 1 to 10. Default 1.
    #[serde(default = "one")]
    #[schemars(extend("minimum" = 1, "maximum" = 10))]
    pub high: f64,
    /// Weather to reckon with past what is reported, by season; of rows that hold on a date the last counts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub climate: Vec<Climate>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// The weather of a part of the year.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Climate {
    /// When, month and day: `12-01/02-28`; it may wrap the year.
    pub on: Season,
    /// Days a week with a storm, on the mean, 0 to 7. Default 0.
    #[serde(default)]
    #[schemars(extend("minimum" = 0, "maximum" = 7))]
    pub storm_days: f64,
    /// Days a week on which roads are closed to trailers besides, on the mean, 0 to 7. Default 0.
    #[serde(default)]
    #[schemars(extend("minimum" = 0, "maximum" = 7))]
    pub closed_days: f64,
    /// Where the figures are from.
    #[schemars(length(min = 1))]
    pub source: String,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// Three points of what a step takes, as factors of what the book says, in this order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Spread {
    /// Hardly ever less, above 0 and at most 10.
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 10))]
    pub low: f64,
    /// Most often about this, above 0 and at most 10. Default 1.
    #[serde(default = "one")]
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 10))]
    pub likely: f64,
    /// Hardly ever more, above 0 and at most 10.
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 10))]
    pub high: f64,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

fn one() -> f64 {
    1.0
}
