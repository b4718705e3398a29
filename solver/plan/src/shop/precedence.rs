//! What comes before a step (W6): steps still to be planned, and those done.

use std::collections::HashMap;

use yardless_book::{Job, Step};

use super::making::Making;
use super::steps::{Link, StepFacts};
use super::{Id, StepId};

/// Every step of the book by job and id.
pub(super) struct Precedence<'b> {
    steps: HashMap<(&'b str, &'b str), Before>,
}

/// A step before another: still to be planned, later (W12), or done, with the index of its end.
#[derive(Clone, Copy)]
enum Before {
    Open(StepId),
    Later(StepId),
    Done(i64),
}

/// The book's steps; `open`: those that are not done, by positions in the book, as the shop numbers them.
pub(super) fn precedence<'b>(making: &Making<'b>, open: &[(usize, usize)]) -> Precedence<'b> {
    let mut steps = HashMap::new();
    for job in &making.book.jobs {
        for step in &job.steps {
            if let Some(done) = &step.done {
                let before = Before::Done(making.horizon.offset(done.end));
                steps.insert((job.id.as_str(), step.id.as_str()), before);
            }
        }
    }
    for (number, at) in open.iter().enumerate() {
        let job = &making.book.jobs[at.0];
        let number = StepId::from_index(number);
        let before = if making.later.steps.contains(at) { Before::Later(number) } else { Before::Open(number) };
        steps.insert((job.id.as_str(), job.steps[at.1].id.as_str()), before);
    }
    Precedence { steps }
}

impl Precedence<'_> {
    /// Lets a job's step number `k` come after what the book says. `len`: half-days of the horizon.
    pub(super) fn follow(&self, facts: &mut StepFacts, job: &Job, k: usize, len: usize) {
        let begun = job.steps.iter().any(Step::started);
        let mut follow = |of: &str, step: &str, wait, within| {
            let before = self.steps[&(of, step)];
            // What has begun waits for nothing that is not done of another job (N1); a step that comes after a later one
            // of its own job and is not later itself is done in no plan.
            if !matches!(before, Before::Later(_)) || of != job.id && !begun {
                facts.follow(before, wait, within, len);
            }
        };
        match &job.steps[k].after {
            None if k == 0 => {}
            None => follow(&job.id, &job.steps[k - 1].id, 0, None),
            Some(after) => {
                for link in after.iter().map(yardless_book::After::link) {
                    let (of, within) = (link.job.unwrap_or(&job.id), link.within.map(|n| n as usize));
                    follow(of, link.step, link.wait as usize, within);
                }
            }
        }
    }
}

impl StepFacts {
    /// W6: what comes after a done step may start between two half-days.
    fn follow(&mut self, before: Before, wait: usize, within: Option<usize>, len: usize) {
        match before {
            Before::Open(before) | Before::Later(before) => self.after.push(Link { before, wait, within }),
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
