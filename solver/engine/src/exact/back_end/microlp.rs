//! microlp, in plain Rust: what the program without HiGHS solves with.

use good_lp::solvers::{SolutionStatus, WithTimeLimit};
use good_lp::{Expression, ResolutionError, Solution, SolverModel, constraint};

use super::good_lp_model::build;
use super::{MipAnswer, MipRequest, whole_bound, whole_values};
use crate::exact::encode::Program;

/// Solves the program: a bound only where it finishes.
pub(crate) fn solve(program: &Program, asked: MipRequest) -> MipAnswer {
    if asked.nodes.is_some() {
        return MipAnswer::default(); // it has no budget of work to be held to
    }
    let (mut model, columns) = build(program, asked.relaxed, good_lp::solvers::microlp::microlp);
    if let Some(seconds) = asked.seconds {
        model = model.with_time_limit(seconds);
    }
    if let Some(below) = asked.below {
        let mut cost = Expression::with_capacity(columns.len());
        for (column, cents) in columns.iter().zip(&program.cost) {
            cost.add_mul(*cents as f64, *column);
        }
        model.add_constraint(constraint::leq(cost, (below - program.constant) as f64 - 0.5));
    }
    match model.solve() {
        Ok(solution) => {
            let values = (!asked.relaxed).then(|| whole_values(program, |i| solution.value(columns[i]))).flatten();
            let finished = matches!(solution.status(), SolutionStatus::Optimal);
            let objective: f64 = columns.iter().zip(&program.cost).map(|(c, n)| solution.value(*c) * *n as f64).sum();
            let bound = finished.then(|| whole_bound(objective)).flatten().map(|bound| bound + program.constant);
            MipAnswer { values, bound, ..MipAnswer::default() }
        }
        Err(ResolutionError::Infeasible) => MipAnswer { infeasible: true, ..MipAnswer::default() },
        Err(_) => MipAnswer::default(),
    }
}
