//! The cheapest round of a crew on each date at given prices (C15).
//!
//! ```text
//! round = min { 0, round(P, Q) - visit(P, am) - visit(Q, pm), round(P, -) - visit(P, am), round(-, Q) - visit(Q, pm) }
//! ```
//!
//! over the places P and Q of the jobs that the crew may work on, those apart whose round cannot be driven or whose drive at
//! noon is too long. visit(P, k) are the prices that jobs pay for the crew's work at P. Exact for each date: in a half-day
//! the crew is at one place (W4), and half-days with stops only are passed over.

use yardless_plan::shop::{CrewId, Id, PlaceId, Shop};

use super::job::NONE;

/// A crew whose drives are counted.
#[derive(Clone, Debug)]
pub(crate) struct CrewRounds {
    crew: CrewId,
    /// The places that it may work at, each with its family of rows `visit`.
    places: Vec<(PlaceId, usize)>,
    /// Cents of the round by the position of the place in the am, and in the pm; past the last: none.
    cents: Vec<Vec<f64>>,
    /// By date the ticks of its am and pm in which the crew may work.
    dates: Vec<[Option<usize>; 2]>,
}

impl CrewRounds {
    pub(super) fn new(shop: &Shop, ticks: &[usize], crew: CrewId) -> Self {
        let mut dates: Vec<[Option<usize>; 2]> = vec![[None; 2]; shop.len().div_ceil(2)];
        for (tick, h) in ticks.iter().enumerate().filter(|(_, h)| shop.crews[crew].people[**h] > 0) {
            dates[h / 2][h % 2] = Some(tick);
        }
        Self { crew, places: Vec::new(), cents: Vec::new(), dates }
    }

    /// The family of the rows of a place; a new one is `next`.
    pub(super) fn family(&mut self, place: PlaceId, next: usize) -> usize {
        if let Some((_, family)) = self.places.iter().find(|(at, _)| *at == place) {
            return *family;
        }
        self.places.push((place, next));
        next
    }

    pub(super) fn is_of(&self, crew: CrewId) -> bool {
        self.crew == crew
    }

    /// Once all places are known.
    pub(super) fn finish(&mut self, shop: &Shop) {
        let at = |i: usize| self.places.get(i).map(|(place, _)| *place);
        let cents =
            |am: usize, pm: usize| shop.round_cost(self.crew, at(am), at(pm)).map_or(NONE, |cents| cents.0 as f64);
        let n = self.places.len();
        self.cents = (0..=n).map(|am| (0..=n).map(|pm| cents(am, pm)).collect()).collect();
    }

    /// The cheapest rounds of all dates at the prices of the rows `visit`, and which they visit (family, tick).
    pub(super) fn solve(&self, ticks: usize, prices: &[f64], mut visit: impl FnMut(usize, usize)) -> f64 {
        let none = self.places.len();
        let mut total = 0.0;
        let mut paid: [Vec<(usize, f64)>; 2] = Default::default();
        for date in &self.dates {
            for (paid, tick) in paid.iter_mut().zip(date) {
                paid.clear();
                paid.push((none, 0.0));
                let Some(tick) = tick else { continue };
                let price = |(i, (_, family)): (usize, &(PlaceId, usize))| (i, prices[family * ticks + tick]);
                // Nobody is driven to where nothing is paid.
                paid.extend(self.places.iter().enumerate().map(price).filter(|(_, price)| *price > 0.0));
            }
            let (mut least, mut best) = (0.0, (none, none));
            for (am, earns) in &paid[0] {
                for (pm, earns_too) in &paid[1] {
                    let cost = self.cents[*am][*pm] - earns - earns_too;
                    if cost < least {
                        (least, best) = (cost, (*am, *pm));
                    }
                }
            }
            total += least;
            for (at, tick) in [best.0, best.1].into_iter().zip(date) {
                if let (Some((_, family)), Some(tick)) = (self.places.get(at), tick) {
                    visit(*family, *tick);
                }
            }
        }
        total
    }

    /// Calls for each row `visit` with a price to begin with: the way there, and the way back too where the date has no
    /// other half in which the crew may work. At these prices no round earns more than it costs, where ways are not
    /// shorter by a detour.
    pub(super) fn begin(&self, mut call: impl FnMut(usize, usize, f64)) {
        let none = self.places.len();
        for date in &self.dates {
            let halves = date.iter().flatten().count() as f64;
            for tick in date.iter().flatten() {
                for (i, (_, family)) in self.places.iter().enumerate() {
                    let there_and_back = self.cents[i][none];
                    call(*family, *tick, if there_and_back < NONE { (there_and_back / halves).floor() } else { 0.0 });
                }
            }
        }
    }
}

/// The crews whose rounds are worked out: all whose drives are counted, or none where the rows would be too many. A run
/// then pays for its drives by itself.
pub(super) fn all(shop: &Shop, ticks: &[usize]) -> Vec<CrewRounds> {
    let crews: Vec<CrewId> = shop.crews.ids().filter(|crew| shop.crews[*crew].home.is_some()).collect();
    let mut places: Vec<PlaceId> = shop.jobs.iter().map(|job| job.place).collect();
    places.sort_unstable_by_key(|place| place.index());
    places.dedup();
    if crews.len() * places.len() * ticks.len() > MOST_VISITS {
        return Vec::new();
    }
    crews.into_iter().map(|crew| CrewRounds::new(shop, ticks, crew)).collect()
}

/// Rows `visit` at most: each is a few numbers that every step of the ascent moves.
const MOST_VISITS: usize = 400_000;
