//! The MIP back end: hands a program to a solver behind `good_lp`, and takes a bound and values back in whole numbers.

use good_lp::{Expression, ProblemVariables, SolverModel, Variable, constraint, variable};

use super::encode::Program;

/// How to solve.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct MipRequest {
    /// Forget that columns are whole: the linear relaxation.
    pub(crate) relaxed: bool,
    /// Only solutions that cost less than this, in cents, are wanted.
    pub(crate) below: Option<i64>,
    /// Seconds at most.
    pub(crate) seconds: Option<f64>,
    /// Branching nodes at most: a budget of work that gives the same answer every time.
    pub(crate) nodes: Option<u64>,
    /// Whether to leave presolve out, see [`unreduced`](Self::unreduced).
    #[cfg(feature = "highs")]
    pub(crate) unreduced: bool,
}

impl MipRequest {
    /// Without presolve: slower on a large program, and not led astray by it (see `SUSPECT`).
    #[cfg(feature = "highs")]
    pub(crate) fn unreduced(self) -> Self {
        Self { unreduced: true, ..self }
    }

    /// The same: microlp has no presolve.
    #[cfg(not(feature = "highs"))]
    pub(crate) fn unreduced(self) -> Self {
        self
    }
}

/// What came back.
#[derive(Clone, Debug, Default)]
pub(crate) struct MipAnswer {
    /// Values of all columns that the program really allows, checked row by row in whole numbers, and their cost.
    pub(crate) values: Option<(Vec<i64>, i64)>,
    /// No solution costs less, in cents.
    pub(crate) bound: Option<i64>,
    /// The solver found that there is no solution, or none below the cost asked for.
    pub(crate) infeasible: bool,
    /// Of a relaxation: by how much the bound rises, at least, for each whole unit of a column.
    pub(crate) reduced_costs: Vec<f64>,
    /// Of a relaxation: its columns, fractions and all.
    pub(crate) fractions: Vec<f64>,
}

/// How far a solver's own floating-point bound is trusted: its tolerances are 1e-6 of values that are at most a few
/// million cents. Costs are whole, so that a bound may be rounded up to the next cent after this much is taken off.
pub(crate) fn whole_bound(bound: f64) -> Option<i64> {
    bound.is_finite().then(|| (bound - 0.01 - bound.abs() * 1e-7).ceil() as i64)
}

/// Rounds the decided columns, fills the others, and checks every row: what passes is a solution without doubt.
fn whole_values(program: &Program, values: impl Fn(usize) -> f64) -> Option<(Vec<i64>, i64)> {
    let mut whole: Vec<i64> = (0..program.columns()).map(|i| values(i).round() as i64).collect();
    program.follow(&mut whole);
    let cost = program.weigh(&whole).ok()?;
    Some((whole, cost))
}

/// The program in good_lp's words, for any of its solvers.
fn build<M: SolverModel>(
    program: &Program,
    relaxed: bool,
    using: impl FnOnce(good_lp::variable::UnsolvedProblem) -> M,
) -> (M, Vec<Variable>) {
    let mut variables = ProblemVariables::new();
    let columns: Vec<Variable> = (0..program.columns())
        .map(|i| {
            let column = variable().min(0).max(program.upper[i] as f64);
            variables.add(if program.whole[i] && !relaxed { column.integer() } else { column })
        })
        .collect();
    let mut cost = Expression::with_capacity(columns.len());
    for (column, cents) in columns.iter().zip(&program.cost) {
        if *cents != 0 {
            cost.add_mul(*cents as f64, *column);
        }
    }
    let mut model = using(variables.minimise(cost));
    for row in &program.rows {
        let mut sum = Expression::with_capacity(row.terms.len());
        for (col, factor) in &row.terms {
            sum.add_mul(*factor as f64, columns[col.index()]);
        }
        match (row.at_least, row.at_most) {
            (Some(a), Some(b)) if a == b => {
                model.add_constraint(constraint::eq(sum, a as f64));
            }
            (least, most) => {
                if let Some(most) = most {
                    model.add_constraint(constraint::leq(sum.clone(), most as f64));
                }
                if let Some(least) = least {
                    model.add_constraint(constraint::geq(sum, least as f64));
                }
            }
        }
    }
    (model, columns)
}

/// The bit of HiGHS's `presolve_rule_off` that turns probing off.
#[cfg(feature = "highs")]
const PROBING: i32 = 1 << 15;
/// The bits of the rules about dominated columns and of those that came with release 1.14 (17 to 23). With them HiGHS
/// 1.16 calls programs infeasible that a plan satisfies, as its issue 3090 reports of 1.14: a proof must not rest on that.
#[cfg(feature = "highs")]
const SUSPECT: i32 = 1 << 5 | 0b111_1111 << 17;

/// Solves with HiGHS.
#[cfg(feature = "highs")]
pub(crate) fn solve(program: &Program, asked: MipRequest) -> MipAnswer {
    use highs::{HighsModelStatus, HighsSolutionStatus};

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
#[cfg(feature = "highs")]
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

/// Solves with microlp, in pure Rust: a bound only where it finishes.
#[cfg(not(feature = "highs"))]
pub(crate) fn solve(program: &Program, asked: MipRequest) -> MipAnswer {
    use good_lp::solvers::{SolutionStatus, WithTimeLimit};
    use good_lp::{ResolutionError, Solution};

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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::encode::States;

    /// 3 a + 5 b + 4 c at least 11 with a, b, c up to 2, 1 and 2, at 400, 500 and 450 cents: 2 c + a is 11 for 1,300, and
    /// b + 2 c is 13 for 1,400; b + 2 a is 11 for 1,300 too; every other choice is under 11 or dearer. In fractions b is
    /// the best value (100 a unit), then c (112.5): b and 1.5 c are 1,175.
    fn covering() -> Program {
        let mut program = Program::default();
        let columns = [(400, 2), (500, 1), (450, 2)].map(|(cents, most)| program.decide(cents, most));
        let [a, b, c] = columns;
        program.at_most(States::Cut, vec![(a, -3), (b, -5), (c, -4)], -11);
        program
    }

    #[test]
    fn least_cost_is_found_and_proven() {
        let answer = solve(&covering(), MipRequest::default());
        assert_eq!(answer.values.map(|(_, cost)| cost), Some(1_300));
        assert!(answer.bound.is_some_and(|bound| (1_299..=1_300).contains(&bound)), "{:?}", answer.bound);
    }

    #[test]
    fn relaxation_gives_a_bound_and_no_values() {
        let answer = solve(&covering(), MipRequest { relaxed: true, ..MipRequest::default() });
        assert_eq!((answer.values, answer.bound), (None, Some(1_175)));
    }

    #[test]
    fn nothing_is_found_below_the_least_cost_or_where_no_choice_is_allowed() {
        let below = |cents| solve(&covering(), MipRequest { below: Some(cents), ..MipRequest::default() });
        // Either it says so, or it proves that what there is costs no less.
        let none = below(1_300);
        assert!(none.infeasible || none.bound == Some(1_300), "{none:?}");
        assert_eq!(below(1_301).values.map(|(_, cost)| cost), Some(1_300));
        let mut program = covering();
        program.upper = vec![1, 0, 1];
        assert!(solve(&program, MipRequest::default()).infeasible);
    }
}
