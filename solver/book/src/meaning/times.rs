//! Dates that must fit together, and drives that must agree.

use std::collections::BTreeMap;

use super::super::Book;
use super::super::fault::{Code, Fault};
use super::super::near::shown;
use super::{Judge, top};

/// Rule families: `due` and `earliest`; H6's two values for a pair.
pub(super) fn check(book: &Book, judge: &mut Judge) {
    for (index, job) in book.jobs.iter().enumerate() {
        if let (Some(earliest), Some(due)) = (job.earliest, job.due)
            && due < earliest
        {
            let at = top("jobs").index(index);
            let says = format!("the job `{}` is due on {due}, before its earliest date {earliest}", shown(&job.id));
            let fault = Fault::new(Code::DueBeforeEarliest, at.field("due"), says).help("correct one of the two dates");
            judge.fault(&[at.field("due"), at.field("earliest")], fault);
        }
    }
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
