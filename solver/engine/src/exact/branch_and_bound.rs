//! Branch and bound on the Lagrangian relaxation: divides all plans by what jobs do when, as long as the bound leaves
//! room for a better one.
//!
//! Each node has prices of its own, which begin with those of its parent. What no better plan can use is fixed in it by
//! reduced costs ([`crate::dual`]). A node is divided by what its average schedule leaves most open: whether a job is
//! done, whether a step starts before a half-day, whether a crew does it; the best of a few such branchings is found by
//! a short ascent in both children of each (*strong branching*).

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use yardless_plan::shop::{JobId, StepId, TeamId};

use super::nodes::{Branching, Node, OpenNodes};
use crate::dual::{Ascent, JobDomain, Pace, Relaxation, RunFacts};
use crate::model::{Hint, Hints};

/// Rounds of an ascent within a node. Its paces go by what is at stake, the room that the node leaves for a better plan: 4
/// % of it, within narrow bounds; large prices move faster ([`Ascent`]). `docs/record-2026-11.md` has the trials ("Which
/// pace within a part?").
#[derive(Clone, Copy, Debug)]
struct AscentLength {
    rounds: u32,
    /// The last pace as a share of the first.
    slows_to: f64,
}

impl AscentLength {
    fn pace(self, room: f64) -> Pace {
        let first = (0.04 * room).clamp(SLOWEST, FASTEST);
        Pace { rounds: self.rounds, first, last: first * self.slows_to }
    }
}

/// Of a new node.
const EVALUATE: AscentLength = AscentLength { rounds: 60, slows_to: 0.3 };
/// Of a node that no branching divides.
const EVALUATE_FINELY: AscentLength = AscentLength { rounds: 400, slows_to: 0.05 };
/// Of a child in strong branching.
const PROBE: AscentLength = AscentLength { rounds: 25, slows_to: 0.8 };
/// First paces, cents.
const SLOWEST: f64 = 5.0;
const FASTEST: f64 = 20.0;
/// Branchings probed before one is taken, and one, of each sort.
const PROBED: [usize; 3] = [2, 2, 2];

/// Divides nodes.
pub(super) struct Brancher<'w> {
    pub(super) of: &'w Relaxation,
    pub(super) facts: &'w [RunFacts],
    /// The cost of the best plan.
    pub(super) cents: i64,
    /// Whether to stop at once.
    pub(super) over: &'w dyn Fn() -> bool,
}

/// All plans, at some prices, as a tree's root.
pub(super) fn root(of: Arc<Relaxation>, ascent: &Ascent, cents: i64, over: &dyn Fn() -> bool) -> OpenNodes {
    let facts = Arc::new(of.facts());
    let root = Node {
        domain: of.all(),
        prices: Arc::new(ascent.prices.clone()),
        bound: ascent.bound,
        branchings: Vec::new(),
        fine: false,
        tries: 0,
        hints: Hints::new(),
    };
    let root = Brancher { of: &of, facts: &facts, cents, over }.evaluate(root, EVALUATE);
    OpenNodes::new(of, facts, root)
}

/// How often an average schedule has each step start when, and by which crew; and the first step of each job in it.
#[derive(Default)]
struct Average {
    starts: BTreeMap<StepId, BTreeMap<usize, f64>>,
    teams: BTreeMap<(StepId, TeamId), f64>,
    first: BTreeMap<JobId, StepId>,
}

impl Average {
    fn new(facts: &[RunFacts], shares: &[f64]) -> Self {
        let mut average = Self::default();
        for (facts, share) in facts.iter().zip(shares).filter(starts_by).filter(|(_, share)| **share > 0.0) {
            *average.starts.entry(facts.step).or_default().entry(facts.start).or_default() += share;
            *average.teams.entry((facts.step, facts.team)).or_default() += share;
            average.first.entry(facts.job).or_insert(facts.step);
        }
        average
    }

    /// How often the step is done.
    fn whole(&self, step: StepId) -> f64 {
        self.starts[&step].values().sum()
    }

    /// The mean of its starts.
    fn mean(&self, step: StepId) -> f64 {
        self.starts[&step].iter().map(|(start, share)| *start as f64 * share).sum::<f64>() / self.whole(step)
    }
}

/// A second span starts whenever it may after the first (W10).
fn starts_by((facts, _): &(&RunFacts, &f64)) -> bool {
    facts.part.starts()
}

impl Brancher<'_> {
    /// The children of a node; the node itself where there was no time.
    pub(super) fn branch(&self, node: Node) -> Vec<Node> {
        if node.branchings.is_empty() {
            return self.evaluate(Node { fine: true, ..node }, EVALUATE_FINELY).into_iter().collect();
        }
        let Some(children) = self.strong_branching(&node) else { return vec![node] };
        let children = children.into_iter().filter_map(|child| self.evaluate(child, EVALUATE)).collect();
        if (self.over)() { vec![node] } else { children }
    }

    /// The children of the branching that lifts the bound most, both of them, those apart that hold no better plan.
    /// `None`: there was no time.
    fn strong_branching(&self, node: &Node) -> Option<Vec<Node>> {
        let most = self.cents as f64 - node.bound;
        let mut best: Option<(f64, Vec<Node>)> = None;
        for branching in &node.branchings {
            let (mut gain, mut children) = (1.0, Vec::new());
            for yes in [true, false] {
                let mut child = self.child(node, *branching, yes);
                child.bound = f64::NEG_INFINITY;
                let may_be_better = self.ascend(&mut child, PROBE.pace(most), None).is_some();
                let rise = if may_be_better { child.bound - node.bound } else { most };
                gain *= rise.clamp(0.01, most.max(0.01));
                child.bound = child.bound.max(node.bound);
                children.extend(may_be_better.then_some(child));
            }
            if (self.over)() {
                return None;
            }
            if best.as_ref().is_none_or(|(least, _)| gain > *least) {
                best = Some((gain, children));
            }
        }
        best.map(|(_, children)| children)
    }

    /// One child of a node.
    fn child(&self, node: &Node, branching: Branching, yes: bool) -> Node {
        let mut child = node.clone();
        let mut keep = |step: StepId, keeps: &dyn Fn(&RunFacts) -> bool| {
            for (may, facts) in child.domain.runs.iter_mut().zip(self.facts) {
                *may &= facts.step != step || keeps(facts) == yes;
            }
        };
        match branching {
            Branching::Job(job) => {
                child.domain.jobs.insert(job, if yes { JobDomain::Do } else { JobDomain::LeaveOut });
            }
            // A second span starts whenever it may after the first (W10).
            Branching::Start(step, start) => keep(step, &|facts| {
                if facts.part.starts() { facts.start < start } else { yes }
            }),
            Branching::Team(step, team) => keep(step, &|facts| facts.team == team),
        }
        child
    }

    /// Better prices for a node, and what no better plan uses fixed in it. `None`: no better plan is in it.
    fn evaluate(&self, mut node: Node, length: AscentLength) -> Option<Node> {
        let mut shares = vec![0.0; self.facts.len()];
        let pace = length.pace(self.cents as f64 - node.bound);
        self.ascend(&mut node, pace, Some(&mut shares))?;
        let reduced = self.of.work_reduced_costs(&node.prices, &node.domain);
        let room = self.cents as f64 - 1.0 - reduced.bound;
        for (may, reduced) in node.domain.runs.iter_mut().zip(&reduced.runs) {
            *may &= *reduced <= room;
        }
        for (job, reduced) in &reduced.left_out {
            if *reduced > room && node.domain.of_job(*job) == JobDomain::Any {
                node.domain.jobs.insert(*job, JobDomain::Do);
            }
        }
        let average = Average::new(self.facts, &shares);
        node.branchings = self.branchings(&node, &average);
        node.hints = self.hints(&average, &shares);
        Some(node)
    }

    /// Steps up; counts how often each run is chosen in the second half. `None`: the bound has passed the best plan.
    fn ascend(&self, node: &mut Node, pace: Pace, mut shares: Option<&mut Vec<f64>>) -> Option<()> {
        let mut ascent = Ascent::new(self.of, Some(&node.prices));
        let within = self.of.within(&node.domain);
        for round in 1..=pace.rounds {
            let solved = ascent.step(&within, pace.at(round));
            if solved.bound > (self.cents - 1) as f64 {
                return None;
            }
            if let Some(shares) = &mut shares
                && 2 * round > pace.rounds
            {
                for run in solved.chosen {
                    shares[run] += 2.0 / f64::from(pace.rounds);
                }
            }
            if (self.over)() {
                break;
            }
        }
        node.bound = node.bound.max(ascent.bound);
        node.prices = Arc::new(ascent.prices);
        Some(())
    }

    /// What the average schedule leaves open.
    fn branchings(&self, node: &Node, average: &Average) -> Vec<Branching> {
        let mut branchings: Vec<(f64, Branching)> = Vec::new();
        let open = if node.fine { 0.001 } else { 0.02 };
        for job in self.of.jobs().filter(|job| node.domain.of_job(*job) == JobDomain::Any) {
            let share = average.first.get(&job).map_or(0.0, |step| average.whole(*step));
            if (open..1.0 - open).contains(&share) {
                branchings.push((100.0 * share.min(1.0 - share), Branching::Job(job)));
            }
        }
        for (step, by_start) in &average.starts {
            let mean = average.mean(*step);
            let spread: f64 = by_start.iter().map(|(start, share)| (*start as f64 - mean).abs() * share).sum();
            if spread > open {
                branchings.push((spread, Branching::Start(*step, mean.floor() as usize + 1)));
            }
        }
        for ((step, team), share) in &average.teams {
            let share = share / average.whole(*step);
            if (open..1.0 - open).contains(&share) {
                branchings.push((10.0 * share.min(1.0 - share), Branching::Team(*step, *team)));
            }
        }
        branchings.sort_by(|a, b| b.0.total_cmp(&a.0));
        // Some of each sort: how open one is says little about what it changes.
        let mut left = PROBED;
        branchings.retain(|(_, branching)| {
            let left = &mut left[branching.sort()];
            *left = left.saturating_sub(1);
            *left > 0
        });
        branchings.into_iter().map(|(_, branching)| branching).collect()
    }

    /// How the steps of the jobs that the average schedule mostly does are mostly done in it.
    fn hints(&self, average: &Average, shares: &[f64]) -> Hints {
        let mostly_done = average.first.iter().filter(|(_, step)| average.whole(**step) > 0.5);
        let jobs: BTreeSet<JobId> = mostly_done.map(|(job, _)| *job).collect();
        let mut mostly: BTreeMap<StepId, (f64, Hint)> = BTreeMap::new();
        let drawn = self.facts.iter().zip(shares).filter(starts_by);
        for (facts, share) in drawn.filter(|(facts, _)| jobs.contains(&facts.job)) {
            let hint = (*share, Hint { way: facts.way, team: facts.team, start: facts.start });
            let most = mostly.entry(facts.step).or_insert(hint);
            if *share > most.0 {
                *most = hint;
            }
        }
        mostly.into_iter().map(|(step, (_, hint))| (step, hint)).collect()
    }
}
