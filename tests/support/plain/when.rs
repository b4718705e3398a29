//! T4, read plainly: whether a half-day is meant by a range, or by a range with weekdays and a half.

use chrono::{Datelike, NaiveDate, Weekday};
use yardless_book::half_day::HalfDay;
use yardless_book::{Away, Half, Weather, WeekDay, When};

/// Whether a half-day is one of these weekdays (all, where none are given) and this half (either).
fn of_days(weekdays: Option<&[WeekDay]>, half: Option<Half>, half_day: HalfDay) -> bool {
    let today = half_day.date().weekday();
    weekdays.is_none_or(|days| days.iter().any(|day| Weekday::from(*day) == today))
        && match half {
            Some(Half::Am) => !half_day.is_pm(),
            Some(Half::Pm) => half_day.is_pm(),
            None => true,
        }
}

pub fn means(when: When, half_day: HalfDay) -> bool {
    when.range.first <= half_day
        && half_day <= when.range.last
        && of_days(when.weekdays().as_deref(), when.half(), half_day)
}

pub fn held(ranges: &[When], half_day: HalfDay) -> bool {
    ranges.iter().any(|when| means(*when, half_day))
}

/// Of an entry that may give weekdays and a half beside `on`.
pub fn is_away(away: &Away, half_day: HalfDay) -> bool {
    means(away.on, half_day) && of_days(away.weekdays.as_deref(), away.half, half_day)
}
pub fn reports(entry: &Weather, half_day: HalfDay) -> bool {
    means(entry.on, half_day) && of_days(entry.weekdays.as_deref(), entry.half, half_day)
}

/// The last date of which a report says anything (H2), if it does of any.
pub fn last_date(entry: &Weather) -> Option<NaiveDate> {
    let (first, last) = (entry.on.range.first.date(), entry.on.range.last.date());
    let said = |date: &NaiveDate| reports(entry, HalfDay::am(*date)) || reports(entry, HalfDay::pm(*date));
    first.iter_days().take_while(|date| *date <= last).filter(said).last()
}
