//! The dates to offer a customer: for each date by which the job can be finished, the cheapest plan and what it does to
//! the others.

use chrono::{Days, NaiveDate};
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_book::{Book, Job};
use yardless_check::check;
use yardless_engine::{Limits, impossible};
use yardless_plan::shop::{KeptStep, Shop};
use yardless_plan::{Impossible, Plan};

use super::Given;
use super::given::{Shares, end, must_end, start};
use crate::{JobChange, changes};

/// A date to offer, and the plan behind it.
#[derive(Clone, Debug)]
pub struct Offer {
    /// When the job starts.
    pub start: HalfDay,
    /// When it ends.
    pub end: HalfDay,
    /// What the plan costs more than that of the cheapest date offered: changes, hauls, others' lateness.
    pub extra: Cents,
    /// Other jobs that end on a later date than in the plan given out, or not any more.
    pub later: Vec<Later>,
    /// Steps of other jobs that are done otherwise than told.
    pub moved: usize,
    /// Whether no plan that ends the job by then is proven to cost less.
    pub proven: bool,
    /// The plan, which holds; its cost counts neither the job's own lateness nor its being left out.
    pub plan: Plan,
}

/// Another job that ends later.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Later {
    /// The job's id.
    pub job: String,
    /// The date on which it was to end.
    pub was: NaiveDate,
    /// The date on which it now does; `None`: not within these weeks.
    pub is: Option<NaiveDate>,
}

/// The dates to offer, the soonest first.
#[derive(Clone, Debug)]
pub struct Offers {
    /// The dates: each later one costs less, but for one on which nothing else moves.
    pub rows: Vec<Offer>,
    /// The book with the job in it, made ready: what the plans are judged by.
    pub shop: Shop,
    /// Why there is none, where the book alone shows it.
    pub impossible: Option<Impossible>,
}

/// The dates on which a job can be finished, `most` at most. A job of the book is asked of as it stands there, another
/// one as if it were in the book. `None` where the book with it has a fault.
pub fn offers(given: &Given, job: &Job, most: usize, limits: &Limits) -> Option<Offers> {
    let search = OfferSearch { given, job, kept: kept_but(given, &job.id) };
    let shop = search.shop(given.shop.horizon.last_date(), |_| {})?;
    let mut shares = Shares::new(limits, most + 3);
    let id = shop.find_job(&job.id)?;
    if shop.jobs[id].later {
        return Some(Offers { rows: Vec::new(), shop, impossible: Some(Impossible::Later) });
    }
    if let Some(why) = impossible(&shop, id) {
        return Some(Offers { rows: Vec::new(), shop, impossible: Some(why) });
    }
    let mut rows: Vec<Offer> = Vec::new();
    // Nothing else moves, at whatever cost; then the cheapest of all.
    let last = given.shop.horizon.last_date();
    let mut untouched =
        search.offer(&shop, last, &given.plan, &shares.next(), |book| book.prices.change = given.never());
    let cheapest =
        search.offer(&shop, last, untouched.as_ref().map_or(&given.plan, |row| &row.plan), &shares.next(), |_| {});
    if let (Some(untouched), Some(cheapest)) = (&mut untouched, &cheapest) {
        // Proven was only that none is cheaper in which nothing moves.
        untouched.proven = cheapest.proven && untouched.plan.cost == cheapest.plan.cost;
    }
    let untouched = untouched.filter(|row| row.moved == 0);
    rows.extend(untouched.clone());
    rows.extend(cheapest);
    let Some(latest) = rows.iter().map(|row| row.end.date()).max() else {
        return Some(Offers { rows, shop, impossible: None });
    };
    // As soon as can be; then dates between, evenly.
    let from = rows.last().map_or_else(|| given.plan.clone(), |row| row.plan.clone());
    let before = given.now().date() - Days::new(1);
    let soonest = search.offer(&shop, before, &from, &shares.next(), |_| {});
    if let Some(soonest) = soonest.filter(|row| row.end.date() < latest) {
        let between: Vec<NaiveDate> = soonest
            .end
            .date()
            .iter_days()
            .skip(1)
            .take_while(|date| *date < latest)
            .filter(|date| given.shop.works_date(*date))
            .collect();
        // The soonest may cost less than it was found to with its date alone in view.
        let mut dates = vec![soonest.end.date()];
        dates.extend(spread(&between, most.saturating_sub(rows.len() + 1)));
        for date in dates {
            let from = if date == soonest.end.date() { &soonest.plan } else { &from };
            rows.extend(search.offer(&shop, date, from, &shares.next(), |_| {}));
        }
        rows.push(soonest);
    }
    let mut rows = worth_offering(rows, untouched);
    // The latest and the soonest before those between.
    while rows.len() > most.max(1) {
        rows.remove(usize::from(rows.len() > 2));
    }
    Some(Offers { rows, shop, impossible: None })
}

/// Rows of which each later one costs less; and the one for which nothing else moves, even if moving others would be
/// both sooner and cheaper.
fn worth_offering(mut rows: Vec<Offer>, untouched: Option<Offer>) -> Vec<Offer> {
    rows.sort_by_key(|row| (row.end, row.plan.cost, row.moved, !row.proven));
    let mut kept: Vec<Offer> = Vec::new();
    for row in rows {
        if kept.last().is_none_or(|before| row.plan.cost < before.plan.cost) {
            // Of one date only the cheapest is offered.
            kept.retain(|before| before.end.date() != row.end.date());
            kept.push(row);
        }
    }
    if kept.iter().all(|row| row.moved > 0) {
        kept.extend(untouched);
        kept.sort_by_key(|row| row.end);
    }
    let least = kept.iter().map(|row| row.plan.cost).min().unwrap_or(Cents::ZERO);
    for row in &mut kept {
        row.extra = row.plan.cost - least;
    }
    kept
}

/// Steps that were told, and are done otherwise.
fn told_otherwise(change: &JobChange) -> usize {
    change.steps.iter().filter(|step| step.was.is_some()).count()
}

/// So many of the dates, evenly.
fn spread(dates: &[NaiveDate], most: usize) -> Vec<NaiveDate> {
    let n = most.min(dates.len());
    (0..n).map(|i| dates[(2 * i + 1) * dates.len() / (2 * n)]).collect()
}

/// What the plan given out says of all steps but one job's: that may move freely.
fn kept_but(given: &Given, job: &str) -> Vec<KeptStep> {
    given.plan.kept().into_iter().filter(|kept| kept.job != job).collect()
}

struct OfferSearch<'d> {
    given: &'d Given<'d>,
    job: &'d Job,
    kept: Vec<KeptStep>,
}

impl OfferSearch<'_> {
    /// The book in which the job must end by a date.
    fn shop(&self, by: NaiveDate, change: impl FnOnce(&mut Book)) -> Option<Shop> {
        self.given.what_if(&self.kept, |book| {
            match book.jobs.iter_mut().find(|job| job.id == self.job.id) {
                Some(job) => job.clone_from(self.job),
                None => book.jobs.push(self.job.clone()),
            }
            must_end(book, &self.job.id, by, self.given.never());
            change(book);
        })
    }

    /// The cheapest plan found that ends the job by a date, else as soon after it as can be.
    fn offer(
        &self,
        real: &Shop,
        by: NaiveDate,
        from: &Plan,
        limits: &Limits,
        change: impl FnOnce(&mut Book),
    ) -> Option<Offer> {
        let shop = self.shop(by, change)?;
        let mut plan = self.given.planned(&shop, from, limits);
        let proven = plan.proven && end(&plan, &self.job.id)?.date() <= by;
        let (start, end) = (start(&plan, &self.job.id)?, end(&plan, &self.job.id)?);
        plan.costs = check(real, &plan).costs;
        plan.cost = plan.costs.total();
        (plan.bound, plan.proven) = (None, false);
        check(real, &plan).holds().then(|| Offer {
            start,
            end,
            extra: Cents::ZERO,
            later: self.later(&plan),
            moved: self.moved(real, &plan),
            proven,
            plan,
        })
    }

    fn moved(&self, real: &Shop, plan: &Plan) -> usize {
        let changed = changes(real, &self.given.plan, plan);
        changed.iter().filter(|change| real.jobs[change.job].id != self.job.id).map(told_otherwise).sum()
    }

    fn later(&self, plan: &Plan) -> Vec<Later> {
        let jobs = self.given.shop.book.jobs.iter().filter(|job| job.id != self.job.id);
        jobs.filter_map(|job| {
            let was = self.given.ends(&job.id)?;
            let is = end(plan, &job.id).map(HalfDay::date);
            is.is_none_or(|is| is > was).then(|| Later { job: job.id.clone(), was, is })
        })
        .collect()
    }
}
