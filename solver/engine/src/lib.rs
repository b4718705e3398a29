//! Finds plans and proves how good they are, within limits.
//!
//! A search over the builder always has a plan and makes it better; beside it, on the other core, prices on what jobs
//! share give a bound and divide all plans into parts ([`prices`]), and where the book is small enough the whole program
//! is solved through good_lp ([`prover`]). They tell each other what they find. No clock is read and nothing is written
//! but through [`Limits`] and the progress told.

mod adapter;
mod again;
mod best;
mod bounds;
mod builder;
mod effort;
pub mod encode;
mod endless;
mod lagrange;
mod pair;
mod prices;
mod prover;
mod reason;
mod search;
mod tables;
mod together;
mod tree;
mod trucks;
mod walk;
mod yard;

pub use again::{Leaning, STANDS, choices, replan};
pub use reason::impossible;
pub use together::{Found, Wanted, together};

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Sender, TryRecvError, channel};
use std::time::{Duration, Instant};

use yardless_book::money::Cents;
use yardless_plan::shop::{JobId, Shop};
use yardless_plan::{Draft, Plan};

use adapter::Asked;
use best::{Best, costed, judged};
use effort::Effort;
use pair::Pair;
use prices::Shared;
use prover::{Incumbent, Proof, Told};
use search::Search;
use tables::Tables;
use tree::Sketch;

/// How long and how hard to search: the engine's only clock, and its only way to be stopped.
#[derive(Clone, Debug)]
pub struct Limits {
    /// Stop by then. `None`: no deadline.
    pub deadline: Option<Instant>,
    /// A budget of work instead of time, in rounds of the search: same book, seed and steps give the same plan.
    /// `None`: no budget.
    pub steps: Option<u64>,
    /// Stop when the plan is proven to be within this share of the best, 0 to 1: (cost - bound) / cost, the cost of
    /// jobs left out of both that no plan can do. Default 0.
    pub gap: f64,
    /// Stop, too, once no plan can cost so little, in cents: it would not be worth while. `None`: whatever it costs.
    pub aim: Option<i64>,
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
        Self { deadline, steps: None, gap: 0.0, aim: None, seed: 1, cancel: Arc::default() }
    }
    /// A budget of work.
    pub fn steps(steps: u64) -> Self {
        Self { deadline: None, steps: Some(steps), gap: 0.0, aim: None, seed: 1, cancel: Arc::default() }
    }
    /// What stops the search now, if anything does.
    fn over(&self) -> Option<&'static str> {
        if self.cancel.load(Ordering::Relaxed) {
            Some(CANCELLED)
        } else {
            self.deadline.is_some_and(|deadline| Instant::now() >= deadline).then_some(OUT_OF_TIME)
        }
    }
    /// One of so many equal parts of what is left.
    #[must_use]
    pub fn part(&self, parts: u32) -> Self {
        let left = |end: Instant| end.saturating_duration_since(Instant::now()) / parts;
        let deadline = self.deadline.map(|end| Instant::now() + left(end));
        Self { deadline, steps: self.steps.map(|steps| steps / u64::from(parts)), ..self.clone() }
    }
    /// Seconds that a question before the search may take: a tenth of those left; `None`: no deadline.
    fn aside(&self) -> Option<f64> {
        Some(self.deadline?.saturating_duration_since(Instant::now()).as_secs_f64() / 10.0)
    }
    fn deadline(&self) -> Instant {
        self.deadline.unwrap_or_else(|| Instant::now() + Duration::from_secs(3600))
    }
}

/// Why a search ended before its plan was proven.
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
    let over = || limits.over().is_some();
    let first =
        endless::fewest(shop, limits, Search::new(shop, &tables, limits.seed, start, 0, &over), &|found, left| {
            Search::new(shop, &tables, limits.seed, Some(found), left, &over)
        });
    let hopeless = |job: &JobId| limits.gap > 0.0 && shop.jobs[*job].planned() && impossible(shop, *job).is_some();
    let mut best = Best {
        draft: Draft::empty(shop),
        cents: best::NO_PLAN,
        bound: bounds::alone(shop, &tables),
        endless: 0,
        hopeless: shop.jobs.ids().filter(hopeless).map(|job| shop.jobs[job].left_out.0).sum(),
    };
    // Leaving all out is a plan to begin with, but not where something has begun that can be ended.
    best.endless = first.best().stuck().len();
    // Nor where trailers must be hauled away at once (E6): the search's first plan makes those hauls.
    if !shop.crowded() {
        let nothing = best.draft.clone();
        best.offer(shop, nothing);
    }
    offer_search(shop, &first, &mut best, progress);
    progress(best.progress());
    let mut pair = Pair::new(first, limits.seed);
    let stopped = if let Some(enough) = best.enough(limits) {
        enough
    } else if let Some(steps) = limits.steps {
        by_steps(shop, limits, steps, &mut pair, &mut best, progress)
    } else {
        side_by_side(shop, limits, &mut pair, &mut best, progress)
    };
    finish(shop, digest, &tables, &best, stopped)
}

/// A bound from prices alone, after so many rounds of looking for them: no plan costs less. See DEVELOPERS.md, "How a
/// plan is found".
pub fn bound_by_prices(shop: &Shop, rounds: u32) -> Cents {
    Cents(prices::bound(shop, rounds))
}

/// Search first, then the proof with as many rounds and nodes as the budget gives: no clock, always the same.
fn by_steps(
    shop: &Shop,
    limits: &Limits,
    steps: u64,
    pair: &mut Pair<'_>,
    best: &mut Best,
    progress: &mut dyn FnMut(Progress),
) -> &'static str {
    let mut left = steps;
    while left > 0 {
        if let Some(stopped) = limits.over() {
            return stopped;
        }
        let rounds = left.min(ROUNDS_TOGETHER);
        left -= rounds;
        pair.rounds(rounds, &|| limits.over().is_some());
        offer_search(shop, pair.best(), best, progress);
    }
    if steps < STEPS_A_NODE {
        return OUT_OF_STEPS;
    }
    let (tell, told) = channel();
    let incumbent = Incumbent::new(best.cents);
    let over = || limits.over().is_some();
    let proven_of = &taken_for_granted(shop, best.endless);
    let priced = prices::by_rounds(proven_of, &incumbent, steps, &over, &tell);
    if let Some(encoding) = prover::program_of(proven_of)
        && !over()
    {
        let mut proof = Proof::new(proven_of, &encoding, &priced);
        proof.begin(None, &incumbent, &tell);
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
            proof.go_on(proven_of, &incumbent, branch, Asked { nodes: Some(share), ..Asked::default() }, &tell);
        }
    }
    drop(tell);
    for news in told {
        hear(shop, news, best);
    }
    progress(best.progress());
    best.enough(limits).unwrap_or(OUT_OF_STEPS)
}

/// Rounds, of both searches together, after which they exchange what they have found.
const ROUNDS_TOGETHER: u64 = 400;
/// Rounds of the search that are worth about one node of the proof; a smaller budget is for the search alone.
const STEPS_A_NODE: u64 = 100;
/// The first node has no budget of its own: above so many columns only the relaxation is solved.
const MOST_COLUMNS_BY_STEPS: usize = 12_000;

/// Search here, proof on threads of its own that end by themselves soon after the search does.
fn side_by_side(
    shop: &Shop,
    limits: &Limits,
    pair: &mut Pair<'_>,
    best: &mut Best,
    progress: &mut dyn FnMut(Progress),
) -> &'static str {
    // A moment for two searches alone: a good plan makes the proof shorter.
    let effort = Effort::begin();
    while effort.worked() < HEAD_START && limits.over().is_none() && pair.best().rounds() < HEAD_START_ROUNDS {
        let until = Instant::now() + effort.by_clock(HEAD_START.saturating_sub(effort.worked()));
        pair.rounds(ROUNDS_AT_FIRST, &|| Instant::now() >= until || limits.over().is_some());
        offer_search(shop, pair.best(), best, progress);
    }
    let incumbent = Arc::new(Incumbent::new(best.cents));
    let shared = Arc::new(Shared::new(Some(limits.deadline())));
    let (tell, told) = channel();
    start_proof(taken_for_granted(shop, best.endless), &incumbent, &shared, tell);
    let search = pair.first();
    let effort = Effort::begin();
    let (mut gained, mut next_loan) = (Duration::ZERO, Duration::ZERO);
    let mut proving = true;
    let mut drawn: Vec<Sketch> = Vec::new();
    let stopped = loop {
        if let Some(stopped) = best.enough(limits).or_else(|| limits.over()) {
            break stopped;
        }
        let mut better = false;
        for sketch in drawn.drain(..) {
            better |= search.sketch(&sketch);
        }
        if search.step() || better {
            gained = effort.worked();
            offer_search(shop, search, best, progress);
            incumbent.lower(best.cents);
        }
        // A search that finds nothing more lends half of its core to the proof.
        let worked = effort.worked();
        if worked > next_loan && worked.saturating_sub(gained) > STALLED.max(worked / 4) {
            drawn.extend(shared.divide(&incumbent, &|| limits.over().is_some()).into_iter().flatten());
            next_loan = (effort.worked() * 2).saturating_sub(worked);
        }
        loop {
            match told.try_recv() {
                Err(TryRecvError::Disconnected) => {
                    proving = false;
                    break;
                }
                Ok(Told::Sketch(sketch)) => drawn.push(sketch),
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
            break OUT_OF_TIME;
        }
    };
    shared.stop();
    stopped
}

const HEAD_START: Duration = Duration::from_millis(300);
const HEAD_START_ROUNDS: u64 = 600;
const ROUNDS_AT_FIRST: u64 = 40;
/// A search without gain for so much work, and for a quarter of its work, has stalled.
const STALLED: Duration = Duration::from_millis(700);

/// The shop as the proof may take it: where a plan ends all jobs that have begun, every plan does (N1).
fn taken_for_granted(shop: &Shop, endless: usize) -> Shop {
    let mut shop = shop.clone();
    shop.endless = endless;
    for job in &mut shop.jobs {
        job.must = endless == 0 && job.started && job.planned();
    }
    shop
}

fn start_proof(shop: Shop, incumbent: &Arc<Incumbent>, shared: &Arc<Shared>, tell: Sender<Told>) {
    let (incumbent, shared) = (Arc::clone(incumbent), Arc::clone(shared));
    let started = std::thread::Builder::new()
        .name("proof".to_owned())
        .spawn(move || prices::prove(&shop, &incumbent, &shared, &tell));
    if let Err(error) = started {
        tracing::warn!(%error, "no thread for the proof: the search goes on alone");
    }
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
    let why = |job| reason::left_out(shop, tables, &best.draft, job, proven).says(shop);
    let mut plan = costed(shop, digest, &best.draft, why);
    plan.bound = Some(Cents(best.bound.min(best.cents)));
    plan.proven = proven;
    stopped.clone_into(&mut plan.stopped);
    plan
}
