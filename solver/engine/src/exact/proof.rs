//! The course of a proof: prices for all plans, then branch and bound at prices of each node's own; beside it, where the
//! program is small enough, the whole program.

use std::sync::Arc;
use std::sync::mpsc::Sender;
use std::time::{Duration, Instant};

use super::back_end::MipRequest;
use super::branch_and_bound::root;
use super::mip::{self, MipProof};
use super::shared::{SharedProof, whole};
use crate::dual::{Ascent, Pace, Relaxation, RootBound, ascend_for_all};
use crate::effort::Effort;
use crate::incumbent::{Cutoff, News};

/// Starts the proof on a thread of its own, which ends by itself soon after it is stopped.
pub(crate) fn start(shared: &Arc<SharedProof>, tell: Sender<News>) {
    let shared = Arc::clone(shared);
    let started = std::thread::Builder::new().name("proof".to_owned()).spawn(move || prove(&shared, &tell));
    if let Err(error) = started {
        tracing::warn!(%error, "no thread for the proof: the search goes on alone");
    }
}

/// Proves until it is done or told to stop.
fn prove(shared: &Arc<SharedProof>, tell: &Sender<News>) {
    let of = Arc::new(Relaxation::new(&shared.shop, &shared.context));
    let began = Instant::now();
    let rounds = |pace: Pace, ascent: &Ascent| match ascent.rounds() {
        0 => pace.rounds,
        // A large book has time for fewer rounds.
        made => {
            pace.rounds.min(((shared.left() / 4.0 / began.elapsed().as_secs_f64() * f64::from(made)) as u32).max(50))
        }
    };
    let ascent = ascend_for_all(&shared.shop, &of, rounds, &mut telling(&shared.cutoff, &|| shared.over(), tell));
    if shared.over() {
        return;
    }
    let bound = RootBound { reduced_costs: of.reduced_costs(&ascent.prices, &of.all()), of: Arc::clone(&of) };
    shared.begin_with(root(of, &ascent, shared.cutoff.cents(), &|| shared.over()));
    branch_and_bound(shared, bound, tell);
}

/// Divides nodes and solves leaves until none is left. The program sees all rules, and small books are small for it:
/// where the nodes do not end soon, it is proved on a thread of its own.
fn branch_and_bound(shared: &Arc<SharedProof>, bound: RootBound, tell: &Sender<News>) {
    let effort = Effort::begin();
    let mut program = Some({
        let (shared, tell) = (Arc::clone(shared), tell.clone());
        move || mip::prove(&shared, &bound, &tell)
    });
    let mut told = i64::MIN;
    while !shared.over() {
        if effort.worked() > NODES_ALONE
            && let Some(program) = program.take()
            && let Err(error) = std::thread::Builder::new().name("program".to_owned()).spawn(program)
        {
            tracing::warn!(%error, "no thread for the program: the nodes go on alone");
        }
        if !work_on(shared, &effort, tell) {
            break;
        }
        if let Some(bound) = shared.bound().filter(|bound| *bound > told) {
            told = bound;
            let _ = tell.send(News::Bound(bound));
        }
    }
    if let Some(program) = program.filter(|_| told < shared.cutoff.cents() && !shared.over()) {
        program();
    }
}

/// Divides or solves one node; `false` where none is left.
fn work_on(shared: &SharedProof, effort: &Effort, tell: &Sender<News>) -> bool {
    // A leaf came up because its bound is the least; most are solved in a tenth of a second.
    if solve_leaf(shared, true, effort, tell) {
        return true;
    }
    if let Some(children) = shared.branch(&|| false) {
        for hints in children {
            let _ = tell.send(News::Hints(hints));
        }
        return true;
    }
    if !solve_leaf(shared, false, effort, tell) {
        if shared.with(|nodes| nodes.is_done()) != Some(false) {
            return false;
        }
        // The last nodes are with the search.
        std::thread::sleep(Duration::from_millis(1));
    }
    true
}

/// Has the program solve a leaf, briefly the first time: whether there was one.
fn solve_leaf(shared: &SharedProof, brief: bool, effort: &Effort, tell: &Sender<News>) -> bool {
    let cents = shared.cutoff.cents();
    let taken = shared.with(|nodes| Some((nodes.take_leaf(cents, brief)?, nodes.relaxation().0)));
    let Some((node, of)) = taken.flatten() else { return false };
    let work = if brief { BRIEFLY } else { FOR_A_LEAF * 2_u32.saturating_pow(node.tries.saturating_sub(1)) };
    let seconds = shared.left().min(effort.by_clock(work).as_secs_f64());
    let bound = mip::solve_leaf(shared, &of, &node, seconds, tell);
    shared.with(|nodes| nodes.put_back(node, bound));
    true
}

/// The work for which the nodes have the proof's core to themselves.
const NODES_ALONE: Duration = Duration::from_secs(3);
/// The work that the program has for a leaf: at first, and where nothing else is left to do, then twice as much each
/// time.
const BRIEFLY: Duration = Duration::from_secs(1);
const FOR_A_LEAF: Duration = Duration::from_secs(20);

/// Tells a bound each time that it has risen by half a percent; goes on until it is over or the incumbent is met.
fn telling<'t>(cutoff: &'t Cutoff, over: &'t dyn Fn() -> bool, tell: &'t Sender<News>) -> impl FnMut(f64) -> bool + 't {
    let mut told = f64::NEG_INFINITY;
    move |bound| {
        let cents = cutoff.cents();
        if bound > told * 1.005 || bound >= cents as f64 {
            told = bound;
            let _ = tell.send(News::Bound(whole(bound, cents)));
        }
        bound < cents as f64 && !over()
    }
}

/// Rounds of the search that are worth about one node; a smaller budget is for the search alone.
pub(crate) const STEPS_A_NODE: u64 = 100;
/// The back end's first node has no budget of its own: above so many columns only the relaxation is solved.
pub(crate) const MOST_COLUMNS_BY_STEPS: usize = 12_000;

/// A proof by a budget of the search's rounds, always the same: as many rounds of the ascent at each pace, a node for a
/// hundred of them, and so many of the back end's.
pub(crate) fn by_rounds(shared: &SharedProof, rounds: u64, over: &dyn Fn() -> bool, tell: &Sender<News>) {
    let of = Arc::new(Relaxation::new(&shared.shop, &shared.context));
    let most = |pace: Pace, _: &Ascent| u64::from(pace.rounds).min(rounds) as u32;
    let ascent = ascend_for_all(&shared.shop, &of, most, &mut telling(&shared.cutoff, over, tell));
    shared.begin_with(root(Arc::clone(&of), &ascent, shared.cutoff.cents(), over));
    for _ in 0..rounds / STEPS_A_NODE {
        if over() || shared.branch(over).is_none() {
            break;
        }
    }
    let _ = tell.send(News::Bound(shared.bound().unwrap_or(i64::MIN)));
    let bound = RootBound { reduced_costs: of.reduced_costs(&ascent.prices, &of.all()), of };
    program_by_nodes(shared, &bound, rounds / STEPS_A_NODE, over, tell);
}

/// The whole program by so many of the back end's nodes.
fn program_by_nodes(
    shared: &SharedProof,
    bound: &RootBound,
    mut nodes: u64,
    over: &dyn Fn() -> bool,
    tell: &Sender<News>,
) {
    let Some(encoding) = shared.encoding().filter(|_| !over()) else { return };
    let mut proof = MipProof::new(&shared.shop, encoding, bound);
    proof.begin(None, &shared.cutoff, tell);
    if encoding.program.columns() > MOST_COLUMNS_BY_STEPS {
        return;
    }
    while nodes > 0
        && !over()
        && let Some(branch) = proof.next(&shared.cutoff)
    {
        // A round for each branch in turn, a third of what is left at a time.
        let share = nodes.div_ceil(3);
        nodes -= share;
        proof.go_on(&shared.cutoff, branch, MipRequest { nodes: Some(share), ..MipRequest::default() }, tell);
    }
}
