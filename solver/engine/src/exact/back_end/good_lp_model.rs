//! The program in good_lp's words, for any of its solvers.

use good_lp::{Expression, ProblemVariables, SolverModel, Variable, constraint, variable};

use crate::exact::encode::Program;

/// The model that `using` makes of the program, relaxed or whole, and its variable for each column.
pub(super) fn build<M: SolverModel>(
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
