//! What the threads of a proof share.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, OnceLock, PoisonError};
use std::time::Instant;

use yardless_plan::Draft;
use yardless_plan::shop::Shop;

use super::branch_and_bound::Brancher;
use super::encode::{Encoding, within_size};
use super::nodes::OpenNodes;
use crate::context::Context;
use crate::incumbent::Cutoff;
use crate::model::Hints;

/// A proof under way.
pub(crate) struct SharedProof {
    pub(super) shop: Shop,
    pub(super) context: Context,
    /// A plan that holds, and its cost: a program that forbids it proves nothing.
    known: Option<(Draft, i64)>,
    /// What a plan must cost less than.
    pub(crate) cutoff: Cutoff,
    /// None where the budget is of work.
    deadline: Option<Instant>,
    stopped: AtomicBool,
    nodes: OnceLock<Mutex<OpenNodes>>,
    encoding: OnceLock<Option<Encoding>>,
}

impl SharedProof {
    /// The proof that no plan of the shop costs less than the one known, if one is.
    pub(crate) fn new(shop: &Shop, context: Context, known: Option<(Draft, i64)>, cutoff: Cutoff) -> Self {
        Self {
            shop: shop.clone(),
            context,
            known,
            cutoff,
            deadline: None,
            stopped: AtomicBool::new(false),
            nodes: OnceLock::new(),
            encoding: OnceLock::new(),
        }
    }

    /// The same, to end by a time.
    pub(crate) fn until(self, deadline: Instant) -> Self {
        Self { deadline: Some(deadline), ..self }
    }

    /// Nobody needs the proof any more.
    pub(crate) fn stop(&self) {
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

    /// Where the tree begins.
    pub(super) fn begin_with(&self, root: OpenNodes) {
        let _ = self.nodes.set(Mutex::new(root));
    }

    /// Looks at the open nodes, or changes them; `None` where the tree has not begun.
    pub(super) fn with<T>(&self, change: impl FnOnce(&mut OpenNodes) -> T) -> Option<T> {
        let nodes = self.nodes.get()?;
        Some(change(&mut nodes.lock().unwrap_or_else(PoisonError::into_inner)))
    }

    /// Divides the node with the least bound: what plans in its children may look like; `None` where there is no node.
    pub(crate) fn branch(&self, over: &dyn Fn() -> bool) -> Option<Vec<Hints>> {
        let cents = self.cutoff.cents();
        let (node, (of, facts)) = self.with(|nodes| Some((nodes.take(cents)?, nodes.relaxation())))??;
        let over = || over() || self.over();
        let bound = node.bound;
        let children = Brancher { of: &of, facts: &facts, cents, over: &over }.branch(node);
        let hints = children.iter().map(|child| child.hints.clone()).collect();
        self.with(|nodes| nodes.replace(bound, children));
        Some(hints)
    }

    /// The program, written when it is first asked for; none where it is too large.
    pub(super) fn encoding(&self) -> Option<&Encoding> {
        let written = || {
            let encoding = within_size(&self.shop, &self.context)?;
            let allowed = self.known.as_ref().is_none_or(|(draft, cents)| encoding.allows(&self.shop, draft, *cents));
            allowed.then_some(encoding)
        };
        self.encoding.get_or_init(written).as_ref()
    }

    /// No plan costs less, in cents, as far as the nodes tell.
    pub(super) fn bound(&self) -> Option<i64> {
        self.with(|nodes| whole(nodes.bound(), self.cutoff.cents()))
    }
}

/// A bound in whole cents: prices add up without error, and what a plan costs is whole.
pub(super) fn whole(bound: f64, cents: i64) -> i64 {
    if bound >= cents as f64 { cents } else { bound.ceil() as i64 }
}
