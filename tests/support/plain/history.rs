//! What lies before now, and what the crews were told (N1 to N3), read plainly off the book and the kept plan.

use std::collections::BTreeSet;

use serde_json::Value;
use yardless_book::half_day::HalfDay;
use yardless_book::{Equipment, Job, Step};

use super::Plain;
use super::when::held;

/// A step that the kept plan starts at or after now, and what it costs not to do it so (C7): otherwise or not at all, and
/// by the same crews on the same date.
pub struct KeptRow {
    pub job: String,
    pub step: String,
    pub crew: String,
    pub with: BTreeSet<String>,
    pub start: HalfDay,
    pub cents: i64,
    same_date: i64,
}

impl KeptRow {
    /// C7 where a crew starts the step with some helpers at a half-day. Other helpers are another crew.
    pub fn changed(&self, crew: &str, with: &[String], start: HalfDay) -> i64 {
        let with: BTreeSet<String> = with.iter().cloned().collect();
        match (self.crew == crew && self.with == with, self.start == start, self.start.date() == start.date()) {
            (true, true, _) => 0,
            (true, false, true) => self.same_date,
            _ => self.cents,
        }
    }
}

/// The position of the way that the history names; a step's only way needs no name.
pub fn way_position(step: &Step, named: Option<&str>) -> usize {
    let ways = step.ways.as_deref().unwrap_or_default();
    named.and_then(|id| ways.iter().position(|way| way.id == id)).unwrap_or(0)
}

impl Plain<'_> {
    /// N3: the kept plan's steps from now on; a second span is no start of its own (W10).
    pub fn kept(&self, now: usize, plan: &Value) -> Vec<KeptRow> {
        let rows = plan["steps"].as_array().into_iter().flatten();
        let text = |row: &Value, field: &str| row[field].as_str().expect("a text").to_owned();
        rows.filter(|row| row["span"].as_u64().unwrap_or(1) == 1)
            .map(|row| {
                let start = text(row, "start").parse().expect("a half-day");
                let (job, step, crew) = (text(row, "job"), text(row, "step"), text(row, "crew"));
                let (times, prices) = (self.times(now, start), &self.book.prices);
                let same_date = times * prices.change_same_date.unwrap_or(prices.change).0;
                let names = row["with"].as_array().into_iter().flatten();
                let with = names.map(|name| name.as_str().expect("an id").to_owned()).collect();
                KeptRow { job, step, crew, with, start, cents: times * prices.change.0, same_date }
            })
            .filter(|kept| kept.start >= self.at(now))
            .collect()
    }

    /// How many times a change of a start costs its price: twice where the crews learn of it late, and nothing where they
    /// have not been told yet. Overtime gives no notice.
    fn times(&self, now: usize, start: HalfDay) -> i64 {
        let ahead = (now..).map(|h| self.at(h)).take_while(|half_day| *half_day < start);
        let notice = ahead.filter(|half_day| self.works(*half_day)).count();
        let shop = &self.book.shop;
        if shop.told_half_days.is_some_and(|told| notice >= told as usize) {
            return 0;
        }
        if notice < shop.notice_half_days as usize { 2 } else { 1 }
    }
}

impl Plain<'_> {
    /// N1: work that has begun waits while a unit is out that it holds, or that is parked at its job; but for what comes
    /// after the step with which it is held last (E7).
    pub fn waits(&self, job: &Job, step: &Step, h: usize) -> bool {
        let begun = |step: &Step| step.done.is_some() || step.progress.is_some();
        let has_begun = job.steps.iter().any(begun);
        let of = |id: &String| job.steps.iter().find(|step| step.id == *id).expect("a known step");
        let is_held = |parked: &&yardless_book::Parked| {
            let from = parked.from.as_ref().is_none_or(|id| begun(of(id)));
            let to = parked.to.as_ref().map(of);
            has_begun && from && to.is_none_or(|to| to.done.is_none() && !self.comes_after(job, step, job, to))
        };
        let parked = job.parked.iter().filter(is_held).flat_map(|parked| &parked.units);
        let going = step.progress.iter().flat_map(|progress| &progress.units);
        let at = self.at(h);
        let out = |unit: &Equipment| held(&unit.out, at);
        parked.chain(going).any(|id| self.book.equipment.iter().any(|unit| unit.id == *id && out(unit)))
    }
}

impl Plain<'_> {
    /// W6: whether a step comes after another, directly or not.
    fn comes_after(&self, job: &Job, step: &Step, other_job: &Job, other: &Step) -> bool {
        let place = job.steps.iter().position(|of| of.id == step.id).expect("a step of the job");
        let before: Vec<(&Job, &Step)> = match &step.after {
            None => place.checked_sub(1).map(|k| (job, &job.steps[k])).into_iter().collect(),
            Some(after) => {
                let link = |after: &yardless_book::After| {
                    let link = after.link();
                    (link.job.unwrap_or(&job.id).to_owned(), link.step.to_owned())
                };
                let named = |(of, id): (String, String)| {
                    let of = self.book.jobs.iter().find(|job| job.id == of).expect("a known job");
                    (of, of.steps.iter().find(|step| step.id == id).expect("a known step"))
                };
                after.iter().map(link).map(named).collect()
            }
        };
        before.iter().any(|(of, step)| {
            (of.id == other_job.id && step.id == other.id) || self.comes_after(of, step, other_job, other)
        })
    }

    /// N1, W10: whether a step in progress has been left and is to be come back to: it may split, takes units, and the
    /// book names none.
    pub fn is_away(&self, job: &Job, step: &Step) -> bool {
        let Some(progress) = &step.progress else { return false };
        let way = &super::ways(step)[way_position(step, progress.way.as_deref())];
        let takes_units = !way.needs.is_empty() || self.power(job, way, progress.start) > 0;
        may_split(step) && way.hours.is_none() && progress.units.is_empty() && takes_units
    }
}

/// W10, off the book as written: whether a step may be left and come back to.
pub fn may_split(step: &Step) -> bool {
    serde_json::to_value(step).expect("JSON")["may_split"] == true
}
