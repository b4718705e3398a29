//! Which works at a place are drawn one below the other.

use yardless_plan::shop::PlaceId;

use super::super::course::{Course, Work};
use super::Columns;

/// The works at a place that are drawn, in lanes in which none lies over another.
pub(super) fn lanes(course: &Course, columns: &Columns, place: PlaceId) -> Vec<Vec<usize>> {
    let all = || course.works.iter().chain(&course.dropped.works);
    let mut lanes: Vec<(usize, Vec<usize>)> = Vec::new();
    let here = |work: &Work| course.shop.jobs[work.job].place == place && columns.span(work.start, work.end).is_some();
    let mut found: Vec<(usize, &Work)> = all().enumerate().filter(|(_, work)| here(work)).collect();
    found.sort_by_key(|(n, work)| (work.start, *n));
    for (n, work) in found {
        match lanes.iter_mut().find(|(end, _)| *end < work.start) {
            Some((end, lane)) => {
                lane.push(n);
                *end = work.end;
            }
            None => lanes.push((work.end, vec![n])),
        }
    }
    lanes.into_iter().map(|(_, lane)| lane).collect()
}
