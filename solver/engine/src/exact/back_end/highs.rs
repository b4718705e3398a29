//! HiGHS, in C++: what the full program solves with.

use highs::{HighsModelStatus, HighsSolutionStatus};

use super::good_lp_model::build;
use super::{MipAnswer, MipRequest, whole_bound, whole_values};
use crate::exact::encode::Program;

/// The bit of HiGHS's `presolve_rule_off` that turns probing off.
const PROBING: i32 = 1 << 15;
/// The bits of the rules about dominated columns and of those that came with release 1.14 (17 to 23). With them HiGHS
/// 1.16 calls programs infeasible that a plan satisfies, as its issue 3090 reports of 1.14: a proof must not rest on that.
const SUSPECT: i32 = 1 << 5 | 0b111_1111 << 17;

/// Solves with HiGHS.
pub(crate) fn solve(program: &Program, asked: MipRequest) -> MipAnswer {
    let (problem, _) = build(program, asked.relaxed, good_lp::solvers::highs::highs);
    let Ok(mut model) = problem.try_into_inner() else { return MipAnswer::default() };
    if !set_options(&mut model, program, asked) {
        tracing::warn!("the solver refused an option");
    }
    let Ok(solved) = model.try_solve() else { return MipAnswer::default() };
    let status = solved.status();
    tracing::debug!(?status, "solver stopped");
    let constant = program.constant;
    let bound = match (asked.relaxed, status) {
        (true, HighsModelStatus::Optimal) => whole_bound(solved.objective_value()),
        (true, _) => None,
        (false, _) => solved.double_info_value(c"mip_dual_bound").ok().and_then(whole_bound),
    };
    let held = solved.primal_solution_status() == HighsSolutionStatus::Feasible && !asked.relaxed;
    let solution = solved.get_solution();
    let values = held.then(|| whole_values(program, |i| solution.columns()[i])).flatten();
    let bound = bound.map(|bound| bound + constant);
    MipAnswer {
        values,
        bound,
        infeasible: matches!(status, HighsModelStatus::Infeasible | HighsModelStatus::ObjectiveBound),
        reduced_costs: if asked.relaxed { solution.dual_columns().to_vec() } else { Vec::new() },
        fractions: if asked.relaxed { solution.columns().to_vec() } else { Vec::new() },
    }
}

/// Whether it took all options.
fn set_options(model: &mut highs::Model, program: &Program, asked: MipRequest) -> bool {
    let mut ready = vec![
        // One core is the engine's, the other the search's; and one thread gives the same answer every time.
        model.try_set_option("threads", 1),
        model.try_set_option("parallel", "off"),
        model.try_set_option("output_flag", false),
        // Costs are whole cents: less than one cent between plan and bound is proof.
        model.try_set_option("mip_rel_gap", 0.0),
        model.try_set_option("mip_abs_gap", 0.9),
        // Probing took 9 of 12 seconds on an 8-job book and fixed next to nothing.
        model.try_set_option("presolve_rule_off", PROBING | SUSPECT),
        // The search finds the plans; the solver is there to prove.
        model.try_set_option("mip_heuristic_effort", 0.02),
        // Restarts solved the same root five times over: 22 s against 2 s on a 6-job book.
        model.try_set_option("mip_allow_restart", false),
    ];

    if asked.unreduced {
        ready.push(model.try_set_option("presolve", "off"));
    }
    if let Some(seconds) = asked.seconds {
        ready.push(model.try_set_option("time_limit", seconds.max(0.01)));
    }
    if let Some(nodes) = asked.nodes {
        ready.push(model.try_set_option("mip_max_nodes", nodes.min(i32::MAX as u64) as i32));
    }
    if let Some(below) = asked.below {
        // No start is handed over instead: with one, HiGHS 1.16 loses the cost of columns that presolve has fixed.
        ready.push(model.try_set_option("objective_bound", (below - program.constant) as f64 - 0.5));
    }
    ready.iter().all(Result::is_ok)
}
