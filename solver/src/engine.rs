//! Finds plans and proves how good they are, within limits.
//!
//! A search over the builder always has a plan and makes it better; beside it, on the other core, the prover solves
//! the relaxation and then the whole program through good_lp. They tell each other what they find. No clock is read
//! and nothing is written but through [`Limits`] and the progress told.

mod adapter;
mod bounds;
mod builder;
mod lagrange;
mod prover;
mod reason;
mod search;
mod tables;
mod trucks;
mod walk;
mod yard;

pub use reason::impossible;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::{Duration, Instant};

use adapter::Asked;
use prover::{Incumbent, Proof, Told};
use search::Search;
use tables::Tables;

use crate::money::Cents;
use crate::plan::{Draft, Plan, check, write};
use crate::shop::Shop;

/// How long and how hard to search: the engine's only clock, and its only way to be stopped.
#[derive(Clone, Debug)]
pub struct Limits {
    /// Stop by then. `None`: no deadline.
    pub deadline: Option<Instant>,
    /// A budget of work instead of time, in rounds of the search: same book, seed and steps give the same plan.
    /// `None`: no budget.
    pub steps: Option<u64>,
    /// The seed of the search.
    pub seed: u64,
    /// Set it to stop with the best plan so far.
    pub cancel: Arc<AtomicBool>,
}

impl Limits {
    /// Seconds from now.
    pub fn seconds(seconds: f64) -> Self {
        let deadline =
            Duration::try_from_secs_f64(seconds).ok().and_then(|seconds| Instant::now().checked_add(seconds));
        Self { deadline, steps: None, seed: 1, cancel: Arc::default() }
    }
    /// A budget of work.
    pub fn steps(steps: u64) -> Self {
        Self { deadline: None, steps: Some(steps), seed: 1, cancel: Arc::default() }
    }
    /// What stops the search now, if anything does.
    fn over(&self) -> Option<&'static str> {
        if self.cancel.load(Ordering::Relaxed) {
            Some(CANCELLED)
        } else {
            self.deadline.is_some_and(|deadline| Instant::now() >= deadline).then_some(OUT_OF_TIME)
        }
    }
    fn deadline(&self) -> Instant {
        self.deadline.unwrap_or_else(|| Instant::now() + Duration::from_secs(3600))
    }
}

/// Why a search ended.
const PROVEN: &str = "proven best";
const OUT_OF_TIME: &str = "out of time";
const OUT_OF_STEPS: &str = "out of steps";
const CANCELLED: &str = "stopped by hand";

/// What is known so far, told each time it changes.
#[derive(Clone, Copy, Debug)]
pub struct Progress {
    /// The cost of the best plan.
    pub cost: Cents,
    /// The best bound.
    pub bound: Option<Cents>,
}

/// What no plan at all is taken to cost: above any plan, and far enough from the largest number to reckon with.
const NO_PLAN: i64 = i64::MAX / 4;

/// The best of what search and prover have found.
struct Best {
    draft: Draft,
    cents: i64,
    bound: i64,
}

impl Best {
    fn proven(&self) -> bool {
        self.bound >= self.cents
    }
    fn progress(&self) -> Progress {
        Progress { cost: Cents(self.cents), bound: Some(Cents(self.bound.min(self.cents))) }
    }
    /// Takes a plan that is better and that the checker passes.
    fn offer(&mut self, shop: &Shop, draft: Draft) -> bool {
        match judged(shop, &draft) {
            Some(cents) if cents < self.cents => {
                (self.draft, self.cents) = (draft, cents);
                true
            }
            Some(_) => false,
            None => {
                tracing::error!("a plan was found that does not hold; it is not used");
                false
            }
        }
    }
}

/// The cost of a draft, where the checker passes it.
fn judged(shop: &Shop, draft: &Draft) -> Option<i64> {
    let mut plan = write(shop, "", draft, |_| String::new());
    let costs = check(shop, &plan).costs;
    (plan.costs, plan.cost) = (costs, costs.total());
    let verdict = check(shop, &plan);
    for breach in &verdict.breaches {
        tracing::error!(%breach);
    }
    verdict.holds().then_some(plan.cost.0)
}

/// Plans the book. Always returns a plan that the checker passes, within the limits, at worst with jobs left out.
/// With neither deadline nor steps it stops when the plan is proven best, or after an hour.
pub fn plan(shop: &Shop, digest: &str, limits: &Limits, progress: &mut dyn FnMut(Progress)) -> Plan {
    let tables = Tables::new(shop);
    let mut search = Search::new(shop, &tables, limits.seed);
    let mut best = Best { draft: Draft::empty(shop), cents: NO_PLAN, bound: bounds::alone(shop, &tables) };
    if let Some(cents) = judged(shop, &best.draft) {
        best.cents = cents;
    }
    if let Some(draft) = search.best().draft() {
        best.offer(shop, draft);
    }
    progress(best.progress());
    let stopped = if best.proven() {
        PROVEN
    } else if let Some(steps) = limits.steps {
        by_steps(shop, limits, steps, &mut search, &mut best, progress)
    } else {
        side_by_side(shop, limits, &mut search, &mut best, progress)
    };
    finish(shop, digest, &tables, &best, stopped)
}

/// Search first, then the proof with as many nodes as the budget gives: no clock, one thread, always the same.
fn by_steps(
    shop: &Shop,
    limits: &Limits,
    steps: u64,
    search: &mut Search<'_>,
    best: &mut Best,
    progress: &mut dyn FnMut(Progress),
) -> &'static str {
    for _ in 0..steps {
        if let Some(stopped) = limits.over() {
            return stopped;
        }
        if search.step() {
            offer_search(shop, search, best, progress);
        }
    }
    if steps < STEPS_A_NODE {
        return OUT_OF_STEPS;
    }
    let Some(encoding) = prover::program_of(shop) else { return OUT_OF_STEPS };
    let (tell, told) = channel();
    let incumbent = Incumbent::new(best.cents);
    let mut proof = Proof::new(shop, &encoding);
    proof.begin(None, &tell);
    let mut nodes = steps / STEPS_A_NODE;
    if encoding.program.columns() > MOST_COLUMNS_BY_STEPS {
        nodes = 0;
    }
    while nodes > 0
        && limits.over().is_none()
        && let Some(branch) = proof.next(&incumbent)
    {
        // A round for each branch in turn, a third of what is left at a time.
        let share = nodes.div_ceil(3);
        nodes -= share;
        proof.go_on(shop, &incumbent, branch, Asked { nodes: Some(share), ..Asked::default() }, &tell);
    }
    drop(tell);
    for news in told {
        hear(shop, news, best);
    }
    progress(best.progress());
    if best.proven() { PROVEN } else { OUT_OF_STEPS }
}

/// Rounds of the search that are worth about one node of the proof; a smaller budget is for the search alone.
const STEPS_A_NODE: u64 = 100;
/// The first node has no budget of its own: above so many columns only the relaxation is solved.
const MOST_COLUMNS_BY_STEPS: usize = 12_000;

/// Search here, proof on a thread of its own that nobody waits for: it ends by itself at the deadline.
fn side_by_side(
    shop: &Shop,
    limits: &Limits,
    search: &mut Search<'_>,
    best: &mut Best,
    progress: &mut dyn FnMut(Progress),
) -> &'static str {
    // A moment for the search alone: a good plan makes the proof shorter.
    let head_start = Instant::now() + HEAD_START;
    while Instant::now() < head_start && limits.over().is_none() && search.rounds() < HEAD_START_ROUNDS {
        search.step();
    }
    offer_search(shop, search, best, progress);
    let incumbent = Arc::new(Incumbent::new(best.cents));
    let told = start_prover(shop, limits, &incumbent);
    let mut proving = true;
    loop {
        if best.proven() {
            return PROVEN;
        }
        if let Some(stopped) = limits.over() {
            return stopped;
        }
        if search.step() {
            offer_search(shop, search, best, progress);
            incumbent.lower(best.cents);
        }
        loop {
            match told.try_recv() {
                Ok(Told::Done) | Err(TryRecvError::Disconnected) => {
                    proving = false;
                    break;
                }
                Ok(news) => {
                    if hear(shop, news, best) {
                        incumbent.lower(best.cents);
                        progress(best.progress());
                    }
                }
                Err(TryRecvError::Empty) => break,
            }
        }
        if !proving && limits.deadline.is_none() {
            return OUT_OF_TIME;
        }
    }
}

const HEAD_START: Duration = Duration::from_millis(300);
const HEAD_START_ROUNDS: u64 = 300;

fn start_prover(shop: &Shop, limits: &Limits, incumbent: &Arc<Incumbent>) -> Receiver<Told> {
    let (tell, told) = channel();
    let (shop, incumbent, deadline) = (shop.clone(), Arc::clone(incumbent), limits.deadline());
    let started = std::thread::Builder::new()
        .name("prover".to_owned())
        .spawn(move || prover::prove(&shop, &incumbent, deadline, &tell));
    if let Err(error) = started {
        tracing::warn!(%error, "no thread for the proof: the search goes on alone");
    }
    told
}

fn offer_search(shop: &Shop, search: &Search<'_>, best: &mut Best, progress: &mut dyn FnMut(Progress)) {
    if search.best().cost() < best.cents
        && let Some(draft) = search.best().draft()
        && best.offer(shop, draft)
    {
        progress(best.progress());
    }
}

/// Takes the prover's news in: whether they change what is known.
fn hear(shop: &Shop, news: Told, best: &mut Best) -> bool {
    match news {
        Told::Bound(bound) if bound > best.bound => {
            best.bound = bound;
            true
        }
        Told::Plan(draft) => best.offer(shop, draft),
        _ => false,
    }
}

fn finish(shop: &Shop, digest: &str, tables: &Tables, best: &Best, stopped: &'static str) -> Plan {
    let proven = best.proven();
    let mut plan = write(shop, digest, &best.draft, |job| reason::left_out(shop, tables, &best.draft, job, proven));
    plan.costs = check(shop, &plan).costs;
    plan.cost = plan.costs.total();
    plan.bound = Some(Cents(best.bound.min(best.cents)));
    plan.proven = proven;
    stopped.clone_into(&mut plan.stopped);
    plan
}

/// Scratch.
pub fn experiment(shop: &Shop, target: f64, rounds: usize) {
    let began = Instant::now();
    let of = lagrange::Relaxation::new(shop);
    let mut ascent = lagrange::Ascent::new(&of);
    eprintln!("rows {} begin {:.2} at {:.3}", of.rows(), ascent.bound / 100.0, began.elapsed().as_secs_f64());
    for round in 1..=rounds {
        ascent.step(&of, target);
        if round.is_power_of_two() || round % 1000 == 0 {
            eprintln!("{round} {:.2} at {:.2}", ascent.bound / 100.0, began.elapsed().as_secs_f64());
        }
    }
}
