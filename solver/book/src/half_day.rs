//! Half-days, ranges of them, and the horizon: the only place that turns dates into indices.

use std::fmt;
use std::str::FromStr;

use chrono::{Datelike, Days, NaiveDate, Weekday};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};

/// One half of a date: am or pm. Ordered in time; the unit in which everything is planned.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct HalfDay(i32);

impl HalfDay {
    /// The date's morning.
    pub fn am(date: NaiveDate) -> Self {
        Self(date.num_days_from_ce() * 2)
    }
    /// The date's afternoon.
    pub fn pm(date: NaiveDate) -> Self {
        Self(date.num_days_from_ce() * 2 + 1)
    }
    /// The date it belongs to.
    pub fn date(self) -> NaiveDate {
        NaiveDate::from_num_days_from_ce_opt(self.0.div_euclid(2)).unwrap_or(NaiveDate::MAX)
    }
    /// The half-day that follows.
    #[must_use]
    pub fn following(self) -> Self {
        Self(self.0 + 1)
    }
    /// The half-day before.
    #[must_use]
    pub fn preceding(self) -> Self {
        Self(self.0 - 1)
    }
    /// Whether it is an afternoon.
    pub fn is_pm(self) -> bool {
        self.0.rem_euclid(2) == 1
    }
    /// Its weekday, Monday 0.
    pub fn weekday(self) -> usize {
        // Day 1 of the common era, of the calendar drawn back, is a Monday.
        (self.0.div_euclid(2) - 1).rem_euclid(7) as usize
    }
}

impl fmt::Display for HalfDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.date(), if self.is_pm() { "pm" } else { "am" })
    }
}
impl fmt::Debug for HalfDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// Why a text is not a half-day, a range or a time of day; the sentence is meant for the owner.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{says}{}", .write.map_or(String::new(), |write| format!("; {write}")))]
pub struct NotATime {
    /// What is wrong with it.
    pub says: String,
    /// How it is written, where it is nothing of the kind.
    pub write: Option<&'static str>,
}

impl NotATime {
    /// One that does not exist, or lies outside what is taken.
    pub fn new(says: impl Into<String>) -> Self {
        Self { says: says.into(), write: None }
    }
    /// A text that is nothing of the kind, and how it is written.
    pub fn written(says: impl Into<String>, write: &'static str) -> Self {
        Self { says: says.into(), write: Some(write) }
    }
}

/// The years of every date in books and plans.
const YEARS: std::ops::Range<i32> = 1900..2200;

/// Reads `2026-12-09`, exactly ten characters, a date that exists, in the years 1900 to 2199.
pub fn parse_date(text: &str) -> Result<NaiveDate, NotATime> {
    let shaped = text.len() == 10
        && text.bytes().enumerate().all(|(i, b)| if i == 4 || i == 7 { b == b'-' } else { b.is_ascii_digit() });
    if !shaped {
        return Err(NotATime::written(format!("`{text}` is not a date"), "write it as 2026-12-09"));
    }
    match NaiveDate::from_str(text) {
        Ok(date) if YEARS.contains(&date.year()) => Ok(date),
        Ok(_) => Err(NotATime::new(format!("`{text}` is outside the years 1900 to 2199"))),
        Err(_) => Err(NotATime::new(format!("there is no date `{text}` in the calendar"))),
    }
}

impl FromStr for HalfDay {
    type Err = NotATime;
    fn from_str(text: &str) -> Result<Self, NotATime> {
        let how = "write it as 2026-12-09 am or 2026-12-09 pm";
        let wrong = || NotATime::written(format!("`{text}` is not a half-day"), how);
        let (date, half) = text.split_once(' ').ok_or_else(wrong)?;
        match half {
            "am" => parse_date(date).map(Self::am),
            "pm" => parse_date(date).map(Self::pm),
            _ => Err(wrong()),
        }
    }
}

/// A run of half-days, both ends included: `2026-12-09`, `2026-12-09 pm`, `2026-12-09 pm/2026-12-11`; without an end it
/// goes on for ever: `2026-12-09/` (T4).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Range {
    /// The first half-day of the range.
    pub first: HalfDay,
    /// The last half-day of the range, not before `first`.
    pub last: HalfDay,
}

impl Range {
    /// Whether the half-day lies in the range.
    pub fn holds(self, half_day: HalfDay) -> bool {
        self.first <= half_day && half_day <= self.last
    }

    /// Whether it has no end.
    pub fn is_open(self) -> bool {
        self.last == Self::never()
    }

    /// The last half-day of all that can be written: an open end.
    fn never() -> HalfDay {
        let last = NaiveDate::from_ymd_opt(YEARS.end - 1, 12, 31).unwrap_or(NaiveDate::MAX);
        HalfDay::pm(last)
    }
}

impl FromStr for Range {
    type Err = NotATime;
    fn from_str(text: &str) -> Result<Self, NotATime> {
        let one = |part: &str| -> Result<(HalfDay, HalfDay), NotATime> {
            if part.contains(' ') {
                part.parse().map(|h| (h, h))
            } else {
                parse_date(part).map(|d| (HalfDay::am(d), HalfDay::pm(d)))
            }
        };
        let (first, last) = match text.split_once('/') {
            None => one(text)?,
            Some((a, "")) => (one(a)?.0, Self::never()),
            Some((a, b)) => (one(a)?.0, one(b)?.1),
        };
        if last < first {
            return Err(NotATime::new(format!("the range `{text}` ends before it begins")));
        }
        Ok(Self { first, last })
    }
}

impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (a, b) = (self.first, self.last);
        if self.is_open() {
            return if a.is_pm() { write!(f, "{a}/") } else { write!(f, "{}/", a.date()) };
        }
        match (a.is_pm(), b.is_pm(), a.date() == b.date()) {
            (false, true, true) => write!(f, "{}", a.date()),
            (false, true, false) => write!(f, "{}/{}", a.date(), b.date()),
            _ if a == b => write!(f, "{a}"),
            (false, false, _) => write!(f, "{}/{b}", a.date()),
            (true, true, _) => write!(f, "{a}/{}", b.date()),
            (true, false, _) => write!(f, "{a}/{b}"),
        }
    }
}

/// Text in JSON, with a schema that names its form.
macro_rules! written {
    ($type:ty, $name:literal, $format:literal, $pattern:literal, $says:literal) => {
        impl Serialize for $type {
            fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.collect_str(self)
            }
        }
        impl<'de> Deserialize<'de> for $type {
            fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                String::deserialize(from)?.parse().map_err(D::Error::custom)
            }
        }
        impl JsonSchema for $type {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                $name.into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!({ "description": $says, "type": "string", "format": $format, "pattern": $pattern })
            }
        }
    };
}
pub(crate) use written;

written!(HalfDay, "HalfDay", "half-day", r"^\d{4}-\d\d-\d\d (am|pm)$", "A half-day, such as 2026-12-09 am.");
written!(
    Range,
    "Range",
    "range",
    r"^\d{4}-\d\d-\d\d( (am|pm))?(/(\d{4}-\d\d-\d\d( (am|pm))?)?)?$",
    "A date, a half-day, or two of them with a slash between, ends included: 2026-12-09 pm/2026-12-11; without an end: \
     2026-12-09/."
);

/// The half-days that are planned: N weeks from a Monday's am. Index 0 is the first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Horizon {
    monday: NaiveDate,
    weeks: u32,
}

/// Most weeks a horizon may have.
pub const MOST_WEEKS: u32 = 104;

impl Horizon {
    /// A horizon of 1 to 104 weeks from a Monday, within the years of [`parse_date`].
    pub fn new(monday: NaiveDate, weeks: u32) -> Result<Self, NotATime> {
        let outside = |date: NaiveDate| NotATime::new(format!("{date} is outside the years 1900 to 2199"));
        if !YEARS.contains(&monday.year()) {
            return Err(outside(monday));
        }
        if monday.weekday() != Weekday::Mon {
            return Err(NotATime::new(format!(
                "{monday} is a {}; a plan starts on a Monday, such as {}",
                monday.format("%A"),
                Self::monday_of(monday)
            )));
        }
        if !(1..=MOST_WEEKS).contains(&weeks) {
            return Err(NotATime::new(format!("{weeks} weeks: a plan covers 1 to {MOST_WEEKS} weeks")));
        }
        let horizon = Self { monday, weeks };
        if !YEARS.contains(&horizon.last_date().year()) {
            let NotATime { says, .. } = outside(horizon.last_date());
            return Err(NotATime::new(format!("a plan of {weeks} weeks from {monday} ends too late: {says}")));
        }
        Ok(horizon)
    }
    /// The Monday of the date's ISO 8601 week; the first date of all where the calendar begins within that week.
    pub fn monday_of(date: NaiveDate) -> NaiveDate {
        let days = Days::new(u64::from(date.weekday().num_days_from_monday()));
        date.checked_sub_days(days).unwrap_or(NaiveDate::MIN)
    }
    /// The Monday from which a clean sheet made on a date is planned: that of its week, on a Saturday or Sunday the next.
    pub fn clean_from(date: NaiveDate) -> NaiveDate {
        let weekend = date.weekday().num_days_from_monday() > 4;
        Self::monday_of(date) + Days::new(if weekend { 7 } else { 0 })
    }
    /// The first date, a Monday.
    pub fn monday(self) -> NaiveDate {
        self.monday
    }
    /// The last date, a Sunday.
    pub fn last_date(self) -> NaiveDate {
        self.half_day(self.len() - 1).date()
    }
    /// How many weeks.
    pub fn weeks(self) -> u32 {
        self.weeks
    }
    /// How many half-days: 14 a week.
    #[allow(clippy::len_without_is_empty)] // never empty
    pub fn len(self) -> usize {
        self.weeks as usize * 14
    }
    /// The index of a half-day, negative before the horizon.
    pub fn offset(self, half_day: HalfDay) -> i64 {
        i64::from(half_day.0 - HalfDay::am(self.monday).0)
    }
    /// The index of a half-day, where it lies within the horizon.
    pub fn index(self, half_day: HalfDay) -> Option<usize> {
        usize::try_from(self.offset(half_day)).ok().filter(|h| *h < self.len())
    }
    /// The half-day at an index; also beyond the horizon.
    pub fn half_day(self, index: usize) -> HalfDay {
        HalfDay(HalfDay::am(self.monday).0 + index as i32)
    }
    /// The date at an index.
    pub fn date(self, index: usize) -> NaiveDate {
        self.half_day(index).date()
    }
    /// All half-days.
    pub fn range(self) -> Range {
        Range { first: self.half_day(0), last: self.half_day(self.len() - 1) }
    }
    /// The indices that a range covers, cut to the horizon.
    pub fn indices(self, range: Range) -> std::ops::Range<usize> {
        let clamp = |n: i64| n.clamp(0, self.len() as i64) as usize;
        clamp(self.offset(range.first))..clamp(self.offset(range.last) + 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(text: &str) -> NaiveDate {
        parse_date(text).expect("a date")
    }

    #[test]
    fn monday_of_follows_iso_8601_weeks_over_the_turn_of_the_year() {
        // ISO 8601 week dates: 2020-W53-4, 2020-W53-7, 2025-W01-1, 2026-W53-4, 2026-W53-5 (the week's Monday worked out by hand).
        for (day, monday) in [
            ("2020-12-31", "2020-12-28"),
            ("2021-01-03", "2020-12-28"),
            ("2024-12-30", "2024-12-30"),
            ("2026-12-31", "2026-12-28"),
            ("2027-01-01", "2026-12-28"),
            ("2027-01-04", "2027-01-04"),
        ] {
            assert_eq!(Horizon::monday_of(date(day)), date(monday), "{day}");
        }
    }

    #[test]
    fn range_reads_and_prints_every_form() {
        for text in [
            "2026-12-09",
            "2026-12-09 pm",
            "2026-12-09 pm/2026-12-11",
            "2026-12-09/2026-12-11 am",
            "2026-12-09/2026-12-10",
            "2026-12-09/",
            "2026-12-09 pm/",
        ] {
            assert_eq!(text.parse::<Range>().expect("a range").to_string(), text);
        }
        assert!("2026-12-09/2026-12-08".parse::<Range>().is_err());
        assert!("2026-02-30".parse::<Range>().is_err());
    }

    #[test]
    fn horizon_has_fourteen_half_days_a_week_and_crosses_the_year() {
        let horizon = Horizon::new(date("2026-12-28"), 2).expect("a Monday");
        assert_eq!(horizon.len(), 28);
        assert_eq!(horizon.half_day(8).to_string(), "2027-01-01 am");
        assert_eq!(horizon.index("2027-01-10 pm".parse().expect("a half-day")), Some(27));
        assert_eq!(horizon.index("2027-01-11 am".parse().expect("a half-day")), None);
        assert_eq!(horizon.offset("2026-12-27 pm".parse().expect("a half-day")), -1);
    }
}
