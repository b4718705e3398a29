//! Plans that truly exist: found by planning again at other prices, each judged by the book as it is.

use std::sync::atomic::Ordering;

use yardless_book::Book;
use yardless_book::money::Cents;
use yardless_check::{Breach, check};
use yardless_engine::Limits;
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

use super::facts::{Facts, facts, meter};
use super::matter::Matter;
use super::range::Trade;
use crate::given::Given;

/// How many times its price a matter has in the plans that are looked for.
const TIMES: [f64; 4] = [8.0, 2.5, 0.4, 0.125];
/// Jobs that are let be late, each in plans of its own.
const MOST_JOBS: usize = 12;
/// What a step costs that is done otherwise than in the plan that the search begins with, so that plans differ in little.
const CLOSE: Cents = Cents(3_000);
/// Rounds for the plan to begin with, for one of another; a hundred or more would prove it, which takes long.
const FIRST: u64 = 3;
const MOST_FIRST: u64 = 99;

/// What is changed of the book to find another plan.
enum Nudge<'m> {
    /// A matter's prices, so many times what they are.
    Times(&'m Matter, f64),
    /// A job may be late at next to no cost.
    MayBeLate(String),
}

impl Nudge<'_> {
    fn all<'m>(matters: &'m [Matter], book: &Book) -> Vec<Nudge<'m>> {
        let times = matters.iter().chain(&[Matter::Hauls]).flat_map(|of| TIMES.map(|factor| Nudge::Times(of, factor)));
        // What a day costs of a job that says so itself is not in doubt.
        let due = book.jobs.iter().filter(|job| job.due.is_some() && job.late_day.is_none()).take(MOST_JOBS);
        times.chain(due.map(|job| Nudge::MayBeLate(job.id.clone()))).collect()
    }

    fn change(&self, book: &mut Book) {
        match self {
            Self::Times(matter, factor) => matter.times(book, *factor),
            Self::MayBeLate(id) => {
                for job in book.jobs.iter_mut().filter(|job| job.id == *id) {
                    job.late_day = Some(Cents(1));
                    job.steps.iter_mut().for_each(|step| step.late_day = step.late_day.map(|_| Cents(1)));
                }
            }
        }
    }
}

/// A plan that holds.
#[derive(Clone, Debug)]
pub struct Found {
    /// It.
    pub plan: Plan,
    /// What it costs at the book's prices, in cents, and how much of that each matter is.
    cost: i64,
    by: Vec<i64>,
    /// What it has of each thing that is counted.
    pub facts: Facts,
}

/// Plans that differ in what they cost or have; the first is the plan given out.
#[derive(Clone, Debug)]
pub struct Pool {
    /// The plans.
    pub plans: Vec<Found>,
}

impl Pool {
    /// The plan given out, and those that are found from it at other prices; `limits`: for each of them.
    pub fn gather(given: &Given, matters: &[Matter], limits: &Limits) -> Self {
        let mut pool = Self { plans: Vec::new() };
        let Some(scales) = Scales::of(given, matters) else { return pool };
        pool.add(scales.weigh(given, &given.plan));
        let first =
            Limits { steps: limits.steps.map(|steps| (steps * FIRST).min(MOST_FIRST).max(steps)), ..limits.clone() };
        let start = given.planned(&scales.as_it_is, &given.plan, &first);
        pool.add(scales.weigh(given, &start));
        let (from, never) = (start.kept(), given.never());
        // What is done stays done: else a job that may be late is left out, which is no trade of days.
        let done = |id: &str| start.steps.iter().any(|row| row.job == id);
        let does = |book: &mut Book| {
            book.jobs.iter_mut().filter(|job| done(&job.id)).for_each(|job| job.left_out = Some(never));
        };
        let stays = |book: &mut Book| {
            (book.prices.change, book.prices.change_same_date) = (CLOSE, Some(CLOSE));
            (book.shop.notice_half_days, book.shop.told_half_days) = (0, None);
        };
        for nudge in Nudge::all(matters, &given.shop.book) {
            let close = given.what_if(&from, |book| {
                nudge.change(book);
                does(book);
                stays(book);
            });
            let free = given.what_if(&[], |book| {
                nudge.change(book);
                does(book);
            });
            for shop in close.into_iter().chain(free) {
                if limits.cancel.load(Ordering::Relaxed) {
                    return pool;
                }
                pool.add(scales.weigh(given, &given.planned(&shop, &start, limits)));
            }
        }
        pool
    }

    /// One more plan, if it is one and none is like it.
    fn add(&mut self, found: Option<Found>) {
        let new = found.filter(|found| !self.plans.iter().any(|known| known.same(found)));
        self.plans.extend(new);
    }

    /// How much more the one costs than the other.
    pub fn trade(&self, (one, other): (usize, usize)) -> Trade {
        let (one, other) = (&self.plans[one], &self.plans[other]);
        let by = one.by.iter().zip(&other.by).map(|(one, other)| (one - other) as f64).enumerate();
        Trade { now: (one.cost - other.cost) as f64, by: by.filter(|(_, part)| *part != 0.0).collect() }
    }
}

impl Found {
    fn same(&self, other: &Self) -> bool {
        self.cost == other.cost && self.by == other.by && self.facts == other.facts
    }
}

/// What plans are weighed by: the book with each matter's prices doubled, and the one that counts.
struct Scales {
    /// What the crews were told is not counted: it is asked what matters, not what may be changed.
    as_it_is: Shop,
    doubled: Vec<Shop>,
    meter: Shop,
}

impl Scales {
    fn of(given: &Given, matters: &[Matter]) -> Option<Self> {
        let doubled = |matter: &Matter| given.what_if(&[], |book| matter.times(book, 2.0));
        Some(Self {
            as_it_is: given.what_if(&[], |_| {})?,
            doubled: matters.iter().map(doubled).collect::<Option<_>>()?,
            meter: meter(given)?,
        })
    }

    /// A plan of any prices by those of the book; `None`: it does not hold.
    fn weigh(&self, given: &Given, plan: &Plan) -> Option<Found> {
        let verdict = check(&self.as_it_is, plan);
        if !verdict.breaches.iter().all(Breach::of_cost) {
            return None;
        }
        let cost = verdict.costs.total().0;
        // A cost is the sum of its prices times whole numbers: what it grows by where one doubles is that one's part.
        let by = self.doubled.iter().map(|shop| check(shop, plan).costs.total().0 - cost).collect();
        Some(Found { plan: plan.clone(), cost, by, facts: facts(given, &self.meter, plan) })
    }
}
