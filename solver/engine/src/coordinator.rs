//! The coordinator: search and proof side by side, or one after the other by a budget of work.
//!
//! A neighbourhood search always has a plan and makes it better; beside it, on the other core, the proof raises the bound.
//! They tell each other what they find: the search what a plan must cost less than, the proof bounds, plans, and hints
//! at what good plans look like.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::{Duration, Instant};

use yardless_book::money::Cents;
use yardless_plan::shop::{JobId, Shop};
use yardless_plan::{Draft, Plan};

use crate::context::Context;
use crate::dual::{bound, bound_alone};
use crate::effort::Effort;
use crate::exact::{self, SharedProof};
use crate::feasibility::fewest_unended;
use crate::incumbent::{Cutoff, Incumbent, News, costed};
use crate::limits::{Limits, OUT_OF_STEPS, OUT_OF_TIME, Progress};
use crate::model::Hints;
use crate::primal::{NeighbourhoodSearch, Portfolio, Tables};
use crate::reason::{self, impossible};

/// Plans the book. Always returns a plan that the checker passes, within the limits, at worst with jobs left out.
/// With neither deadline nor steps it stops when the plan is proven best, or after an hour.
pub fn plan(shop: &Shop, digest: &str, limits: &Limits, progress: &mut dyn FnMut(Progress)) -> Plan {
    plan_from(shop, digest, None, limits, progress)
}

/// The same, with a plan to start from: one that holds is the first, of any other what can be done as it says is kept.
pub fn plan_from(
    shop: &Shop,
    digest: &str,
    start: Option<&Draft>,
    limits: &Limits,
    progress: &mut dyn FnMut(Progress),
) -> Plan {
    let tables = Tables::new(shop);
    let context = Context::new(limits);
    let over = || limits.over().is_some();
    let first = fewest_unended(
        shop,
        &context,
        NeighbourhoodSearch::new(shop, &tables, limits.seed, start, 0, &over),
        &|found, left| NeighbourhoodSearch::new(shop, &tables, limits.seed, Some(found), left, &over),
    );
    let hopeless = |job: &JobId| limits.gap > 0.0 && shop.jobs[*job].planned() && impossible(shop, *job).is_some();
    let hopeless = shop.jobs.ids().filter(hopeless).map(|job| shop.jobs[job].left_out.0).sum();
    // Leaving all out is a plan to begin with, but not where something is in progress that can be ended.
    let unended = first.best().unended().len();
    let mut incumbent = Incumbent::new(shop, bound_alone(shop), unended, hopeless);
    // Nor where trailers must be hauled away at once (E6): the search's first plan makes those hauls.
    if !shop.crowded() {
        let nothing = incumbent.draft.clone();
        incumbent.offer(shop, nothing);
    }
    let context = context.with_most_unended(unended);
    let mut run = Planning { shop, context: &context, incumbent, progress };
    run.offer(&first);
    run.tell();
    let mut portfolio = Portfolio::new(first, limits.seed);
    let stopped = if let Some(enough) = run.incumbent.enough(limits) {
        enough
    } else if let Some(steps) = limits.steps {
        run.by_steps(steps, &mut portfolio)
    } else {
        run.side_by_side(&mut portfolio)
    };
    finish(shop, digest, &tables, &run.incumbent, stopped)
}

/// A Lagrangian bound alone, after so many rounds of the ascent: no plan costs less.
pub fn lagrangian_bound(shop: &Shop, rounds: u32) -> Cents {
    Cents(bound(shop, rounds))
}

/// A search under way.
struct Planning<'r> {
    shop: &'r Shop,
    context: &'r Context,
    incumbent: Incumbent,
    progress: &'r mut dyn FnMut(Progress),
}

/// Rounds, of both searches together, after which they exchange what they have found.
const ROUNDS_TOGETHER: u64 = 400;

impl Planning<'_> {
    /// Search first, then the proof with as many rounds and nodes as the budget gives: no clock, always the same.
    fn by_steps(&mut self, steps: u64, portfolio: &mut Portfolio<'_>) -> &'static str {
        let limits = &self.context.limits;
        let over = || limits.over().is_some();
        let mut left = steps;
        while left > 0 {
            if let Some(stopped) = limits.over() {
                return stopped;
            }
            let rounds = left.min(ROUNDS_TOGETHER);
            left -= rounds;
            portfolio.rounds(rounds, &over);
            self.offer(portfolio.best());
        }
        if steps < exact::STEPS_A_NODE {
            return OUT_OF_STEPS;
        }
        let (tell, told) = channel();
        exact::by_rounds(&self.proof(), steps, &over, &tell);
        drop(tell);
        for news in told {
            self.incumbent.hear(self.shop, news);
        }
        self.tell();
        self.incumbent.enough(limits).unwrap_or(OUT_OF_STEPS)
    }

    /// Search here, proof on threads of its own that end by themselves soon after the search does.
    fn side_by_side(&mut self, portfolio: &mut Portfolio<'_>) -> &'static str {
        let limits = &self.context.limits;
        self.head_start(portfolio);
        let proof = Arc::new(self.proof().until(limits.deadline()));
        let (tell, told) = channel();
        exact::start(&proof, tell);
        let search = portfolio.first();
        let effort = Effort::begin();
        let (mut gained, mut next_loan) = (Duration::ZERO, Duration::ZERO);
        let (mut gained_in, stalled) = (0, ROUNDS_A_JOB * self.shop.jobs.len() as u64);
        let mut proving = true;
        let mut hints: Vec<Hints> = Vec::new();
        let stopped = loop {
            if let Some(stopped) = self.incumbent.enough(limits).or_else(|| limits.over()) {
                break stopped;
            }
            let mut better = false;
            for hints in hints.drain(..) {
                better |= search.follow_hints(&hints);
            }
            if search.step() || better {
                (gained, gained_in) = (effort.worked(), search.rounds());
                self.offer(search);
                proof.cutoff.lower(self.incumbent.cents);
            }
            // A search that finds nothing more lends half of its core to the proof.
            let worked = effort.worked();
            let stalled = search.rounds() - gained_in >= stalled;
            if stalled && worked > next_loan && worked.saturating_sub(gained) > STALLED.max(worked / 4) {
                hints.extend(proof.branch(&|| limits.over().is_some()).into_iter().flatten());
                next_loan = (effort.worked() * 2).saturating_sub(worked);
            }
            proving &= self.hear_all(&told, &proof.cutoff, &mut hints);
            if !proving && limits.deadline.is_none() {
                break OUT_OF_TIME;
            }
        };
        proof.stop();
        stopped
    }

    /// A moment for two searches alone: a good plan makes the proof shorter.
    fn head_start(&mut self, portfolio: &mut Portfolio<'_>) {
        let limits = &self.context.limits;
        let effort = Effort::begin();
        while effort.worked() < HEAD_START && limits.over().is_none() && portfolio.best().rounds() < HEAD_START_ROUNDS {
            let until = Instant::now() + effort.by_clock(HEAD_START.saturating_sub(effort.worked()));
            portfolio.rounds(ROUNDS_AT_FIRST, &|| Instant::now() >= until || limits.over().is_some());
            self.offer(portfolio.best());
        }
    }

    /// Takes in what the proof has told by now; `false` where it has ended.
    fn hear_all(&mut self, told: &Receiver<News>, cutoff: &Cutoff, hints: &mut Vec<Hints>) -> bool {
        loop {
            match told.try_recv() {
                Err(TryRecvError::Disconnected) => return false,
                Err(TryRecvError::Empty) => return true,
                Ok(News::Hints(more)) => hints.push(more),
                Ok(news) => {
                    if self.incumbent.hear(self.shop, news) {
                        cutoff.lower(self.incumbent.cents);
                        self.tell();
                    }
                }
            }
        }
    }

    /// The proof that no plan costs less than the incumbent.
    fn proof(&self) -> SharedProof {
        let cutoff = Cutoff::new(self.incumbent.cents);
        SharedProof::new(self.shop, self.context.clone(), self.incumbent.plan(), cutoff)
    }

    fn offer(&mut self, search: &NeighbourhoodSearch<'_>) {
        if search.best().cost() < self.incumbent.cents
            && let Some(draft) = search.best().draft()
            && self.incumbent.offer(self.shop, draft)
        {
            self.tell();
        }
    }

    fn tell(&mut self) {
        (self.progress)(self.incumbent.progress());
    }
}

const HEAD_START: Duration = Duration::from_millis(300);
const HEAD_START_ROUNDS: u64 = 600;
const ROUNDS_AT_FIRST: u64 = 40;
/// A search without gain for so many rounds a job, for so much work, and for a quarter of its work, has stalled.
const ROUNDS_A_JOB: u64 = 4;
const STALLED: Duration = Duration::from_millis(700);

fn finish(shop: &Shop, digest: &str, tables: &Tables, incumbent: &Incumbent, stopped: &'static str) -> Plan {
    let proven = incumbent.proven();
    let draft = &incumbent.draft;
    let mut plan = costed(shop, digest, draft, |job| reason::left_out(shop, tables, draft, job, proven).says(shop));
    plan.bound = Some(Cents(incumbent.bound.min(incumbent.cents)));
    plan.proven = proven;
    stopped.clone_into(&mut plan.stopped);
    plan
}
