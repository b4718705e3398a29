//! Reduced-cost fixing: columns that no plan cheaper than the incumbent uses are fixed at 0.

use std::collections::BTreeMap;

use yardless_plan::shop::TeamId;

use super::encode::{Col, Encoding, Program, States};
use crate::dual::{PooledHaul, ReducedCosts, Relaxation, RunFacts};

/// Fixes runs, hauls and jobs left out that lift the Lagrangian bound above any plan cheaper than the incumbent.
pub(super) fn by_prices(
    encoding: &Encoding,
    program: &mut Program,
    of: &Relaxation,
    reduced: &ReducedCosts,
    cents: i64,
) {
    let work = &reduced.work;
    let room = (cents - 1) as f64 - work.bound;
    let facts = of.facts();
    let name = |run: &RunFacts| (run.step, run.part, run.rest, run.way, run.team, run.start);
    let runs: BTreeMap<_, f64> = facts.iter().map(name).zip(work.runs.iter().copied()).collect();
    let mut never = |col: Col| program.upper[col.index()] = 0;
    for (mode, run, teams) in encoding.work() {
        let name = |team: TeamId| (mode.step, mode.part, run.rest, mode.way, team, run.start);
        if teams.iter().all(|team| runs.get(&name(*team)).is_none_or(|reduced| *reduced > room)) {
            never(run.col);
        }
    }
    for (col, units, from, to, at, evening) in encoding.hauls() {
        if of.haul_reduced_cost(reduced, PooledHaul { units, from, to, at, evening }) > room {
            never(col);
        }
    }
    for (job, reduced) in &work.left_out {
        if *reduced > room
            && let Some(col) = encoding.left_out(*job)
        {
            never(col);
        }
    }
}

/// A column whose reduced cost lifts the linear relaxation's bound above the incumbent is 0 in every plan that is as
/// good: `bound + reduced cost > cost of the incumbent`. A cent each side is left to the solver's arithmetic.
pub(super) fn by_linear_relaxation(program: &mut Program, bound: i64, reduced_costs: &[f64], cents: i64) {
    for (i, reduced) in reduced_costs.iter().enumerate() {
        if program.whole[i] && (bound - 1) as f64 + reduced > (cents + 1) as f64 {
            program.upper[i] = 0;
        }
    }
}

/// Leaves a job out, or does it.
pub(super) fn left_out(program: &mut Program, col: Col, left_out: bool) {
    if left_out {
        program.equal(States::Branch, vec![(col, 1)], 1);
    } else {
        program.upper[col.index()] = 0;
    }
}
