//! The MIP back end: hands a program to a solver behind `good_lp`, and takes a bound and values back in whole numbers.

mod good_lp_model;
#[cfg(feature = "highs")]
mod highs;
// The tests try both solvers wherever they are built.
#[cfg(any(test, not(feature = "highs")))]
mod microlp;

#[cfg(feature = "highs")]
pub(crate) use self::highs::solve;
#[cfg(not(feature = "highs"))]
pub(crate) use self::microlp::solve;

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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::encode::States;

    type Solve = fn(&Program, MipRequest) -> MipAnswer;

    /// The solvers that this build has.
    const SOLVERS: &[Solve] = &[
        #[cfg(feature = "highs")]
        highs::solve,
        microlp::solve,
    ];

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
        for solve in SOLVERS {
            let answer = solve(&covering(), MipRequest::default());
            assert_eq!(answer.values.map(|(_, cost)| cost), Some(1_300));
            assert!(answer.bound.is_some_and(|bound| (1_299..=1_300).contains(&bound)), "{:?}", answer.bound);
        }
    }

    #[test]
    fn relaxation_gives_a_bound_and_no_values() {
        for solve in SOLVERS {
            let answer = solve(&covering(), MipRequest { relaxed: true, ..MipRequest::default() });
            assert_eq!((answer.values, answer.bound), (None, Some(1_175)));
        }
    }

    #[test]
    fn nothing_is_found_below_the_least_cost_or_where_no_choice_is_allowed() {
        for solve in SOLVERS {
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
}
