//! Jobs that have begun and seem to have no end (N1): whether a plan leaves fewer of them, asked of the program.
//!
//! The builder puts such jobs in one by one, and may miss that one ends if another gives way. So where it leaves some,
//! the program of these jobs alone is asked for any plan that leaves fewer, until there is none.

use super::adapter::{Asked, solve};
use super::search::Search;
use super::{Limits, MOST_COLUMNS_BY_STEPS, prover};
use crate::encode::{Encoding, Rule};
use crate::plan::Draft;
use crate::shop::Shop;

/// Nodes for one question, where the budget is of work.
const MOST_NODES: u64 = 500;

/// The search, begun anew from a plan that leaves fewer without an end as long as there is one.
pub(super) fn fewest<'s>(
    shop: &Shop,
    limits: &Limits,
    mut search: Search<'s>,
    from: &dyn Fn(&Draft, usize) -> Search<'s>,
) -> Search<'s> {
    if search.best().stuck().is_empty() {
        return search;
    }
    let columns = if limits.steps.is_some() { MOST_COLUMNS_BY_STEPS } else { usize::MAX };
    let encoding = prover::program_of(shop).filter(|e| e.exact && e.program.columns() <= columns);
    let Some(encoding) = encoding else { return search };
    while limits.over().is_none()
        && let Some(draft) = fewer(shop, &encoding, search.best().stuck().len(), limits)
    {
        let next = from(&draft, super::best::endless(shop, &draft));
        if next.best().stuck().len() >= search.best().stuck().len() {
            break;
        }
        search = next;
    }
    search
}

/// A plan of what has begun alone that leaves fewer than so many without an end.
fn fewer(shop: &Shop, encoding: &Encoding, endless: usize, limits: &Limits) -> Option<Draft> {
    let mut program = encoding.program.clone();
    program.cost.fill(0);
    let mut begun = Vec::new();
    for job in shop.jobs.ids() {
        let Some(left_out) = encoding.left_out(job) else { continue };
        if shop.jobs[job].started {
            begun.push((left_out, 1));
        } else {
            program.equal(Rule::Branch, vec![(left_out, 1)], 1);
        }
    }
    program.at_most(Rule::N1, begun, endless.checked_sub(1)? as i64);
    let nodes = limits.steps.map(|_| MOST_NODES);
    let answer = solve(&program, Asked { seconds: limits.aside(), nodes, ..Asked::default() });
    encoding.decode(shop, &answer.values?.0)
}
