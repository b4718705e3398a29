//! The plan given out, as the book stands now: what every question is asked of.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use yardless_book::Book;
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_check::{Breach, check};
use yardless_engine::{Limits, plan_from};
use yardless_plan::shop::{JobId, KeptStep, Shop};
use yardless_plan::{LeftOut, Plan, Rule, read, write};

/// What a date late, or a job left out, costs at least in a what-if that must not have it.
pub(super) const NEVER: Cents = Cents(2_000_000);
/// How many dates late a job left out counts in such a what-if: more than any horizon has.
const NEVER_LEFT_OUT: i64 = 800;

/// The book made ready from now on, and the plan given out, which holds for it.
#[derive(Clone, Debug)]
pub struct Given<'a> {
    /// The book from now on, with what the plan given out says of steps.
    pub shop: &'a Shop,
    /// The digest of the book's text.
    pub digest: &'a str,
    /// The plan, as it stands from now on.
    pub plan: Plan,
}

impl<'a> Given<'a> {
    /// The kept plan from the shop's now on; its breaches where it does not hold for the book as it is now.
    pub fn new(shop: &'a Shop, digest: &'a str, kept: &Plan) -> Result<Self, Vec<Breach>> {
        let why = |job: JobId| {
            let row = kept.left_out.iter().find(|row| row.job == shop.jobs[job].id);
            row.map_or_else(|| LeftOut::NotGivenOut.says(shop), |row| row.why.clone())
        };
        let mut plan = write(shop, digest, &read(shop, kept), why);
        let verdict = check(shop, &plan);
        plan.costs = verdict.costs;
        plan.cost = plan.costs.total();
        let breaches: Vec<Breach> = verdict.breaches.into_iter().filter(|breach| breach.rule != Rule::Cost).collect();
        if breaches.is_empty() { Ok(Self { shop, digest, plan }) } else { Err(breaches) }
    }

    /// The half-day from which on is planned.
    pub fn now(&self) -> HalfDay {
        self.shop.horizon.half_day(self.shop.now)
    }

    /// What a date late costs in a what-if that must not have it: more than leaving out every job, and the plan besides.
    pub(super) fn never(&self) -> Cents {
        let all: Cents = self.shop.jobs.iter().map(|job| job.left_out).sum();
        NEVER.max((all + self.plan.cost) * 2)
    }

    /// The date on which a job ends by the plan; `None`: it is not done.
    pub fn ends(&self, job: &str) -> Option<NaiveDate> {
        end(&self.plan, job).map(HalfDay::date)
    }

    /// The book with a change, made ready; `None` where it then has a fault. `kept`: what its changes are counted against.
    pub(super) fn what_if(&self, kept: &[KeptStep], change: impl FnOnce(&mut Book)) -> Option<Shop> {
        let mut book = self.shop.book.clone();
        change(&mut book);
        Shop::again(&book, self.shop.horizon, self.shop.now, Some(kept)).ok()
    }

    /// The best plan of a what-if that is found from another plan.
    pub(super) fn planned(&self, shop: &Shop, from: &Plan, limits: &Limits) -> Plan {
        plan_from(shop, self.digest, Some(&read(shop, from)), limits, &mut |_| {})
    }
}

/// Questions share limits: of a budget of steps each gets the same, of time what those before have left.
pub(super) struct Shares<'l> {
    limits: &'l Limits,
    all: u32,
    left: u32,
}

impl<'l> Shares<'l> {
    pub(super) fn new(limits: &'l Limits, questions: usize) -> Self {
        let all = questions.max(1) as u32;
        Self { limits, all, left: all }
    }

    /// The limits of the next question.
    pub(super) fn next(&mut self) -> Limits {
        let parts = if self.limits.steps.is_some() { self.all } else { self.left };
        self.left = (self.left - 1).max(1);
        self.limits.part(parts)
    }
}

/// The half-day in which a job ends by a plan.
pub(super) fn end(plan: &Plan, job: &str) -> Option<HalfDay> {
    plan.steps.iter().filter(|row| row.job == job).map(|row| row.end).max()
}

/// The half-day in which a job starts by a plan.
pub(super) fn start(plan: &Plan, job: &str) -> Option<HalfDay> {
    plan.steps.iter().filter(|row| row.job == job).map(|row| row.start).min()
}

/// Has a job done by the end of a date, and whole, whatever else that costs.
pub(super) fn must_end(book: &mut Book, job: &str, by: NaiveDate, never: Cents) {
    for job in book.jobs.iter_mut().filter(|other| other.id == job) {
        job.in_part = Some(false);
        job.due = Some(by);
        job.late_day = Some(never);
        job.left_out = Some(never * NEVER_LEFT_OUT);
    }
}

/// The same of a job planned in part, as far as it lies in the plan's weeks (W12): each of its steps.
pub(super) fn must_end_in_part(book: &mut Book, job: &str, by: NaiveDate, never: Cents) {
    for job in book.jobs.iter_mut().filter(|other| other.id == job) {
        job.left_out = Some(never * NEVER_LEFT_OUT);
        for step in &mut job.steps {
            (step.due, step.late_day) = (Some(by), Some(never));
        }
    }
}

/// Whether a plan of a what-if does all that must be done, in time.
pub(super) fn meets(plan: &Plan) -> bool {
    plan.costs.late < NEVER && plan.costs.left_out < NEVER
}

/// An id for what a what-if adds like something of the book: that one's id, marked until nothing in the list has it.
pub(super) fn new_id<'b>(like: &str, mark: &str, ids: impl Iterator<Item = &'b String>) -> String {
    let ids: BTreeSet<&String> = ids.collect();
    let mut id = like.to_owned();
    while ids.contains(&id) {
        id.push_str(mark);
    }
    id
}
