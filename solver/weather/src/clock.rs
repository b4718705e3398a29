//! From moments to the half-days of the shop's clock and back.

use chrono::{DateTime, Duration, NaiveTime, TimeZone, Timelike, Utc};
use chrono_tz::Tz;
use yardless_book::half_day::{HalfDay, Range};

/// The half-day that holds a moment.
pub(super) fn half_day(zone: Tz, moment: DateTime<Utc>) -> HalfDay {
    let local = moment.with_timezone(&zone);
    if local.hour() < 12 { HalfDay::am(local.date_naive()) } else { HalfDay::pm(local.date_naive()) }
}

/// The half-days that a stretch touches (T3): its end is not part of it, unless it is no longer than a moment.
pub(super) fn touched(zone: Tz, from: DateTime<Utc>, to: DateTime<Utc>) -> Range {
    let first = half_day(zone, from);
    let last = if to > from { half_day(zone, to - Duration::nanoseconds(1)) } else { first };
    // A clock that is put back over noon or midnight would be the only way for the last to stand before the first.
    Range { first, last: last.max(first) }
}

/// When a half-day begins and ends, in seconds of the epoch; on the days of a clock change a half-day is longer or shorter.
pub(super) fn bounds(zone: Tz, half: HalfDay) -> (i64, i64) {
    (begins(zone, half), begins(zone, half.following()))
}

fn begins(zone: Tz, half: HalfDay) -> i64 {
    let hour = if half.is_pm() { 12 } else { 0 };
    let mut local = half.date().and_time(NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or_default());
    // Some zones skip the hour after midnight when their clocks go forward.
    for _ in 0..8 {
        if let Some(moment) = zone.from_local_datetime(&local).earliest() {
            return moment.timestamp();
        }
        local += Duration::minutes(30);
    }
    local.and_utc().timestamp()
}
