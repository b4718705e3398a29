//! What a job or a step waits on from others, what others were told of it, and how much a job matters.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Extra;
use crate::money::Cents;

/// Something that must have come, or that another must have done, before work starts (W14).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct WaitsOn {
    /// What: windows, the wiring, a permit.
    pub what: String,
    /// From whom, and how to reach them; printed, never read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub who: Option<String>,
    /// The first date on which the work may start. None: nobody knows, and nothing starts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected: Option<NaiveDate>,
    /// Whether they have said that it will be so; only beside `expected`. Default false. Changes no plan.
    #[serde(default)]
    pub confirmed: bool,
    /// How many worked dates ahead to ask, while not confirmed. Default 5. Changes no plan.
    #[serde(default = "five_days")]
    #[schemars(range(max = 1_000))]
    pub ask_days: u32,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// Worked dates ahead to ask, where none is given.
pub(super) const ASK_DAYS: u32 = 5;

fn five_days() -> u32 {
    ASK_DAYS
}

/// The dates on which somebody was told that a step starts (C10).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ToldWindow {
    /// The first date.
    pub from: NaiveDate,
    /// The last date, not before `from`.
    pub to: NaiveDate,
    /// Cost of a worked date by which the start misses them. None: the price list's `told_day`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub day: Option<Cents>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// How much jobs matter, in the shop's own words: promised, wanted, whenever.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Rank {
    /// Unique among ranks; any text without `/`.
    #[schemars(extend("format" = "id"))]
    pub id: String,
    /// How it is printed. Default: the id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Cost of a worked date past `due` for its jobs, above 0. None: the price list's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub late_day: Option<Cents>,
    /// Cost of leaving one of its jobs out (C2). None: by the rule of C2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub left_out: Option<Cents>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}
