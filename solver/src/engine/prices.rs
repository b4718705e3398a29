//! The proof: prices for all plans, then the plans divided into parts at prices of their own; beside it, where the
//! program is small enough, the whole program.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Sender;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::time::Instant;

use super::lagrange::{Ascent, Excess, Relaxation};
use super::prover::{self, Incumbent, Told};
use super::tree::{Pace, Tree, Worker};
use crate::encode::Encoding;
use crate::shop::Shop;

/// What those who prove share.
pub(super) struct Shared {
    deadline: Instant,
    stopped: AtomicBool,
    tree: Mutex<Option<Tree>>,
    encoding: OnceLock<Option<Encoding>>,
}

impl Shared {
    pub(super) fn new(deadline: Instant) -> Self {
        Self { deadline, stopped: AtomicBool::new(false), tree: Mutex::new(None), encoding: OnceLock::new() }
    }

    /// Nobody needs the proof any more.
    pub(super) fn stop(&self) {
        self.stopped.store(true, Ordering::Relaxed);
    }

    /// Whether the proof is to end.
    pub(super) fn over(&self) -> bool {
        self.stopped.load(Ordering::Relaxed) || Instant::now() >= self.deadline
    }

    /// Seconds left.
    pub(super) fn left(&self) -> f64 {
        self.deadline.saturating_duration_since(Instant::now()).as_secs_f64()
    }

    fn with<T>(&self, change: impl FnOnce(&mut Option<Tree>) -> T) -> T {
        change(&mut self.tree.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Divides one part, or has the program settle one that cannot be divided: whether there was one.
    pub(super) fn work(
        &self,
        shop: &Shop,
        incumbent: &Incumbent,
        over: &dyn Fn() -> bool,
        tell: &Sender<Told>,
    ) -> bool {
        let cents = incumbent.cents();
        let taken = self.with(|tree| {
            let tree = tree.as_mut()?;
            let part = tree.take(cents);
            let whole = part.is_none();
            Some((part.or_else(|| tree.take_whole(cents))?, whole, tree.tools()))
        });
        let Some((part, whole, (of, facts))) = taken else { return false };
        let over = || over() || self.over();
        if whole {
            let seconds = self.left().min(SECONDS_FOR_A_PART);
            let bound = match self.encoding(shop) {
                Some(encoding) => prover::settle(shop, encoding, &of, part.terms(), incumbent, seconds, tell),
                None => None,
            };
            self.with(|tree| tree.as_mut().map(|tree| tree.settled(&part, bound.unwrap_or(part.bound()))));
        } else {
            let bound = part.bound();
            let parts = Worker { of: &of, facts: &facts, cents, over: &over }.divide(part);
            if let Some(sketch) = parts.first().map(|part| part.sketch().clone()) {
                let _ = tell.send(Told::Sketch(sketch));
            }
            self.with(|tree| tree.as_mut().map(|tree| tree.give(bound, parts)));
        }
        true
    }

    /// The program, written when it is first asked for; none where it is too large.
    pub(super) fn encoding(&self, shop: &Shop) -> Option<&Encoding> {
        self.encoding.get_or_init(|| prover::program_of(shop)).as_ref()
    }

    /// No plan costs less, in cents, as far as the parts tell.
    pub(super) fn bound(&self, incumbent: &Incumbent) -> Option<i64> {
        self.with(|tree| tree.as_ref().map(|tree| whole(tree.bound(), incumbent.cents())))
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
    let mut ascent = Ascent::new(&of, None);
    let began = Instant::now();
    for pace in paces(shop) {
        // A large book has time for fewer rounds.
        let a_round = began.elapsed().as_secs_f64() / f64::from(ascent.rounds().max(1));
        let fits = if ascent.rounds() == 0 { f64::from(pace.rounds) } else { shared.left() / 4.0 / a_round };
        let pace = Pace { rounds: pace.rounds.min((fits as u32).max(50)), ..pace };
        ascend(&of, &mut ascent, pace, incumbent, &|| shared.over(), tell);
    }
    let priced = Priced { excess: of.excess(&ascent.prices, &of.all(), true), of: Arc::clone(&of) };
    if shared.over() {
        return;
    }
    let tree = Tree::new(of, &ascent, incumbent.cents(), &|| shared.over());
    shared.with(|shared| *shared = Some(tree));
    // The program is proved on a thread of its own: it sees all rules, and small books are small for it.
    let program = std::thread::Builder::new().name("program".to_owned()).spawn({
        let (shop, incumbent, shared, tell) = (shop.clone(), Arc::clone(incumbent), Arc::clone(shared), tell.clone());
        move || prover::prove(&shop, &incumbent, &shared, &priced, &tell)
    });
    let mut told = i64::MIN;
    while !shared.over() {
        let worked = shared.work(shop, incumbent, &|| false, tell);
        if let Some(bound) = shared.bound(incumbent).filter(|bound| *bound > told) {
            told = bound;
            if tell.send(Told::Bound(bound)).is_err() {
                break;
            }
        }
        if !worked {
            break;
        }
    }
    if let Ok(program) = program {
        let _ = program.join();
    }
    let _ = tell.send(Told::Done);
}

/// Seconds that the program has for a part that cannot be divided.
const SECONDS_FOR_A_PART: f64 = 20.0;
/// Rounds and paces for all plans. What a job left out costs says how far prices may have to go.
fn paces(shop: &Shop) -> [Pace; 2] {
    let dearest = shop.jobs.iter().map(|job| job.left_out.0).max().unwrap_or(0) as f64;
    let first = Pace { rounds: 300, first: (dearest / 100.0).clamp(300.0, 10_000.0), last: 10.0 };
    [first, Pace { rounds: 2500, first: 300.0, last: 0.5 }]
}

fn ascend(
    of: &Relaxation,
    ascent: &mut Ascent,
    pace: Pace,
    incumbent: &Incumbent,
    over: &dyn Fn() -> bool,
    tell: &Sender<Told>,
) {
    let all = of.all();
    let mut told = ascent.bound;
    for round in 1..=pace.rounds {
        ascent.step(of, &all, pace.at(round));
        let last = round == pace.rounds || over();
        if ascent.bound > told * 1.005 || (last && ascent.bound > told) {
            told = ascent.bound;
            let _ = tell.send(Told::Bound(whole(told, incumbent.cents())));
        }
        if last || told >= incumbent.cents() as f64 {
            return;
        }
    }
}

/// The bound of so many rounds of prices for all plans, in cents.
pub(super) fn bound(shop: &Shop, rounds: u32) -> i64 {
    let of = Relaxation::new(shop);
    let mut ascent = Ascent::new(&of, None);
    for pace in paces(shop) {
        for round in 1..=rounds.min(pace.rounds) {
            ascent.step(&of, &of.all(), Pace { rounds: rounds.min(pace.rounds), ..pace }.at(round));
        }
    }
    ascent.bound.ceil() as i64
}

/// The same by a budget of the search's rounds: as many rounds of prices, and a part for a hundred of them.
pub(super) fn by_rounds(
    shop: &Shop,
    incumbent: &Incumbent,
    rounds: u64,
    over: &dyn Fn() -> bool,
    tell: &Sender<Told>,
) -> Priced {
    let of = Arc::new(Relaxation::new(shop));
    let mut ascent = Ascent::new(&of, None);
    for pace in paces(shop) {
        let rounds = pace.rounds.min(rounds as u32);
        ascend(&of, &mut ascent, Pace { rounds, ..pace }, incumbent, over, tell);
    }
    let mut tree = Tree::new(Arc::clone(&of), &ascent, incumbent.cents(), over);
    for _ in 0..rounds / 100 {
        let Some(part) = tree.take(incumbent.cents()).filter(|_| !over()) else { break };
        let (of, facts) = tree.tools();
        let bound = part.bound();
        let parts = Worker { of: &of, facts: &facts, cents: incumbent.cents(), over }.divide(part);
        tree.give(bound, parts);
    }
    let _ = tell.send(Told::Bound(whole(tree.bound(), incumbent.cents())));
    Priced { excess: of.excess(&ascent.prices, &of.all(), true), of }
}
