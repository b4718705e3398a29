//! What has happened of steps: those that are done, and those in progress.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Extra;
use crate::half_day::HalfDay;

/// How a step was done (N1).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DoneStep {
    /// The crew.
    pub crew: String,
    /// The crews that helped it (W11).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub with: Vec<String>,
    /// The way. None: the step's only one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub way: Option<String>,
    /// The half-day in which it started; it may lie before any horizon.
    pub start: HalfDay,
    /// The half-day in which it ended, not before `start`.
    pub end: HalfDay,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// A step that was started and is not done (N1).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Progress {
    /// The crew, which goes on with it.
    pub crew: String,
    /// The crews that help it, and go on with it too (W11).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub with: Vec<String>,
    /// The way. None: the step's only one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub way: Option<String>,
    /// The half-day in which it started.
    pub start: HalfDay,
    /// What is left, above 0: half-days, or labor hours where the way is counted in them.
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 100_000))]
    pub left: f64,
    /// The units it holds; none where it may split, takes some, and has been left to be come back to (W10).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub units: Vec<String>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}
