//! The proof beside the search: relaxation, columns fixed by their reduced costs, then the whole program.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::mpsc::Sender;
use std::time::Instant;

use super::adapter::{Answer, Asked, solve};
use crate::encode::{Encoding, Program, encode};
use crate::plan::Draft;
use crate::shop::Shop;

/// What the best plan costs that anyone has found.
#[derive(Debug)]
pub(super) struct Incumbent(AtomicI64);

impl Incumbent {
    /// A first plan's cost.
    pub(super) fn new(cents: i64) -> Self {
        Self(AtomicI64::new(cents))
    }
    /// In cents.
    pub(super) fn cents(&self) -> i64 {
        self.0.load(Ordering::Relaxed)
    }
    /// A plan that may be better.
    pub(super) fn lower(&self, cents: i64) {
        self.0.fetch_min(cents, Ordering::Relaxed);
    }
}

/// What the prover tells.
#[derive(Debug)]
pub(super) enum Told {
    /// No plan costs less, in cents.
    Bound(i64),
    /// A plan.
    Plan(Draft),
    /// It has nothing more to do.
    Done,
}

/// Columns above which the program is a relaxation with merged places, and above which there is none.
const MOST_HAUL_COLUMNS: usize = 40_000;
const MOST_COLUMNS: usize = 400_000;

/// The program of a shop: exact where that is small enough.
pub(super) fn program_of(shop: &Shop) -> Option<Encoding> {
    let works = shop.works.iter().filter(|works| **works).count();
    // Pools have at most as many places as the shop: an upper estimate of the haul columns.
    let hauls = shop.units.len() * shop.places.len() * shop.places.len() * works * 3 / 2;
    let runs: usize =
        shop.steps.ids().map(|step| shop.choices(step).map(|(_, _, runs)| runs.iter().count()).sum::<usize>()).sum();
    if runs > MOST_COLUMNS {
        return None;
    }
    let encoding = if hauls <= 4 * MOST_HAUL_COLUMNS { encode(shop, false) } else { None };
    let encoding = match encoding {
        Some(exact) if exact.haul_columns() <= MOST_HAUL_COLUMNS => Some(exact),
        _ => encode(shop, true),
    };
    encoding.filter(|encoding| encoding.program.columns() <= MOST_COLUMNS)
}

/// Proves until it is done, or until `deadline`; in slices, each from the best plan known by then.
pub(super) fn prove(shop: &Shop, incumbent: &Arc<Incumbent>, deadline: Instant, tell: &Sender<Told>) {
    let left = || deadline.saturating_duration_since(Instant::now()).as_secs_f64();
    if let Some(encoding) = program_of(shop) {
        let mut slice = FIRST_SLICE;
        let mut proof = Proof::new(&encoding);
        proof.relax(Some(left()), tell);
        while !proof.closed(incumbent) && left() > 0.05 && !tell_is_closed(tell) {
            // A last slice is not cut short by another that would be shorter still.
            let seconds = if left() < 2.5 * slice { left() } else { slice };
            proof.slice(shop, incumbent, Asked { seconds: Some(seconds), ..Asked::default() }, tell);
            slice *= 3.0;
        }
    }
    let _ = tell.send(Told::Done);
}

/// Seconds of the first slice; each further one is three times as long, so that little is done twice.
const FIRST_SLICE: f64 = 3.0;

fn tell_is_closed(tell: &Sender<Told>) -> bool {
    // Nobody listens any more: the search was cancelled.
    tell.send(Told::Bound(i64::MIN)).is_err()
}

/// What has been proven so far.
pub(super) struct Proof<'e> {
    encoding: &'e Encoding,
    bound: Option<i64>,
    reduced_costs: Vec<f64>,
    relaxed_bound: f64,
}

impl<'e> Proof<'e> {
    pub(super) fn new(encoding: &'e Encoding) -> Self {
        Self { encoding, bound: None, reduced_costs: Vec::new(), relaxed_bound: f64::NEG_INFINITY }
    }

    /// The linear relaxation.
    pub(super) fn relax(&mut self, seconds: Option<f64>, tell: &Sender<Told>) {
        let answer = solve(&self.encoding.program, Asked { relaxed: true, seconds, ..Asked::default() });
        if let Some(bound) = answer.bound {
            self.relaxed_bound = bound as f64 - 1.0;
            self.reduced_costs = answer.reduced_costs;
            self.raise(bound, tell);
        }
    }

    fn raise(&mut self, bound: i64, tell: &Sender<Told>) {
        if self.bound.is_none_or(|old| bound > old) {
            self.bound = Some(bound);
            let _ = tell.send(Told::Bound(bound));
        }
    }

    /// Whether bound and best plan have met.
    pub(super) fn closed(&self, incumbent: &Incumbent) -> bool {
        self.bound.is_some_and(|bound| bound >= incumbent.cents())
    }

    /// The program for a while, without the columns that no better plan can use.
    pub(super) fn slice(&mut self, shop: &Shop, incumbent: &Incumbent, asked: Asked, tell: &Sender<Told>) {
        let cents = incumbent.cents();
        let program = self.without_dear_columns(cents);
        let answer = solve(&program, Asked { below: Some(cents), ..asked });
        tracing::debug!(cents, bound = answer.bound, infeasible = answer.infeasible, "slice");
        let Answer { values, bound, infeasible, .. } = answer;
        if let Some((values, cost)) = values {
            if cost < cents && self.encoding.exact {
                if let Some(draft) = self.encoding.decode(shop, &values) {
                    let _ = tell.send(Told::Plan(draft));
                    incumbent.lower(cost);
                }
            }
        }
        // Nothing below the best plan: that one is the best of all. Columns left out could only make plans dearer.
        let bound = if infeasible { Some(cents) } else { bound };
        if let Some(bound) = bound {
            self.raise(bound.min(cents), tell);
        }
    }

    /// A column whose reduced cost lifts the relaxation's bound above the best plan is 0 in every plan that is as good:
    /// `bound + reduced cost > cost of the best plan`.
    fn without_dear_columns(&self, cents: i64) -> Program {
        let mut program = self.encoding.program.clone();
        for (i, reduced) in self.reduced_costs.iter().enumerate() {
            if program.whole[i] && self.relaxed_bound + reduced > cents as f64 + 1.0 {
                program.upper[i] = 0;
            }
        }
        program
    }
}
