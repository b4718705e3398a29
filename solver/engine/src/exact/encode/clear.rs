//! Rule C18: what towed units cost that stand at a site where the work is over.

use yardless_plan::shop::{Clearing, JobId, Shop};

use super::Encoding;
use super::flow::{ArcSums, minus, plus, sums};
use super::holds::ends_of;
use super::program::{Col, Rule, Terms};
use crate::model::Spot;

/// **C18.** At a site P and each tick k that begins a date, let e be the last half-day in which work there may end that is
/// charged for then, and for each job j there with B_j last steps
///
/// ```text
/// open_j = B_j (1 - y_j) - sum of ended_b(e) over its last steps b     0 where the job is over, or left out
/// over_j = 1 where it is over by e:  over_j >= sum of ended_b(e) - B_j + 1
/// any    = 1 where some job is:      any >= over_j;  1 where all of some job was done before
///
/// uncleared >= before(P,k) - N (sum of open_j) - N (1 - any)           cost late_day uncleared
/// ```
///
/// where before(P,k) are the towed units that stand at P as k begins, N at most. A job that has begun has no y_j in open_j:
/// without an end it is never over. The price holds uncleared, any and over_j down, so that each is what it says.
pub(super) fn sites(shop: &Shop, e: &mut Encoding) {
    if shop.clearings.is_empty() {
        return;
    }
    let hauls: Vec<ArcSums> = (0..e.unit_pools.len()).map(|p| sums(e, p)).collect();
    for site in &shop.clearings {
        // Charged for what is over already from here on.
        let past = site.past.map(|_| shop.clear_from(&Clearing { jobs: Vec::new(), ..site.clone() }, |_| None));
        for k in 0..e.ticks.len() {
            let h = e.ticks[k];
            if !shop.begins_date(h) || past.is_some_and(|past| h < past) {
                continue;
            }
            let end = shop.over_before(site, h).and_then(|end| e.last_tick(end));
            if past.is_none() && end.is_none() {
                continue;
            }
            uncleared(shop, e, site, end, before(e, &hauls, site, k));
        }
    }
}

fn uncleared(shop: &Shop, e: &mut Encoding, site: &Clearing, end: Option<usize>, (mut terms, units): (Terms, i64)) {
    if terms.is_empty() {
        return;
    }
    let (mut most, mut over) = (0, Vec::new());
    for job in &site.jobs {
        let (ended, last) = ended(shop, e, *job, end);
        most += units * last;
        terms.extend(ended.iter().map(|(col, n)| (*col, n * units)));
        if !shop.jobs[*job].started {
            terms.extend(e.left_out(*job).map(|none| (none, units * last)));
        }
        over.push(e.program.over(Rule::C18, 0, ended, last - 1));
    }
    if site.past.is_none() {
        let any = match over[..] {
            [only] => only,
            _ => e.program.greatest(Rule::C18, 1, over.iter().map(|col| vec![(*col, 1)]).collect()),
        };
        terms.push((any, units));
        most += units;
    }
    e.program.over(Rule::C18, site.late_day.0, terms, most);
}

/// The last steps of a job that have ended up to a tick, and how many it has.
fn ended(shop: &Shop, e: &Encoding, job: JobId, end: Option<usize>) -> (Terms, i64) {
    let (_, last) = ends_of(shop, job);
    let ended = end.map_or_else(Terms::new, |end| last.iter().flat_map(|step| e.ended(*step, end)).collect());
    (ended, last.len() as i64)
}

/// The towed units that stand at a site as a tick begins, and how many there may be. Places taken together are left out,
/// which only makes plans cheaper.
fn before(e: &Encoding, hauls: &[ArcSums], site: &Clearing, k: usize) -> (Terms, i64) {
    let (mut terms, mut units) = (Terms::new(), 0);
    for (p, pool) in e.unit_pools.iter().enumerate().filter(|(_, pool)| pool.moves == yardless_book::Moves::Towed) {
        units += pool.units.len() as i64;
        let Some(spot) = pool.spots.iter().position(|spot| *spot == Spot::At(site.place)) else { continue };
        let at: Col = e.flows[p].at[spot][k];
        terms.push((at, 1));
        terms.extend(minus(&hauls[p].into[spot][k]).chain(plus(&hauls[p].out[spot][k])));
    }
    (terms, units)
}
