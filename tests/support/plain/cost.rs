//! What lateness, leaving out and broken words cost (C1, C2, C5, C10), and what a rank says of it.

use chrono::{NaiveDate, TimeDelta};
use yardless_book::half_day::HalfDay;
use yardless_book::{Job, Rank, Step};

use super::Plain;

impl Plain<'_> {
    /// T1.
    fn works_date(&self, date: NaiveDate) -> bool {
        self.works(HalfDay::am(date)) || self.works(HalfDay::pm(date))
    }
    /// The dates that the shop works from one to another, both included.
    fn worked_dates(&self, first: NaiveDate, last: NaiveDate) -> i64 {
        first.iter_days().take_while(|date| *date <= last).filter(|date| self.works_date(*date)).count() as i64
    }
    /// C1: late dates of what ends on a date.
    fn late_dates(&self, due: NaiveDate, end: NaiveDate) -> i64 {
        self.worked_dates(due + TimeDelta::days(1), end)
    }
    pub fn date_of(&self, index: i64) -> NaiveDate {
        self.horizon.monday() + TimeDelta::days(index.div_euclid(2))
    }
    fn rank(&self, job: &Job) -> Option<&Rank> {
        self.book.ranks.iter().find(|rank| Some(&rank.id) == job.rank.as_ref())
    }
    /// The job's own, else its rank's, else the price's.
    fn late_day(&self, job: &Job) -> i64 {
        let of_rank = || self.rank(job).and_then(|rank| rank.late_day);
        job.late_day.or_else(of_rank).unwrap_or(self.book.prices.late_day).0
    }

    /// C1 and the job's part of C5 for a job that ends at an index, negative before the horizon, in cents.
    pub fn end_cost(&self, job: &Job, end: i64) -> i64 {
        let late = job.due.map_or(0, |due| self.late_dates(due, self.date_of(end)));
        late * self.late_day(job) + self.waiting(end)
    }
    /// The job's part of C5, in cents.
    pub fn waiting(&self, end: i64) -> i64 {
        end.max(0) * self.book.prices.wait_half_day.0
    }
    /// C1 of a step with a `due` of its own that ends at an index, in cents.
    pub fn step_late(&self, job: &Job, step: &Step, end: i64) -> i64 {
        let late = step.due.map_or(0, |due| self.late_dates(due, self.date_of(end)));
        late * step.late_day.map_or_else(|| self.late_day(job), |cents| cents.0)
    }
    /// C2, in cents.
    pub fn left_out(&self, job: &Job) -> i64 {
        let last = self.horizon.last_date();
        match (job.left_out.or_else(|| self.rank(job).and_then(|rank| rank.left_out)), job.due) {
            (Some(cost), _) => cost.0,
            (None, Some(due)) if due <= last => self.late_day(job) * (20 + self.late_dates(due, last)),
            _ => self.late_day(job) * 5,
        }
    }
    /// C10 of a step that starts at an index from now on, in cents.
    pub fn word_broken(&self, step: &Step, start: usize) -> i64 {
        let Some(told) = &step.told else { return 0 };
        let date = self.at(start).date();
        let after = self.worked_dates(told.to + TimeDelta::days(1), date);
        let before = self.worked_dates(date, told.from - TimeDelta::days(1));
        (after + before) * told.day.unwrap_or(self.book.prices.told_day).0
    }
}
