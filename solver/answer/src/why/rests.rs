//! A smallest set of facts that keep a job from being done by a date.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use chrono::NaiveDate;
use yardless_book::money::Cents;
use yardless_book::{After, Book};
use yardless_check::check;
use yardless_engine::{Limits, Progress, plan_from};
use yardless_plan::read;

use super::lift::{self, Lift};
use crate::given::{Given, NEVER, end, meets, must_end, must_end_in_part};

/// What holds a job back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rests {
    /// The date by whose end it was asked to be done.
    pub by: NaiveDate,
    /// What is found.
    pub found: Holds,
    /// Whether what has no plan is proven to have none.
    pub proven: bool,
}

/// What is found to hold a job back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Holds {
    /// Nothing: it can be done by then as the book is, and no other job ends on a later date.
    Nothing,
    /// These facts together: without all of them it can be done by then, without all but any one it cannot.
    These(Vec<Lift>),
    /// Not even without all the facts that were looked at.
    More,
}

/// Sets of two that are tried before a larger one is taken.
const MOST_PAIRS: usize = 120;

/// A smallest set of facts that keep a job from being done by a date. `limits` are for each of the questions by itself:
/// one fact alone is looked for first, then two, then whatever is left when facts are put back one by one.
pub fn rests_on(given: &Given, job: &str, by: NaiveDate, limits: &Limits) -> Rests {
    let mut asked = SubsetSearch { given, job, by, limits, proven: true };
    let found = asked.smallest(&lift::all(given.shop, job, by));
    Rests { by, found, proven: asked.proven }
}

struct SubsetSearch<'a> {
    given: &'a Given<'a>,
    job: &'a str,
    by: NaiveDate,
    limits: &'a Limits,
    proven: bool,
}

impl SubsetSearch<'_> {
    fn smallest(&mut self, all: &[Lift]) -> Holds {
        if self.helps(&[]) {
            return Holds::Nothing;
        }
        if !self.helps(all) {
            return Holds::More;
        }
        let mut pairs = Vec::new();
        for (n, one) in all.iter().enumerate() {
            if self.helps(std::slice::from_ref(one)) {
                return Holds::These(vec![one.clone()]);
            }
            pairs.extend(all[n + 1..].iter().map(|other| [one.clone(), other.clone()]));
        }
        // What is left after putting back whatever is not missed: by the order of the facts, resources first.
        let mut left = all.to_vec();
        for i in (0..all.len()).rev() {
            let mut without = left.clone();
            without.remove(i);
            if self.helps(&without) {
                left = without;
            }
        }
        if left.len() > 2 && pairs.len() <= MOST_PAIRS {
            for pair in pairs {
                if self.helps(&pair) {
                    return Holds::These(pair.to_vec());
                }
            }
        }
        Holds::These(left)
    }

    /// Whether the job can be done in time without some facts.
    fn helps(&mut self, lifted: &[Lift]) -> bool {
        let found = can(self.given, self.job, self.by, lifted, self.limits);
        self.proven &= found != Can::NotFound;
        found == Can::Yes
    }
}

/// Whether something can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Can {
    /// By a plan that the checker passes.
    Yes,
    /// Proven: no plan does it.
    No,
    /// No plan was found.
    NotFound,
}

/// Whether a job can be done by a date without some facts, no other job ending on a later date than in the plan given
/// out.
pub fn can(given: &Given, job: &str, by: NaiveDate, lifted: &[Lift], limits: &Limits) -> Can {
    if limits.cancel.load(Ordering::Relaxed) {
        return Can::NotFound;
    }
    let shop = given.what_if(&[], |book| {
        free_of_charge(book);
        as_told(given, book, job);
        must_end(book, job, by, NEVER);
        for lift in lifted {
            lift.apply(book, given.shop);
        }
    });
    // A book that has a fault has no plan.
    let Some(shop) = shop else { return Can::No };
    // What may not begin within the horizon is not done in it (W1).
    if shop.jobs.iter().any(|facts| facts.id == job && facts.later) {
        return Can::No;
    }
    let caller = Arc::clone(&limits.cancel);
    let limits = Limits { cancel: Arc::new(AtomicBool::new(false)), ..limits.clone() };
    // The first plan that does it is enough.
    let enough = Arc::clone(&limits.cancel);
    let mut stop = |progress: Progress| {
        if progress.cost < NEVER || caller.load(Ordering::Relaxed) {
            enough.store(true, Ordering::Relaxed);
        }
    };
    let plan = plan_from(&shop, given.digest, Some(&read(&shop, &given.plan)), &limits, &mut stop);
    let done = end(&plan, job).is_some_and(|end| end.date() <= by);
    if done && meets(&plan) && check(&shop, &plan).holds() {
        Can::Yes
    } else if plan.bound.is_some_and(|bound| bound >= NEVER) {
        Can::No
    } else {
        Can::NotFound
    }
}

/// Only whether there is a plan is asked: nothing but what must not be costs anything, C5's cents apart.
fn free_of_charge(book: &mut Book) {
    let prices = &mut book.prices;
    for price in
        [&mut prices.extra_crew, &mut prices.wait_half_day, &mut prices.overtime_half_day, &mut prices.come_back]
    {
        *price = Cents::ZERO;
    }
    (prices.tow_minute, prices.carry_minute) = (Cents::ZERO, Cents::ZERO);
    let ways = book.jobs.iter_mut().flat_map(|job| &mut job.steps).flat_map(|step| step.ways.iter_mut().flatten());
    ways.for_each(|way| way.extra = Cents::ZERO);
}

/// Has every other job end by the date on which the plan given out ends it; those that it leaves out need not be done,
/// but for those that the job itself comes after.
fn as_told(given: &Given, book: &mut Book, but: &str) {
    let before = comes_after(book, but);
    let ids: Vec<String> = book.jobs.iter().map(|job| job.id.clone()).filter(|id| id != but).collect();
    for id in ids {
        match end(&given.plan, &id) {
            Some(end) if given.plan.parts().any(|row| row.job == id) => {
                must_end_in_part(book, &id, end.date(), NEVER);
            }
            Some(end) => must_end(book, &id, end.date(), NEVER),
            None if before.contains(&id) => must_end(book, &id, given.shop.horizon.last_date(), NEVER),
            None => {
                for job in book.jobs.iter_mut().filter(|job| job.id == id) {
                    job.left_out = Some(Cents::ZERO);
                    job.due = None;
                }
            }
        }
    }
}

/// The jobs that a job comes after, and those that they do (W6).
fn comes_after(book: &Book, job: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let mut open = vec![job.to_owned()];
    while let Some(id) = open.pop() {
        let steps = book.jobs.iter().filter(|job| job.id == id).flat_map(|job| &job.steps);
        let links = steps.flat_map(|step| step.after.iter().flatten()).map(After::link);
        open.extend(
            links.filter_map(|link| link.job).filter(|other| found.insert((*other).to_owned())).map(str::to_owned),
        );
    }
    found
}
