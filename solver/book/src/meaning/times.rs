//! Dates that must fit together, and drives that must agree.

use std::collections::BTreeMap;
use std::slice;

use chrono::NaiveDate;

use super::super::fault::{Code, Fault, Path};
use super::super::near::shown;
use super::super::recurring::ClockHours;
use super::super::{Book, When};
use super::{Judge, top};

/// Rule families: hours that follow each other (T3); `due` and `earliest`; T4's weekdays and ends; H6's two values for a pair.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    hours(&book.shop.hours, judge);
    for (index, job) in book.jobs.iter().enumerate() {
        let at = top("jobs").index(index);
        due("job", &job.id, (job.earliest, job.due), &at, judge);
        for (nth, step) in job.steps.iter().enumerate() {
            due("step", &step.id, (step.earliest, step.due), &at.field("steps").index(nth), judge);
        }
    }
    for (index, crew) in book.crews.iter().enumerate() {
        for (nth, away) in crew.away.iter().enumerate() {
            let at = top("crews").index(index).field("away").index(nth);
            weekdays_once(away.on, away.weekdays.is_some() || away.half.is_some(), &at, judge);
        }
    }
    for (index, entry) in book.weather.iter().enumerate() {
        let at = top("weather").index(index);
        weekdays_once(entry.on, entry.weekdays.is_some() || entry.half.is_some(), &at, judge);
        if entry.on.range.is_open() {
            let says = "a report of the weather without an end".to_owned();
            let help = "say until when it is reported, such as 2026-12-09/2026-12-11";
            judge.fault(&[], Fault::new(Code::WrongTime, at.field("on"), says).help(help));
        }
    }
    drives(book, judge);
}

/// T3: pm begins when am is over.
fn hours(hours: &[ClockHours], judge: &mut Judge) {
    let at = top("shop").field("hours");
    if let [am, pm] = hours
        && pm.from < am.to
    {
        let says = format!("pm, {pm}, begins before am, {am}, is over");
        let help = "give the hours of am, then those of pm, such as 07:30-11:30 and 12:00-16:00";
        judge.fault(slice::from_ref(&at), Fault::new(Code::WrongTime, at.index(1), says).help(help));
    }
}

/// A `due` before an `earliest` of the same object.
fn due(noun: &str, id: &str, dates: (Option<NaiveDate>, Option<NaiveDate>), at: &Path, judge: &mut Judge) {
    let (Some(earliest), Some(due)) = dates else { return };
    if due < earliest {
        let says = format!("the {noun} `{}` is due on {due}, before its earliest date {earliest}", shown(id));
        let fault = Fault::new(Code::DueBeforeEarliest, at.field("due"), says).help("correct one of the two dates");
        judge.fault(&[at.field("due"), at.field("earliest")], fault);
    }
}

/// T4: weekdays and half stand in the range or beside it, not in both.
fn weekdays_once(on: When, beside: bool, at: &Path, judge: &mut Judge) {
    if beside && on.is_group() {
        let says = "the range is a group of fields, and weekdays or a half stand beside it as well".to_owned();
        let help = "give `weekdays` and `half` in one place: in the range, or beside a range in text";
        judge.fault(&[], Fault::new(Code::WrongTime, at.clone(), says).help(help));
    }
}

/// H6: a pair of places with two values.
fn drives(book: &Book, judge: &mut Judge) {
    let mut first: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for (index, drive) in book.drives.iter().enumerate() {
        let (from, to) = (drive.from.as_str(), drive.to.as_str());
        let before = *first.entry((from.min(to), from.max(to))).or_insert(index);
        let minutes = book.drives[before].minutes;
        if minutes != drive.minutes {
            let (at, other) = (top("drives").index(index), top("drives").index(before));
            let says = format!(
                "the drive between `{}` and `{}` takes {} minutes here and {minutes} in {other}",
                shown(from),
                shown(to),
                drive.minutes
            );
            let fault = Fault::new(Code::DriveTwice, at.field("minutes"), says)
                .help("a drive counts in both directions; keep one of the two");
            judge.fault(&[at, other], fault);
        }
    }
}
