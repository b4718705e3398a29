//! From moments to the half-days of the shop's clock and back.

use chrono::{DateTime, Duration, NaiveTime, TimeZone, Timelike, Utc};
use chrono_tz::Tz;
use yardless_book::half_day::{HalfDay, Range};
use yardless_book::recurring::ClockHours;

const MINUTES_OF_A_DAY: u32 = 24 * 60;

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

/// The shop's hours, in seconds of the epoch.
pub(super) struct Hours<'s> {
    pub(super) zone: Tz,
    /// Of am and of pm; the reader lets no other number through.
    pub(super) on_clock: &'s [ClockHours],
}

impl Hours<'_> {
    /// When work begins and ends in a half-day; on the day of a clock change they may be longer, shorter, or skipped.
    pub(super) fn worked(&self, half: HalfDay) -> (i64, i64) {
        (moment(self.zone, half, self.of(half).from).0, self.end(half))
    }

    /// From the end of the hours before to the end of a half-day's own: for am from the evening before.
    pub(super) fn since_last(&self, half: HalfDay) -> (i64, i64) {
        (self.end(half.preceding()), self.end(half))
    }

    fn end(&self, half: HalfDay) -> i64 {
        moment(self.zone, half, self.of(half).to).1
    }

    fn of(&self, half: HalfDay) -> ClockHours {
        self.on_clock[usize::from(half.is_pm())]
    }
}

/// When the clock shows so many minutes after midnight on the date of a half-day, for the first and for the last time. What
/// a clock that goes forward skips is the moment at which it does.
fn moment(zone: Tz, half: HalfDay, minutes: u32) -> (i64, i64) {
    let mut local = half.date().and_time(NaiveTime::MIN) + Duration::minutes(minutes.into());
    // An island that moved across the date line skipped a whole day.
    for _ in 0..=MINUTES_OF_A_DAY {
        let shown = zone.from_local_datetime(&local);
        if let (Some(first), Some(last)) = (shown.earliest(), shown.latest()) {
            return (first.timestamp(), last.timestamp());
        }
        local += Duration::minutes(1);
    }
    let never = local.and_utc().timestamp();
    (never, never)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// When work begins and ends, and since when snow counts, in UTC.
    fn times(zone: &str, on_clock: [&str; 2], half: &str) -> [String; 3] {
        let on_clock = on_clock.map(|text| text.parse().expect("hours"));
        let hours = Hours { zone: zone.parse().expect("a zone"), on_clock: &on_clock };
        let half: HalfDay = half.parse().expect("a half-day");
        let ((from, to), (since, till)) = (hours.worked(half), hours.since_last(half));
        assert_eq!(to, till, "snow counts to the end of the hours");
        [since, from, to].map(|at| DateTime::from_timestamp(at, 0).expect("a moment").format("%d %H:%M").to_string())
    }

    const USUAL: [&str; 2] = ["07:30-11:30", "12:00-16:00"];

    #[test]
    fn hours_are_those_of_the_shops_clock_summer_and_winter() {
        // New York is five hours behind UTC in winter, four in summer; snow of Monday evening counts for Tuesday morning.
        assert_eq!(times("America/New_York", USUAL, "2026-12-08 am"), ["07 21:00", "08 12:30", "08 16:30"]);
        assert_eq!(times("America/New_York", USUAL, "2026-12-08 pm"), ["08 16:30", "08 17:00", "08 21:00"]);
        assert_eq!(times("America/New_York", USUAL, "2026-07-07 am"), ["06 20:00", "07 11:30", "07 15:30"]);
        // Clocks go forward on 8 March, back on 1 November.
        assert_eq!(times("America/New_York", USUAL, "2026-03-08 am"), ["07 21:00", "08 11:30", "08 15:30"]);
        assert_eq!(times("America/New_York", USUAL, "2026-11-01 am"), ["31 20:00", "01 12:30", "01 16:30"]);
    }

    #[test]
    fn hours_over_a_change_of_the_clocks_lose_what_is_skipped_and_keep_what_comes_twice() {
        // On 8 March 02:00 is followed by 03:00, 07:00 UTC; hours that are skipped whole have no length.
        let night = |hours: &'static str, half: &str| {
            let [_, from, to] = times("America/New_York", [hours, "12:00-16:00"], half);
            (from, to)
        };
        let utc = |from: &str, to: &str| (from.to_owned(), to.to_owned());
        assert_eq!(night("02:15-04:00", "2026-03-08 am"), utc("08 07:00", "08 08:00"));
        assert_eq!(night("02:00-02:45", "2026-03-08 am"), utc("08 07:00", "08 07:00"));
        // On 1 November 01:30 comes at 05:30 UTC and again at 06:30.
        assert_eq!(night("01:30-01:45", "2026-11-01 am"), utc("01 05:30", "01 06:45"));
        // Samoa skipped 30 December 2011, from ten hours behind UTC to fourteen ahead.
        assert_eq!(times("Pacific/Apia", USUAL, "2011-12-30 am"), ["30 02:00", "30 10:00", "30 10:00"]);
        assert_eq!(times("Pacific/Apia", USUAL, "2011-12-31 am"), ["30 10:00", "30 17:30", "30 21:30"]);
    }
}
