//! Crews, and when their people are there.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Extra, Half, WeekDay, When, default};

/// People who work together; also an inspector or another firm.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Crew {
    /// Unique among crews; any text without `/`.
    #[schemars(extend("format" = "id"))]
    pub id: String,
    /// How it is printed. Default: the id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// How many people when all are there.
    #[schemars(range(max = 1_000))]
    pub people: u32,
    /// What the crew can do (W5).
    pub skills: Vec<String>,
    /// People away, added over entries (T2).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub away: Vec<Away>,
    /// The only half-days in which it works. None: all that the shop works.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1))]
    pub only: Option<Vec<When>>,
    /// False for an inspector, electrician or other firm: never an extra crew (C4). Default true.
    #[serde(default = "default::yes")]
    pub own: bool,
    /// Crews with which it works as a rule: helping between the two costs nothing (C11).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub usual_with: Vec<String>,
    /// Steps that it works on in one half-day at most, with all its people on each; more than 1 only where `own` is false
    /// (W13). Default 1.
    #[serde(default = "default::one", skip_serializing_if = "default::is_one")]
    #[schemars(range(min = 1, max = 1_000))]
    pub at_once: u32,
    /// Half-days of each week in which it should have nothing to do, for what comes up; own crews only (C14). Default 0.
    #[serde(default, skip_serializing_if = "default::is_zero")]
    #[schemars(range(max = 14))]
    pub keep_open: u32,
    /// The place from which it drives out and to which it comes back each day; own crews only (C15). None: not counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub home: Option<String>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// People of a crew who are away.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Away {
    /// When.
    pub on: When,
    /// Only on these weekdays of it, one at least; not beside a range that gives its own (T4). None: all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1))]
    pub weekdays: Option<Vec<WeekDay>>,
    /// Only in this half of its dates; not beside a range that gives its own. None: both.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half: Option<Half>,
    /// How many. None: all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 1_000))]
    pub people: Option<u32>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

impl Away {
    /// The half-days in which they are away (T4).
    pub fn when(&self) -> When {
        self.on.on(self.weekdays.as_deref(), self.half)
    }
}
