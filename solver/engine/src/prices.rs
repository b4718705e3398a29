//! The proof: prices for all plans, then the plans divided into parts at prices of their own; beside it, where the
//! program is small enough, the whole program.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Sender;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::time::{Duration, Instant};

use yardless_plan::shop::Shop;

use super::effort::Effort;
use super::lagrange::{Ascent, Excess, Relaxation};
use super::prover::{self, Incumbent, Told};
use super::tree::{Pace, Sketch, Tree, Worker};
use crate::encode::Encoding;

/// What those who prove share.
pub(super) struct Shared {
    /// None where the budget is of work.
    deadline: Option<Instant>,
    stopped: AtomicBool,
    tree: OnceLock<Mutex<Tree>>,
    encoding: OnceLock<Option<Encoding>>,
}

impl Shared {
    pub(super) fn new(deadline: Option<Instant>) -> Self {
        Self { deadline, stopped: AtomicBool::new(false), tree: OnceLock::new(), encoding: OnceLock::new() }
    }

    /// Nobody needs the proof any more.
    pub(super) fn stop(&self) {
        self.stopped.store(true, Ordering::Relaxed);
    }

    /// Whether the proof is to end.
    pub(super) fn over(&self) -> bool {
        self.stopped.load(Ordering::Relaxed) || self.deadline.is_some_and(|deadline| Instant::now() >= deadline)
    }

    /// Seconds left.
    pub(super) fn left(&self) -> f64 {
        self.deadline.map_or(f64::INFINITY, |end| end.saturating_duration_since(Instant::now()).as_secs_f64())
    }

    fn with<T>(&self, change: impl FnOnce(&mut Tree) -> T) -> Option<T> {
        let tree = self.tree.get()?;
        Some(change(&mut tree.lock().unwrap_or_else(PoisonError::into_inner)))
    }

    /// Divides the part with the least bound: what plans in it may look like; `None` where there is no part.
    pub(super) fn divide(&self, incumbent: &Incumbent, over: &dyn Fn() -> bool) -> Option<Vec<Sketch>> {
        let cents = incumbent.cents();
        let (part, (of, facts)) = self.with(|tree| Some((tree.take(cents)?, tree.tools())))??;
        let over = || over() || self.over();
        let bound = part.bound();
        let parts = Worker { of: &of, facts: &facts, cents, over: &over }.divide(part);
        let sketches = parts.iter().map(|part| part.sketch().clone()).collect();
        self.with(|tree| tree.give(bound, parts));
        Some(sketches)
    }

    /// Has the program settle a part that cannot be divided, briefly the first time: whether there was one.
    fn settle(&self, shop: &Shop, incumbent: &Incumbent, brief: bool, effort: &Effort, tell: &Sender<Told>) -> bool {
        let taken = self.with(|tree| Some((tree.take_whole(incumbent.cents(), brief)?, tree.tools().0)));
        let Some((part, of)) = taken.flatten() else { return false };
        let work = if brief { BRIEFLY } else { FOR_A_PART * 2_u32.saturating_pow(part.tries().saturating_sub(1)) };
        let seconds = self.left().min(effort.by_clock(work).as_secs_f64());
        let bound = self
            .encoding(shop)
            .and_then(|encoding| prover::settle(shop, encoding, &of, part.terms(), incumbent, seconds, tell));
        self.with(|tree| tree.settled(part, bound));
        true
    }

    /// The program, written when it is first asked for; none where it is too large.
    pub(super) fn encoding(&self, shop: &Shop) -> Option<&Encoding> {
        self.encoding.get_or_init(|| prover::program_of(shop)).as_ref()
    }

    /// No plan costs less, in cents, as far as the parts tell.
    pub(super) fn bound(&self, incumbent: &Incumbent) -> Option<i64> {
        self.with(|tree| whole(tree.bound(), incumbent.cents()))
    }
}

/// A bound in whole cents: prices add up without error, and what a plan costs is whole.
fn whole(bound: f64, cents: i64) -> i64 {
    if bound >= cents as f64 { cents } else { bound.ceil() as i64 }
}

/// The relaxation at its best prices for all plans.
pub(super) struct Priced {
    pub(super) of: Arc<Relaxation>,
    pub(super) excess: Excess,
}

/// Proves until it is done or told to stop.
pub(super) fn prove(shop: &Shop, incumbent: &Arc<Incumbent>, shared: &Arc<Shared>, tell: &Sender<Told>) {
    let of = Arc::new(Relaxation::new(shop));
    let began = Instant::now();
    let rounds = |pace: Pace, ascent: &Ascent| match ascent.rounds() {
        0 => pace.rounds,
        // A large book has time for fewer rounds.
        made => {
            pace.rounds.min(((shared.left() / 4.0 / began.elapsed().as_secs_f64() * f64::from(made)) as u32).max(50))
        }
    };
    let ascent = ascended(shop, &of, rounds, &mut telling(incumbent, &|| shared.over(), tell));
    if shared.over() {
        return;
    }
    let priced = Priced { excess: of.excess(&ascent.prices, &of.all()), of: Arc::clone(&of) };
    let tree = Tree::new(of, &ascent, incumbent.cents(), &|| shared.over());
    let _ = shared.tree.set(Mutex::new(tree));
    // The program sees all rules, and small books are small for it: where the parts do not end soon, it is proved on a
    // thread of its own.
    let effort = Effort::begin();
    let mut program = Some({
        let (shop, incumbent, shared, tell) = (shop.clone(), Arc::clone(incumbent), Arc::clone(shared), tell.clone());
        move || prover::prove(&shop, &incumbent, &shared, &priced, &tell)
    });
    let mut told = i64::MIN;
    while !shared.over() {
        if effort.worked() > PARTS_ALONE
            && let Some(program) = program.take()
            && let Err(error) = std::thread::Builder::new().name("program".to_owned()).spawn(program)
        {
            tracing::warn!(%error, "no thread for the program: the parts go on alone");
        }
        // A part that cannot be divided came up because its bound is the least; most are settled in a tenth of a second.
        if shared.settle(shop, incumbent, true, &effort, tell) {
        } else if let Some(sketches) = shared.divide(incumbent, &|| false) {
            for sketch in sketches {
                let _ = tell.send(Told::Sketch(sketch));
            }
        } else if !shared.settle(shop, incumbent, false, &effort, tell) {
            if shared.with(|tree| tree.is_done()) != Some(false) {
                break;
            }
            // The last parts are with the search.
            std::thread::sleep(Duration::from_millis(1));
        }
        if let Some(bound) = shared.bound(incumbent).filter(|bound| *bound > told) {
            told = bound;
            let _ = tell.send(Told::Bound(bound));
        }
    }
    if let Some(program) = program.filter(|_| told < incumbent.cents() && !shared.over()) {
        program();
    }
}

/// The work for which the parts have the proof's core to themselves.
const PARTS_ALONE: Duration = Duration::from_secs(3);
/// The work that the program has for a part that cannot be divided: at first, and where nothing else is left to do, then
/// twice as much each time.
const BRIEFLY: Duration = Duration::from_secs(1);
const FOR_A_PART: Duration = Duration::from_secs(20);

/// Rounds and paces for all plans. What a job left out costs says how far prices may have to go.
fn paces(shop: &Shop) -> [Pace; 2] {
    let dearest = shop.jobs.iter().map(|job| job.left_out.0).max().unwrap_or(0) as f64;
    let first = Pace { rounds: 300, first: (dearest / 100.0).clamp(300.0, 10_000.0), last: 10.0 };
    [first, Pace { rounds: 2500, first: 300.0, last: 0.5 }]
}

/// Prices for all plans, after so many rounds at each pace, or as long as it goes on from a bound.
fn ascended(
    shop: &Shop,
    of: &Relaxation,
    rounds: impl Fn(Pace, &Ascent) -> u32,
    goes_on: &mut dyn FnMut(f64) -> bool,
) -> Ascent {
    let all = of.all();
    let within = of.within(&all);
    let mut ascent = Ascent::new(of, None);
    for pace in paces(shop) {
        let pace = Pace { rounds: rounds(pace, &ascent), ..pace };
        for round in 1..=pace.rounds {
            ascent.step(&within, pace.at(round));
            if !goes_on(ascent.bound) {
                return ascent;
            }
        }
    }
    ascent
}

/// Tells a bound each time that it has risen by half a percent; goes on until it is over or the best plan is met.
fn telling<'t>(
    incumbent: &'t Incumbent,
    over: &'t dyn Fn() -> bool,
    tell: &'t Sender<Told>,
) -> impl FnMut(f64) -> bool + 't {
    let mut told = f64::NEG_INFINITY;
    move |bound| {
        let cents = incumbent.cents();
        if bound > told * 1.005 || bound >= cents as f64 {
            told = bound;
            let _ = tell.send(Told::Bound(whole(bound, cents)));
        }
        bound < cents as f64 && !over()
    }
}

/// The bound of so many rounds at each pace, in cents.
pub(super) fn bound(shop: &Shop, rounds: u32) -> i64 {
    let of = Relaxation::new(shop);
    ascended(shop, &of, |pace, _| pace.rounds.min(rounds), &mut |_| true).bound.ceil() as i64
}

/// A proof by a budget of the search's rounds: as many rounds at each pace, and a part for a hundred of them.
pub(super) fn by_rounds(
    shop: &Shop,
    incumbent: &Incumbent,
    rounds: u64,
    over: &dyn Fn() -> bool,
    tell: &Sender<Told>,
) -> Priced {
    let of = Arc::new(Relaxation::new(shop));
    let most = |pace: Pace, _: &Ascent| u64::from(pace.rounds).min(rounds) as u32;
    let ascent = ascended(shop, &of, most, &mut telling(incumbent, over, tell));
    let shared = Shared::new(None);
    let _ = shared.tree.set(Mutex::new(Tree::new(Arc::clone(&of), &ascent, incumbent.cents(), over)));
    for _ in 0..rounds / 100 {
        if over() || shared.divide(incumbent, over).is_none() {
            break;
        }
    }
    let _ = tell.send(Told::Bound(shared.bound(incumbent).unwrap_or(i64::MIN)));
    Priced { excess: of.excess(&ascent.prices, &of.all()), of }
}
