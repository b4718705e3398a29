//! When the shop works and who is there: rules T1 and T2.

use std::collections::HashMap;

use chrono::NaiveDate;
use yardless_book::half_day::{HalfDay, Horizon, Range};
use yardless_book::{Crew, ShopFacts};

use super::worked::Worked;

/// The shop's working days, before, in and after the horizon.
#[derive(Clone, Debug)]
pub(super) struct Calendar {
    /// The half-days that the shop works.
    half_days: Worked,
    /// The half-days of the dates that it works, closed halves of them too.
    dates: Worked,
    /// The half-days of its days of overtime.
    overtime: Worked,
    horizon: Horizon,
}

impl Calendar {
    pub(super) fn new(facts: &ShopFacts, horizon: Horizon) -> Self {
        // Indices of half-days, the first one past a range besides.
        let closed = || {
            let of = |range: Range| (horizon.offset(range.first), horizon.offset(range.last) + 1);
            facts.closed.iter().flat_map(|when| when.stretches()).map(of).collect::<Vec<(i64, i64)>>()
        };
        let half_days = Worked::new(&facts.work_days, closed());
        // A date is lost only where both its halves are closed.
        let whole = half_days.gaps().map(|(from, to)| ((from + 1).div_euclid(2) * 2, to.div_euclid(2) * 2)).collect();
        Self {
            dates: Worked::new(&facts.work_days, whole),
            half_days,
            overtime: Worked::new(&facts.overtime_days, closed()),
            horizon,
        }
    }

    /// T1, for any half-day.
    pub(super) fn works(&self, half_day: HalfDay) -> bool {
        self.half_days.holds(self.horizon.offset(half_day))
    }

    /// W9: whether the half-day may be worked in overtime, and only so.
    pub(super) fn overtime(&self, half_day: HalfDay) -> bool {
        self.overtime.holds(self.horizon.offset(half_day)) && !self.works(half_day)
    }

    /// T1: a date is worked when either half is.
    pub(super) fn works_date(&self, date: NaiveDate) -> bool {
        self.dates.holds(self.horizon.offset(HalfDay::am(date)))
    }

    /// Worked dates d with `after` < d <= `until`; 0 where `until` is not after `after`.
    pub(super) fn worked_dates(&self, after: NaiveDate, until: NaiveDate) -> i64 {
        let next = |date: NaiveDate| self.horizon.offset(HalfDay::pm(date)) + 1;
        self.dates.between(next(after), next(until)) / 2
    }

    /// Worked half-days from an index of the horizon, included, up to another, not included; either may lie outside it.
    pub(super) fn worked_half_days(&self, from: i64, to: i64) -> i64 {
        self.half_days.between(from, to)
    }
}

/// T2: people present in each half-day of the horizon that is, or may be, worked.
pub(super) fn people_present(crew: &Crew, horizon: Horizon, works: &[bool]) -> Vec<u32> {
    let mut present: Vec<u32> = works.iter().map(|works| if *works { crew.people } else { 0 }).collect();
    if let Some(only) = &crew.only {
        let held = super::hauling::marked(only, horizon);
        for (people, held) in present.iter_mut().zip(held) {
            if !held {
                *people = 0;
            }
        }
    }
    for away in &crew.away {
        away.when().each(horizon, |h| {
            present[h] = present[h].saturating_sub(away.people.unwrap_or(crew.people));
        });
    }
    present
}

/// The ids of a list and where each stands; the reader has refused doubles.
pub(super) fn positions<'a>(ids: impl Iterator<Item = &'a str>) -> HashMap<&'a str, usize> {
    ids.enumerate().map(|(i, id)| (id, i)).collect()
}
