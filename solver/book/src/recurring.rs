//! What comes back: seasons of every year, hours of every day.

use std::fmt;
use std::str::FromStr;

use chrono::{Datelike, NaiveDate};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};

use crate::half_day::{NotATime, parse_date, written};

/// A season without a year: `11-15/04-15`, both ends included, may wrap the turn of the year.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Season {
    /// Month and day of the first date.
    pub first: (u32, u32),
    /// Month and day of the last date.
    pub last: (u32, u32),
}

impl Season {
    /// Whether the date falls in the season.
    pub fn holds(self, date: NaiveDate) -> bool {
        let day = (date.month(), date.day());
        if self.first <= self.last {
            self.first <= day && day <= self.last
        } else {
            day >= self.first || day <= self.last
        }
    }
}

impl FromStr for Season {
    type Err = NotATime;
    fn from_str(text: &str) -> Result<Self, NotATime> {
        let how = "write it as 11-15/04-15 (month-day/month-day)";
        let wrong = || NotATime::written(format!("`{text}` is not a season"), how);
        // A leap year, so that 02-29 may be written.
        let one = |part: &str| -> Result<(u32, u32), NotATime> {
            let date = parse_date(&format!("2024-{part}")).map_err(|_| wrong())?;
            Ok((date.month(), date.day()))
        };
        let (a, b) = text.split_once('/').ok_or_else(wrong)?;
        Ok(Self { first: one(a)?, last: one(b)? })
    }
}

impl fmt::Display for Season {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ((a, b), (c, d)) = (self.first, self.last);
        write!(f, "{a:02}-{b:02}/{c:02}-{d:02}")
    }
}

/// The hours of a half-day on the clock: `07:30-11:30`, in minutes after midnight.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct ClockHours {
    /// When the half-day begins.
    pub from: u32,
    /// When it ends, after `from`.
    pub to: u32,
}

impl FromStr for ClockHours {
    type Err = NotATime;
    fn from_str(text: &str) -> Result<Self, NotATime> {
        let wrong = || NotATime::written(format!("`{text}` is not a span of hours"), "write it as 07:30-11:30");
        let one = |part: &str| -> Result<u32, NotATime> {
            let (h, m) = part.split_once(':').ok_or_else(wrong)?;
            let two = |s: &str, below: u32| {
                (s.len() == 2 && s.bytes().all(|b| b.is_ascii_digit()))
                    .then(|| s.parse::<u32>().ok())
                    .flatten()
                    .filter(|n| *n < below)
            };
            Ok(two(h, 24).ok_or_else(wrong)? * 60 + two(m, 60).ok_or_else(wrong)?)
        };
        let (a, b) = text.split_once('-').ok_or_else(wrong)?;
        let (from, to) = (one(a)?, one(b)?);
        if to <= from { Err(wrong()) } else { Ok(Self { from, to }) }
    }
}

impl fmt::Display for ClockHours {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}:{:02}-{:02}:{:02}", self.from / 60, self.from % 60, self.to / 60, self.to % 60)
    }
}

written!(
    Season,
    "Season",
    "season",
    r"^\d\d-\d\d/\d\d-\d\d$",
    "A season without a year, such as 11-15/04-15; may wrap the year."
);
written!(ClockHours, "ClockHours", "clock-hours", r"^\d\d:\d\d-\d\d:\d\d$", "Hours on the clock, such as 07:30-11:30.");

#[cfg(test)]
mod tests {
    use super::*;

    fn date(text: &str) -> NaiveDate {
        parse_date(text).expect("a date")
    }

    #[test]
    fn season_wraps_the_year() {
        let winter: Season = "11-15/04-15".parse().expect("a season");
        assert!(
            winter.holds(date("2026-11-15")) && winter.holds(date("2027-04-15")) && winter.holds(date("2027-01-01"))
        );
        assert!(!winter.holds(date("2026-11-14")) && !winter.holds(date("2027-04-16")));
    }
}
