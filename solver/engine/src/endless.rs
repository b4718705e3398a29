//! Jobs that have begun and seem to have no end (N1): whether a plan leaves fewer of them, asked of the program.
//!
//! The builder puts such jobs in one by one, and may miss that one ends if another gives way. So where it leaves some,
//! the program of these jobs alone is asked for any plan that leaves fewer, until there is none.

use yardless_plan::Draft;
use yardless_plan::shop::Shop;

use super::adapter::{Asked, solve};
use super::search::Search;
use super::{Limits, MOST_COLUMNS_BY_STEPS, prover};
use crate::encode::{Encoding, Rule};

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
    let begun = begun_alone(shop);
    let columns = if limits.steps.is_some() { MOST_COLUMNS_BY_STEPS } else { usize::MAX };
    let encoding = prover::program_of(&begun).filter(|e| e.exact && e.program.columns() <= columns);
    let Some(encoding) = encoding else { return search };
    while limits.over().is_none()
        && let Some(draft) = fewer(&begun, &encoding, search.best().stuck().len(), limits)
    {
        let next = from(&draft, super::best::endless(shop, &draft));
        if next.best().stuck().len() >= search.best().stuck().len() {
            break;
        }
        search = next;
    }
    search
}

/// The shop as if every other job came later: what has begun waits for none of them (N1).
fn begun_alone(shop: &Shop) -> Shop {
    let mut shop = shop.clone();
    for job in &mut shop.jobs {
        job.later |= !job.started;
    }
    shop
}

/// A plan of such a shop that leaves fewer than so many without an end.
fn fewer(shop: &Shop, encoding: &Encoding, endless: usize, limits: &Limits) -> Option<Draft> {
    let mut program = encoding.program.clone();
    program.cost.fill(0);
    let left_out = encoding.left_out_columns().map(|left_out| (left_out, 1)).collect();
    program.at_most(Rule::N1, left_out, endless.checked_sub(1)? as i64);
    let nodes = limits.steps.map(|_| MOST_NODES);
    let answer = solve(&program, Asked { seconds: limits.aside(), nodes, ..Asked::default() });
    encoding.decode(shop, &answer.values?.0)
}
