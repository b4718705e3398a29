//! Half-days in which crews should have nothing to do, for what comes up: rule C14.

use yardless_book::money::Cents;

use super::{CrewId, Id, Shop};

/// A week of a crew in which some half-days should stay without work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reserve {
    /// The crew.
    pub crew: CrewId,
    /// The half-days of the week in which it has people there, overtime apart; by index.
    pub half_days: Vec<usize>,
    /// In how many of them it may work at no cost.
    pub free: usize,
}

/// C14: the weeks of the horizon that begin at or after now, of each crew that keeps some open; none where that has no
/// price.
pub(super) fn reserves(shop: &Shop) -> Vec<Reserve> {
    let mut reserves = Vec::new();
    if shop.book.prices.reserve_half_day == Cents::ZERO {
        return reserves;
    }
    for (n, crew) in shop.book.crews.iter().enumerate().filter(|(_, crew)| crew.own && crew.keep_open > 0) {
        let id = CrewId::from_index(n);
        for monday in (0..shop.len()).step_by(14).filter(|monday| *monday >= shop.now) {
            let there = |h: &usize| shop.works[*h] && shop.crews[id].people[*h] > 0;
            let half_days: Vec<usize> = (monday..(monday + 14).min(shop.len())).filter(there).collect();
            let free = half_days.len().saturating_sub(crew.keep_open as usize);
            if !half_days.is_empty() {
                reserves.push(Reserve { crew: id, half_days, free });
            }
        }
    }
    reserves
}
