//! How published reports become weather entries: the shop's own policy.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Extra;

/// Which published event does what, and when a forecast closes roads or is too old.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct Reports {
    /// What events do. An event that is not listed does what the shop's defaults say (`yardless weather --events`).
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub events: Vec<EventRow>,
    /// A forecast older than this says nothing. Hours, above 0 and at most 240. Default 12.
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 240))]
    pub stale_hours: f64,
    /// Forecast snow since the hours before from which roads count as covered (R7). Inches, above 0 and at most 100. Default 1.
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 100))]
    pub covered_snow_in: f64,
    /// Forecast ice since the hours before from which roads count as covered (R7). Inches, above 0 and at most 100. Default 0.01.
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 100))]
    pub covered_ice_in: f64,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

impl Default for Reports {
    fn default() -> Self {
        Self { events: Vec::new(), stale_hours: 12.0, covered_snow_in: 1.0, covered_ice_in: 0.01, extra: Extra::new() }
    }
}

/// What one event does wherever it is in force. A row without a field lets the event be shown only.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct EventRow {
    /// The event's name as published, such as `Winter Storm Warning`; capitals do not matter.
    #[schemars(length(min = 1))]
    pub event: String,
    /// A storm: no outside work, no trailer on the road. Default false.
    #[serde(default)]
    pub storm: bool,
    /// Nobody travels: no work, no hauls. Default false.
    #[serde(default)]
    pub no_travel: bool,
    /// Closes roads to trailers. No alert clears one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub roads: Option<AlertRoads>,
    /// Gusts in miles per hour, 0 to 300.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("minimum" = 0, "maximum" = 300))]
    pub gust_mph: Option<f64>,
    /// The low in degrees Fahrenheit, -150 to 150.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("minimum" = -150, "maximum" = 150))]
    pub low_f: Option<f64>,
    /// Rain: dry steps wait. Default false.
    #[serde(default)]
    pub rain: bool,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// What an alert can say of roads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum AlertRoads {
    /// Closed to trailers.
    Covered,
}
