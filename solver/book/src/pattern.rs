//! Patterns: the steps of a kind of job as the shop does it, from which new jobs are made.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Extra, Job, Parked, Step};

/// The steps of a kind of job, to make jobs from. No plan reads it: a job made from it has steps of its own.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Pattern {
    /// Unique among patterns; any text without `/`.
    #[schemars(extend("format" = "id"))]
    pub id: String,
    /// How it is printed. Default: the id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// What stays parked at such a job (E3, E7).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parked: Vec<Parked>,
    /// The steps, one at least.
    #[schemars(length(min = 1))]
    pub steps: Vec<Step>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

impl Pattern {
    /// A job made from it, at a place.
    pub fn job(&self, place: &str) -> Job {
        Job {
            id: self.id.clone(),
            name: self.name.clone(),
            place: place.to_owned(),
            contact: None,
            earliest: None,
            due: None,
            rank: None,
            late_day: None,
            left_out: None,
            no_access: Vec::new(),
            waits_on: Vec::new(),
            in_part: None,
            parked: self.parked.clone(),
            steps: self.steps.clone(),
            extra: Extra::new(),
        }
    }
}
