//! What comes before a step (W6): steps still to be planned, and those done.

use std::collections::HashMap;

use yardless_book::half_day::Horizon;
use yardless_book::{Book, Job};

use super::steps::{Link, StepFacts};
use super::{Id, StepId};

/// Every step of the book by job and id.
pub(super) struct Precedence<'b> {
    steps: HashMap<(&'b str, &'b str), Before>,
}

/// A step before another: still to be planned, or done, with the index of its end.
#[derive(Clone, Copy)]
enum Before {
    Open(StepId),
    Done(i64),
}

/// The book's steps, numbered as the shop numbers those that are not done.
pub(super) fn precedence(book: &Book, horizon: Horizon) -> Precedence<'_> {
    let mut next = 0;
    let mut steps = HashMap::new();
    for (job, step) in book.jobs.iter().flat_map(|job| job.steps.iter().map(move |step| (job, step))) {
        let before = if let Some(done) = &step.done {
            Before::Done(horizon.offset(done.end))
        } else {
            next += 1;
            Before::Open(StepId::from_index(next - 1))
        };
        steps.insert((job.id.as_str(), step.id.as_str()), before);
    }
    Precedence { steps }
}

impl Precedence<'_> {
    /// Lets a job's step number `k` come after what the book says. `len`: half-days of the horizon.
    pub(super) fn follow(&self, facts: &mut StepFacts, job: &Job, k: usize, len: usize) {
        match &job.steps[k].after {
            None if k == 0 => {}
            None => facts.follow(self.steps[&(job.id.as_str(), job.steps[k - 1].id.as_str())], 0, None, len),
            Some(after) => {
                for link in after.iter().map(yardless_book::After::link) {
                    let before = self.steps[&(link.job.unwrap_or(&job.id), link.step)];
                    facts.follow(before, link.wait as usize, link.within.map(|n| n as usize), len);
                }
            }
        }
    }
}

impl StepFacts {
    /// W6: what comes after a done step may start between two half-days.
    fn follow(&mut self, before: Before, wait: usize, within: Option<usize>, len: usize) {
        match before {
            Before::Open(before) => self.after.push(Link { before, wait, within }),
            Before::Done(end) => {
                let index = |half_day: i64| half_day.clamp(0, len as i64) as usize;
                self.start_from = self.start_from.max(index(end + 1 + wait as i64));
                if let Some(within) = within {
                    // One past the half-days in which it may start.
                    self.start_before = self.start_before.min(index(end + 2 + within as i64));
                }
            }
        }
    }
}
