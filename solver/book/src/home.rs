//! By when equipment is to be gone from a place, and by when back at one.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Extra;
use crate::money::Cents;

/// By when a unit is to stand at a place (C17).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HomeBy {
    /// The date by whose end it is to stand there, hauls of its evening included.
    pub date: NaiveDate,
    /// Where it is to stand: a place.
    pub place: String,
    /// Cost of a worked date after `date` as which begins it does not stand there, above 0. None: the price list's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub late_day: Option<Cents>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// By when towed units are to be gone from a site (C18).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ClearBy {
    /// So many dates after the last step there, by the end of the last of them. 0: on the date of the last step.
    #[schemars(range(max = 1_000))]
    pub days: u32,
    /// Cost of each towed unit and worked date after them as which begins it stands there, above 0. None: the price
    /// list's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub late_day: Option<Cents>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}
