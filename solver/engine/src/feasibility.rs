//! The feasibility phase: jobs in progress that seem to have no end (N1), and whether a plan leaves fewer of them.
//!
//! The insertion heuristic puts such jobs in one by one, and may miss that one ends if another gives way. So where it
//! leaves some, the program of these jobs alone is asked for any plan that leaves fewer, until there is none.

use yardless_plan::Draft;
use yardless_plan::shop::Shop;

use crate::context::Context;
use crate::exact::encode::{Encoding, Rule, within_size};
use crate::exact::{MOST_COLUMNS_BY_STEPS, MipRequest, solve};
use crate::incumbent::unended;
use crate::limits::Limits;
use crate::primal::NeighbourhoodSearch;

/// Nodes for one question, where the budget is of work.
const MOST_NODES: u64 = 500;

/// The search, begun anew from a plan that leaves fewer without an end as long as there is one.
pub(crate) fn fewest_unended<'s>(
    shop: &Shop,
    context: &Context,
    mut search: NeighbourhoodSearch<'s>,
    from: &dyn Fn(&Draft, usize) -> NeighbourhoodSearch<'s>,
) -> NeighbourhoodSearch<'s> {
    if search.best().unended().is_empty() {
        return search;
    }
    let limits = &context.limits;
    let columns = if limits.steps.is_some() { MOST_COLUMNS_BY_STEPS } else { usize::MAX };
    let encoding = within_size(shop, &context.with_jobs_in_progress_alone());
    let Some(encoding) = encoding.filter(|e| e.exact && e.program.columns() <= columns) else { return search };
    while limits.over().is_none()
        && let Some(draft) = fewer(shop, &encoding, search.best().unended().len(), limits)
    {
        let next = from(&draft, unended(shop, &draft));
        if next.best().unended().len() >= search.best().unended().len() {
            break;
        }
        search = next;
    }
    search
}

/// A plan of the jobs in progress that leaves fewer than so many without an end.
fn fewer(shop: &Shop, encoding: &Encoding, most: usize, limits: &Limits) -> Option<Draft> {
    let mut program = encoding.program.clone();
    program.cost.fill(0);
    let left_out = encoding.left_out_columns().map(|left_out| (left_out, 1)).collect();
    program.at_most(Rule::N1, left_out, most.checked_sub(1)? as i64);
    let nodes = limits.steps.map(|_| MOST_NODES);
    let answer = solve(&program, MipRequest { seconds: limits.aside(), nodes, ..MipRequest::default() });
    encoding.decode(shop, &answer.values?.0)
}
