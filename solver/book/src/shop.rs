//! The shop itself: hours, working days, prices, and how hauling is counted.

use chrono::Weekday;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Extra;
use crate::half_day::{ClockHours, Range};
use crate::money::Cents;

/// The shop's name, place on the clock and calendar.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ShopFacts {
    /// The name at the head of every sheet.
    #[schemars(length(min = 1))]
    pub name: String,
    /// IANA time zone, such as `America/New_York`.
    #[schemars(extend("format" = "time-zone"))]
    pub time_zone: String,
    /// Labor hours that one person gives in a half-day. Default 4, above 0, at most 12.
    #[serde(default = "four_hours")]
    #[schemars(extend("exclusiveMinimum" = 0, "maximum" = 12, "default" = 4))]
    pub half_day_hours: f64,
    /// The clock hours of am and of pm. Default 07:30-11:30 and 12:00-16:00.
    #[serde(default = "clock_hours")]
    #[schemars(length(min = 2, max = 2))]
    pub hours: Vec<ClockHours>,
    /// The weekdays that the shop works. Default Monday to Friday.
    #[serde(default = "work_days")]
    pub work_days: Vec<WeekDay>,
    /// The weekdays on which overtime may be worked (W9). Default none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub overtime_days: Vec<WeekDay>,
    /// Half-days that the shop does not work: holidays, days off.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub closed: Vec<Range>,
    /// Worked half-days before a start in which changing it costs twice (N3). Default 6.
    #[serde(default = "six_half_days")]
    #[schemars(range(max = 1_000))]
    pub notice_half_days: u32,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

fn six_half_days() -> u32 {
    6
}
fn four_hours() -> f64 {
    4.0
}
fn clock_hours() -> Vec<ClockHours> {
    ["07:30-11:30", "12:00-16:00"].map(|text| text.parse().expect("hours")).to_vec()
}
fn work_days() -> Vec<WeekDay> {
    use WeekDay::{Fri, Mon, Thu, Tue, Wed};
    vec![Mon, Tue, Wed, Thu, Fri]
}

/// A day of the week.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs)]
pub enum WeekDay {
    Mon,
    Tue,
    Wed,
    Thu,
    Fri,
    Sat,
    Sun,
}

impl From<WeekDay> for Weekday {
    fn from(day: WeekDay) -> Self {
        match day {
            WeekDay::Mon => Weekday::Mon,
            WeekDay::Tue => Weekday::Tue,
            WeekDay::Wed => Weekday::Wed,
            WeekDay::Thu => Weekday::Thu,
            WeekDay::Fri => Weekday::Fri,
            WeekDay::Sat => Weekday::Sat,
            WeekDay::Sun => Weekday::Sun,
        }
    }
}

/// What things cost, in dollars.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct Prices {
    /// A minute of towing (C3). Default 1.
    pub tow_minute: Cents,
    /// A minute of carrying in a truck (C3). Default 0.25.
    pub carry_minute: Cents,
    /// Each own crew on a job beyond the first (C4). Default 150.
    pub extra_crew: Cents,
    /// A half-day that a job ends later (C5). Default 2.
    pub wait_half_day: Cents,
    /// A worked date past `due`, for a job that gives none (C1). Default 100, above 0.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub late_day: Cents,
    /// A step that starts otherwise, or by another crew, than the crews were told (C7). Default 60.
    pub change: Cents,
    /// A half-day worked in overtime (C8). Default 240.
    pub overtime_half_day: Cents,
    /// Coming back to a step that was left (C9). Default 80.
    #[serde(rename = "return")]
    pub come_back: Cents,
    /// What a new plan must save, changes included, before it replaces one that still holds (N3). Default 50.
    pub worth_changing: Cents,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

impl Default for Prices {
    fn default() -> Self {
        Self {
            tow_minute: Cents(100),
            carry_minute: Cents(25),
            extra_crew: Cents(15_000),
            wait_half_day: Cents(200),
            late_day: Cents(10_000),
            change: Cents(6_000),
            overtime_half_day: Cents(24_000),
            come_back: Cents(8_000),
            worth_changing: Cents(5_000),
            extra: Extra::new(),
        }
    }
}

/// How hauls are counted, in minutes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct Hauling {
    /// Added to the drive of a towed unit (H5). Default 30.
    #[schemars(range(max = 10_000))]
    pub hitch_minutes: u32,
    /// Added to the drive of a carried unit (H5). Default 15.
    #[schemars(range(max = 10_000))]
    pub load_minutes: u32,
    /// A longer haul at the start takes its whole half-day (H5); none is made in the evening (H1). Default 120.
    #[schemars(range(max = 10_000))]
    pub same_half_day_minutes: u32,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

impl Default for Hauling {
    fn default() -> Self {
        Self { hitch_minutes: 30, load_minutes: 15, same_half_day_minutes: 120, extra: Extra::new() }
    }
}
