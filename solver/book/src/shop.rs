//! The shop itself: hours, working days, prices, and how hauling is counted.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Extra, WeekDay, When, default};
use crate::money::Cents;
use crate::recurring::ClockHours;

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
    pub closed: Vec<When>,
    /// Worked half-days before a start in which changing it costs twice (N3). Default 6.
    #[serde(default = "six_half_days")]
    #[schemars(range(max = 1_000))]
    pub notice_half_days: u32,
    /// Worked half-days before a start from which on changing it costs nothing (N3). None: it always costs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 10_000))]
    pub told_half_days: Option<u32>,
    /// Fewest people of an own crew on a step that does not say (W17). Default 1.
    #[serde(default = "default::one", skip_serializing_if = "default::is_one")]
    #[schemars(range(min = 1, max = 1_000))]
    pub min_people: u32,
    /// Most minutes that a crew with a home drives at noon, from its work in the am to that in the pm (C15). Default 60.
    #[serde(default = "an_hour", skip_serializing_if = "is_an_hour")]
    #[schemars(range(max = 1_000))]
    pub noon_minutes: u32,
    /// Minutes that each stop takes besides its `hours`: getting there and away (W16). Default 30.
    #[serde(default = "half_an_hour", skip_serializing_if = "is_half_an_hour")]
    #[schemars(range(max = 1_000))]
    pub stop_minutes: u32,
    /// Jobs may be planned in part (W12), unless a job says otherwise. Default no.
    #[serde(default, skip_serializing_if = "default::is_no")]
    pub in_part: bool,
    /// `note` and `x_...` fields.
    #[serde(flatten)]
    #[schemars(skip)]
    pub extra: Extra,
}

fn an_hour() -> u32 {
    60
}
#[allow(clippy::trivially_copy_pass_by_ref)] // serde hands a reference
fn is_an_hour(minutes: &u32) -> bool {
    *minutes == an_hour()
}
fn half_an_hour() -> u32 {
    30
}
#[allow(clippy::trivially_copy_pass_by_ref)] // serde hands a reference
fn is_half_an_hour(minutes: &u32) -> bool {
    *minutes == half_an_hour()
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
    /// The same where crew and date stay as they were told (N3). Default: as `change`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub change_same_date: Option<Cents>,
    /// A worked date by which a step starts outside the dates that somebody was told (C10). Default 80.
    pub told_day: Cents,
    /// A half-day in which a crew helps another that it does not work with as a rule (C11). Default 20.
    pub help_half_day: Cents,
    /// A half-day of a week by which a crew has less nothing to do than it should (C14). Default 60.
    pub reserve_half_day: Cents,
    /// A minute that a crew with a home drives (C15). Default 0: not counted.
    pub drive_minute: Cents,
    /// A half-day that the shop works from the start of a job's first step to the end of its last (C16). Default 0.
    #[serde(skip_serializing_if = "Cents::is_nothing")]
    pub open_half_day: Cents,
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
            change_same_date: None,
            told_day: Cents(8_000),
            help_half_day: Cents(2_000),
            reserve_half_day: Cents(6_000),
            drive_minute: Cents::ZERO,
            open_half_day: Cents::ZERO,
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
