//! What each row of a plan's parked units is for (E3, E7).

use crate::shop::{JobId, ParkedNeed, Shop};
use crate::{ParkedRow, Plan};

/// The rows of what a plan parks at a job, each with the need that it is for where that is not held all the time that the
/// job is worked on.
pub fn parked_rows<'p>(shop: &Shop, plan: &'p Plan, job: JobId) -> Vec<(&'p ParkedRow, Option<ParkedNeed>)> {
    let facts = &shop.jobs[job];
    let rows: Vec<&ParkedRow> = plan.parked.iter().filter(|row| row.job == facts.id).collect();
    let mut needs: Vec<ParkedNeed> = facts.parked.clone();
    needs.dedup_by_key(|need| need.listed);
    let apart = facts.parks_apart && rows.len() == needs.len();
    let need = |n: usize| needs.get(n).copied().filter(|need| apart && !need.whole());
    rows.into_iter().enumerate().map(|(n, row)| (row, need(n))).collect()
}
