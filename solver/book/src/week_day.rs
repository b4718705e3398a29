//! The days of the week, by the names that the book gives them.

use chrono::Weekday;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

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

impl WeekDay {
    /// As the book writes it: `wed`.
    pub fn text(self) -> &'static str {
        match self {
            Self::Mon => "mon",
            Self::Tue => "tue",
            Self::Wed => "wed",
            Self::Thu => "thu",
            Self::Fri => "fri",
            Self::Sat => "sat",
            Self::Sun => "sun",
        }
    }
}
