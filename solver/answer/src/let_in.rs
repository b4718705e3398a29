//! The jobs that one more would let in: what it saves of the others alone, and whether jobs say what they bring in at all.

use std::collections::BTreeSet;

use yardless_book::Book;
use yardless_book::money::Cents;
use yardless_check::check;
use yardless_plan::shop::Shop;
use yardless_plan::{LaterRow, Plan};

use super::Given;

/// What one more saves where no job more is done than without it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Alone {
    /// The least.
    pub least: Cents,
    /// The most.
    pub most: Cents,
}

/// The jobs that the best plan of the book as it is leaves out, put off beyond its weeks so that nothing lets them in.
pub(super) struct Outside {
    jobs: BTreeSet<String>,
    /// What the plan costs without them, and what none costs less than.
    cost: Cents,
    bound: Cents,
}

impl Outside {
    /// Of a plan; `None`: it leaves nothing out that could wait, or the book without that has a fault.
    pub(super) fn of(given: &Given, base: &Plan) -> Option<Self> {
        let begun = |job: &String| given.shop.jobs.iter().any(|of| of.id == *job && of.started);
        let rows = base.left_out.iter().map(|row| &row.job).filter(|job| !begun(job));
        let jobs: BTreeSet<String> = rows.cloned().collect();
        if jobs.is_empty() {
            return None;
        }
        let outside = Self { jobs, cost: base.cost, bound: base.bound.unwrap_or(Cents::ZERO) };
        let shop = given.what_if(&[], |book| outside.put_off(book, given.shop))?;
        let mut plan = base.clone();
        plan.left_out.retain(|row| !outside.jobs.contains(&row.job));
        let later = outside.jobs.iter().map(|job| LaterRow { job: job.clone(), steps: Vec::new() });
        plan.later.extend(later);
        let verdict = check(&shop, &plan);
        // The same plan, so it is the best of the rest where it was the best of all.
        let cost = verdict.costs.total();
        let holds = verdict.breaches.iter().all(yardless_check::Breach::of_cost);
        holds.then(|| Self { cost, bound: (outside.bound - (base.cost - cost)).max(Cents::ZERO), ..outside })
    }

    /// They cannot begin within the plan's weeks, and cost nothing there (W1).
    pub(super) fn put_off(&self, book: &mut Book, shop: &Shop) {
        let after = shop.horizon.last_date().succ_opt();
        for job in book.jobs.iter_mut().filter(|job| self.jobs.contains(&job.id)) {
            (job.earliest, job.due) = (after, None);
        }
    }

    /// Those of them that a plan does.
    pub(super) fn let_in(&self, plan: &Plan) -> Vec<String> {
        let done = |job: &&String| plan.steps.iter().any(|row| row.job == **job);
        self.jobs.iter().filter(done).cloned().collect()
    }

    /// What is saved by the best plan that is found of the rest with one more.
    pub(super) fn saved(&self, with: &Plan) -> Alone {
        Alone { least: self.bound - with.cost, most: self.cost - with.bound.unwrap_or(Cents::ZERO) }
    }
}

/// Whether any job says what leaving it out costs, by itself or by its rank: else what it brings in is in no figure.
pub fn tells_value(book: &Book) -> bool {
    let rank = |id: &String| book.ranks.iter().any(|rank| rank.id == *id && rank.left_out.is_some());
    book.jobs.iter().any(|job| job.left_out.is_some() || job.rank.as_ref().is_some_and(rank))
}
