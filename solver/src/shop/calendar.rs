//! When the shop works and who is there: rules T1 and T2.

use std::collections::HashMap;

use chrono::{Datelike, Days, NaiveDate, Weekday};

use crate::book::{Crew, ShopFacts};
use crate::half_day::{HalfDay, Horizon, Range};

/// The shop's working days, before, in and after the horizon.
#[derive(Clone, Debug)]
pub(super) struct Calendar {
    work_days: Vec<Weekday>,
    overtime_days: Vec<Weekday>,
    closed: Vec<Range>,
    /// Worked dates from the horizon's Monday up to and with each date of the horizon.
    so_far: Vec<i64>,
    horizon: Horizon,
}

impl Calendar {
    pub(super) fn new(facts: &ShopFacts, horizon: Horizon) -> Self {
        let work_days = facts.work_days.iter().map(|day| Weekday::from(*day)).collect();
        let overtime_days = facts.overtime_days.iter().map(|day| Weekday::from(*day)).collect();
        let mut calendar = Self { work_days, overtime_days, closed: facts.closed.clone(), so_far: Vec::new(), horizon };
        let mut sum = 0;
        for h in (0..horizon.len()).step_by(2) {
            sum += i64::from(calendar.works_date(horizon.date(h)));
            calendar.so_far.push(sum);
        }
        calendar
    }

    /// T1, for any half-day.
    pub(super) fn works(&self, half_day: HalfDay) -> bool {
        self.work_days.contains(&half_day.date().weekday()) && !self.closed.iter().any(|range| range.holds(half_day))
    }

    /// W9: whether the half-day may be worked in overtime, and only so.
    pub(super) fn overtime(&self, half_day: HalfDay) -> bool {
        self.overtime_days.contains(&half_day.date().weekday())
            && !self.closed.iter().any(|range| range.holds(half_day))
            && !self.works(half_day)
    }

    /// T1: a date is worked when either half is.
    pub(super) fn works_date(&self, date: NaiveDate) -> bool {
        self.works(HalfDay::am(date)) || self.works(HalfDay::pm(date))
    }

    /// Worked dates d with `after` < d <= `until`; `until` is a date of the horizon or before it.
    pub(super) fn worked_dates(&self, after: NaiveDate, until: NaiveDate) -> i64 {
        if until <= after {
            return 0;
        }
        let upto = |date: NaiveDate| -> i64 {
            let day = (date - self.horizon.monday()).num_days();
            if day < 0 {
                // Dates before the horizon count down from 0 on the horizon's eve.
                -(self.count_one_by_one(date, self.horizon.monday() - Days::new(1)))
            } else {
                self.so_far.get(day as usize).copied().unwrap_or_else(|| {
                    self.so_far.last().copied().unwrap_or(0) + self.count_one_by_one(self.horizon.last_date(), date)
                })
            }
        };
        upto(until) - upto(after)
    }

    fn count_one_by_one(&self, after: NaiveDate, until: NaiveDate) -> i64 {
        after.iter_days().skip(1).take_while(|date| *date <= until).filter(|date| self.works_date(*date)).count() as i64
    }
}

/// T2: people present in each half-day of the horizon that is, or may be, worked.
pub(super) fn people_present(crew: &Crew, horizon: Horizon, works: &[bool]) -> Vec<u32> {
    let mut present: Vec<u32> = works.iter().map(|works| if *works { crew.people } else { 0 }).collect();
    if let Some(only) = &crew.only {
        let mut held = vec![false; present.len()];
        for range in only {
            held[horizon.indices(*range)].fill(true);
        }
        for (people, held) in present.iter_mut().zip(held) {
            if !held {
                *people = 0;
            }
        }
    }
    for away in &crew.away {
        for people in &mut present[horizon.indices(away.on)] {
            *people = people.saturating_sub(away.people.unwrap_or(crew.people));
        }
    }
    present
}

/// The ids of a list and where each stands; the reader has refused doubles.
pub(super) fn positions<'a>(ids: impl Iterator<Item = &'a str>) -> HashMap<&'a str, usize> {
    ids.enumerate().map(|(i, id)| (id, i)).collect()
}
