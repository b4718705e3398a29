//! The nodes of the branch and bound: parts of all plans that may still hold a better one.

use std::sync::Arc;

use yardless_plan::shop::{JobId, StepId, TeamId};

use crate::dual::{Domain, Relaxation, RunFacts};
use crate::model::Hints;

/// What a node is divided by.
#[derive(Clone, Copy, Debug)]
pub(super) enum Branching {
    /// Whether the job is done.
    Job(JobId),
    /// Whether the step starts before a half-day.
    Start(StepId, usize),
    /// Whether the crew does the step.
    Team(StepId, TeamId),
}

impl Branching {
    /// Its sort, of three.
    pub(super) fn sort(self) -> usize {
        match self {
            Self::Job(_) => 0,
            Self::Start(..) => 1,
            Self::Team(..) => 2,
        }
    }
}

/// A part of all plans, with prices of its own.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub(super) domain: Domain,
    pub(super) prices: Arc<Vec<f64>>,
    /// No plan in it costs less, in cents.
    pub(super) bound: f64,
    /// What it may be divided by, the most fractional first; none where nothing is left.
    pub(super) branchings: Vec<Branching>,
    /// Whether its prices have been looked for as closely as they are.
    pub(super) fine: bool,
    /// How often the program has tried to solve it.
    pub(super) tries: u32,
    /// What its average schedule looks like: how the steps of the jobs that it mostly does are mostly done.
    pub(super) hints: Hints,
}

/// Prices kept by all nodes together, at most (8 bytes each): above, new nodes begin with those of another one.
const MOST_PRICES: usize = 40_000_000;

/// The open nodes, the one with the least bound first, so that the bound of all rises.
#[derive(Clone, Debug)]
pub(super) struct OpenNodes {
    of: Arc<Relaxation>,
    facts: Arc<Vec<RunFacts>>,
    open: Vec<Node>,
    /// Bounds of nodes under way elsewhere.
    taken: Vec<f64>,
    /// Nodes that no branching divides any more.
    leaves: Vec<Node>,
}

impl OpenNodes {
    /// The root, unless it holds no better plan.
    pub(super) fn new(of: Arc<Relaxation>, facts: Arc<Vec<RunFacts>>, root: Option<Node>) -> Self {
        Self { of, facts, open: root.into_iter().collect(), taken: Vec::new(), leaves: Vec::new() }
    }

    /// No plan costs less, in cents: none at all where nothing is left that could hold a better one.
    pub(super) fn bound(&self) -> f64 {
        let nodes = self.open.iter().chain(&self.leaves);
        nodes.map(|node| node.bound).chain(self.taken.iter().copied()).fold(f64::INFINITY, f64::min)
    }

    /// Takes the node with the least bound out, to be divided.
    pub(super) fn take(&mut self, cents: i64) -> Option<Node> {
        self.open.retain(|node| node.bound <= (cents - 1) as f64);
        let least = (0..self.open.len()).min_by(|a, b| self.open[*a].bound.total_cmp(&self.open[*b].bound))?;
        let node = self.open.swap_remove(least);
        if node.branchings.is_empty() && node.fine {
            self.leaves.push(node);
            return self.take(cents);
        }
        self.taken.push(node.bound);
        Some(node)
    }

    /// Takes the leaf with the least bound out: one that the program has not tried yet, or any.
    pub(super) fn take_leaf(&mut self, cents: i64, untried: bool) -> Option<Node> {
        self.leaves.retain(|node| node.bound <= (cents - 1) as f64);
        let may = (0..self.leaves.len()).filter(|i| !(untried && self.leaves[*i].tries > 0));
        let least = may.min_by(|a, b| self.leaves[*a].bound.total_cmp(&self.leaves[*b].bound))?;
        let node = self.leaves.swap_remove(least);
        self.taken.push(node.bound);
        Some(node)
    }

    /// Whether no node is left, here or with those who work on them.
    pub(super) fn is_done(&self) -> bool {
        self.open.is_empty() && self.leaves.is_empty() && self.taken.is_empty()
    }

    /// Puts a leaf back that holds no plan below a bound, if one was found; it may be tried again.
    pub(super) fn put_back(&mut self, mut node: Node, bound: Option<f64>) {
        self.replace(node.bound, Vec::new());
        node.bound = node.bound.max(bound.unwrap_or(node.bound));
        node.tries += 1;
        self.leaves.push(node);
    }

    /// Puts its children in place of a node that was taken out.
    pub(super) fn replace(&mut self, bound: f64, children: Vec<Node>) {
        if let Some(i) = self.taken.iter().position(|taken| taken.total_cmp(&bound).is_eq()) {
            self.taken.swap_remove(i);
        }
        let many = self.open.len() * self.of.rows() > MOST_PRICES;
        for mut node in children {
            if many && let Some(other) = self.open.first() {
                node.prices = Arc::clone(&other.prices);
            }
            self.open.push(node);
        }
    }

    /// The relaxation, and its runs.
    pub(super) fn relaxation(&self) -> (Arc<Relaxation>, Arc<Vec<RunFacts>>) {
        (Arc::clone(&self.of), Arc::clone(&self.facts))
    }
}
