//! Things: what rides in trucks and units from job to job, and the material of steps.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Extra, WaitsOn, default};
use crate::half_day::HalfDay;

/// A kit, a hose set, a saw: what is put on a truck so that a step can be done. No plan places it; the load lists do (L1 to
/// L6).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Thing {
    /// Unique among things; any text without `/`.
    #[schemars(extend("format" = "id"))]
    pub id: String,
    /// How it is printed. Default: the id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// The kit that it counts as, one of several alike; steps ask for it in `takes`. None: no step asks for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counts_as: Option<String>,
    /// The truck or unit that it rides in. None: it lies at `at`, else where its `home` is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rides_in: Option<String>,
    /// The place where it lies, where it rides in nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// The place, truck or unit where it belongs. None: wherever it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub home: Option<String>,
    /// Its weight, pounds. None: not entered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 1_000_000))]
    pub pounds: Option<u32>,
    /// Nights with a low under this it spends inside, degrees Fahrenheit (L8). None: any night may find it outside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("minimum" = -150, "maximum" = 150))]
    pub keep_above_f: Option<f64>,
    /// Where somebody saw it last; newer than all of that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seen: Option<Seen>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// Where a thing was at the end of a half-day, by somebody's word.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Seen {
    /// The half-day at whose end it was there.
    pub when: HalfDay,
    /// The place where it lay. Either this or `rides_in`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// The truck or unit that it was in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rides_in: Option<String>,
    /// Who said so; printed, never read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

/// Material that a step uses up (L7): on hand somewhere, on order with a date, or neither yet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Material {
    /// What: bags of cellulose, a ventilation unit.
    pub what: String,
    /// How much, in what `what` counts. None: not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 1_000_000))]
    pub amount: Option<f64>,
    /// The place where it lies. None: it is not on hand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// The date on which it comes, where it is on order: work does not start before (W14).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected: Option<NaiveDate>,
    /// The place that it is delivered to. None: the job's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
    /// From whom, and how to reach them; printed, never read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub who: Option<String>,
    /// Whether they have said that it comes then; only beside `expected`. Default false. Changes no plan.
    #[serde(default, skip_serializing_if = "default::is_no")]
    pub confirmed: bool,
    /// Days from the order to the delivery: the last day to order is so many before the step starts. None: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 1_000))]
    pub lead_days: Option<u32>,
    /// Loads of a truck that it makes, for what a delivery to the wrong place costs. Default 1.
    #[serde(default = "default::one", skip_serializing_if = "default::is_one")]
    #[schemars(range(min = 1, max = 1_000))]
    pub loads: u32,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

impl Thing {
    /// What it is called.
    pub fn called(&self) -> &str {
        self.name.as_deref().unwrap_or(&self.id)
    }
}

impl Material {
    /// What is waited for, where it is on order (W14); `None`: nothing is.
    pub fn wait(&self) -> Option<WaitsOn> {
        self.expected.map(|expected| WaitsOn {
            what: self.called(),
            who: self.who.clone(),
            expected: Some(expected),
            confirmed: self.confirmed,
            ask_days: super::waits::ASK_DAYS,
            extra: Extra::new(),
        })
    }

    /// What and how much: `40 bags of cellulose`.
    pub fn called(&self) -> String {
        self.amount.map_or_else(|| self.what.clone(), |amount| format!("{amount} {}", self.what))
    }
}
