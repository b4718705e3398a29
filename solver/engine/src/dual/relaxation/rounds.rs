//! The cheapest round of a crew on each date at given prices (C15).
//!
//! ```text
//! round = min { 0, round(P, Q) - visit(P, am) - visit(Q, pm) - touch(P) - touch(Q), round(P, -) - visit(P, am) - touch(P),
//!               round(-, Q) - visit(Q, pm) - touch(Q) }
//! ```
//!
//! over the places P and Q of the jobs that the crew may work on, those apart whose round cannot be driven or whose drive at
//! noon is too long. visit(P, k) are the prices that jobs pay for the crew's work at P in a half-day, touch(P), once where
//! P = Q, the sum of those that steps at P pay for their work by the crew on the date. Exact for each date: in a half-day
//! the crew is at one place (W4), and half-days with stops only are passed over.
//!
//! Rows `visit` alone let half a run of the am and half a run of the pm share half a round; rows `touch` let a step that is
//! done by the crew on one date pay for a whole one, however it is divided.

use yardless_plan::shop::{CrewId, Id, PlaceId, Shop, StepId};

use super::job::NONE;

/// A crew whose drives are counted.
#[derive(Clone, Debug)]
pub(crate) struct CrewRounds {
    crew: CrewId,
    places: Vec<Visited>,
    /// Cents of the round by the position of the place in the am, and in the pm; past the last: none.
    cents: Vec<Vec<f64>>,
    /// By date the ticks of its am and pm in which the crew may work.
    dates: Vec<[Option<usize>; 2]>,
}

/// A place that a crew may work at.
#[derive(Clone, Debug)]
struct Visited {
    place: PlaceId,
    /// The family of its rows `visit`.
    family: usize,
    /// The families of its rows `touch`: one a step, and one for the second spans of a step (W10).
    touches: Vec<(StepId, bool, usize)>,
}

/// Where the rows of rounds are among the prices.
#[derive(Clone, Copy, Debug)]
pub(super) struct RoundRows {
    /// The first row `visit`, and how many each family has: one a tick.
    pub(super) visit: usize,
    pub(super) ticks: usize,
    /// The first row `touch`, and how many each family has: one a date.
    pub(super) touch: usize,
    pub(super) dates: usize,
}

impl RoundRows {
    /// Counts what a run from tick s to tick e asks of its crew's rounds.
    pub(super) fn count(
        self,
        ticks: &[usize],
        [visit, touch]: [usize; 2],
        (s, e): (usize, usize),
        takes: &[f64],
        broken: &mut [f64],
    ) {
        let mut last = None;
        for tick in (s..=e).filter(|tick| takes[*tick] > 0.0) {
            broken[self.visit + visit * self.ticks + tick] += takes[tick];
            let date = ticks[tick] / 2;
            if last != Some(date) {
                broken[self.touch + touch * self.dates + date] += 1.0;
                last = Some(date);
            }
        }
    }
}

impl CrewRounds {
    /// The dates of the weeks.
    pub(super) fn dates(&self) -> usize {
        self.dates.len()
    }

    pub(super) fn new(shop: &Shop, ticks: &[usize], crew: CrewId) -> Self {
        let mut dates: Vec<[Option<usize>; 2]> = vec![[None; 2]; shop.len().div_ceil(2)];
        for (tick, h) in ticks.iter().enumerate().filter(|(_, h)| shop.crews[crew].people[**h] > 0) {
            dates[h / 2][h % 2] = Some(tick);
        }
        Self { crew, places: Vec::new(), cents: Vec::new(), dates }
    }

    /// The families of the rows `visit` of a place and `touch` of a step's work there; new ones are `next`.
    pub(super) fn families(&mut self, place: PlaceId, (step, second): (StepId, bool), next: [usize; 2]) -> [usize; 2] {
        let i = self.places.iter().position(|of| of.place == place).unwrap_or_else(|| {
            self.places.push(Visited { place, family: next[0], touches: Vec::new() });
            self.places.len() - 1
        });
        let Visited { family, touches, .. } = &mut self.places[i];
        let known = touches.iter().find(|of| (of.0, of.1) == (step, second)).map(|of| of.2);
        let touch = known.unwrap_or_else(|| {
            touches.push((step, second, next[1]));
            next[1]
        });
        [*family, touch]
    }

    pub(super) fn is_of(&self, crew: CrewId) -> bool {
        self.crew == crew
    }

    /// Once all places are known.
    pub(super) fn finish(&mut self, shop: &Shop) {
        let at = |i: usize| self.places.get(i).map(|of| of.place);
        let cents =
            |am: usize, pm: usize| shop.round_cost(self.crew, at(am), at(pm)).map_or(NONE, |cents| cents.0 as f64);
        let n = self.places.len();
        self.cents = (0..=n).map(|am| (0..=n).map(|pm| cents(am, pm)).collect()).collect();
    }

    /// The cheapest rounds of all dates at some prices, and which rows they fill.
    pub(super) fn solve(&self, rows: RoundRows, prices: &[f64], broken: &mut [f64]) -> f64 {
        let none = self.places.len();
        let mut total = 0.0;
        // By half-day of the date: the place, what its visit and what its touches earn.
        let mut paid: [Vec<(usize, f64, f64)>; 2] = Default::default();
        let mut touch = vec![0.0; none];
        for (date, ticks) in self.dates.iter().enumerate() {
            let row = |family: usize| rows.touch + family * rows.dates + date;
            for (touch, of) in touch.iter_mut().zip(&self.places) {
                *touch = of.touches.iter().map(|(.., family)| prices[row(*family)]).sum();
            }
            for (paid, tick) in paid.iter_mut().zip(ticks) {
                paid.clear();
                paid.push((none, 0.0, 0.0));
                let Some(tick) = tick else { continue };
                let visit = |of: &Visited| prices[rows.visit + of.family * rows.ticks + tick];
                let earns = self.places.iter().zip(&touch).enumerate().map(|(i, (of, touch))| (i, visit(of), *touch));
                // Nobody is driven to where nothing is paid.
                paid.extend(earns.filter(|(_, visit, touch)| visit + touch > 0.0));
            }
            let (mut least, mut best) = (0.0, (none, none));
            for (am, visit, touch) in &paid[0] {
                for (pm, visit_too, touch_too) in &paid[1] {
                    let touches = if am == pm { *touch } else { touch + touch_too };
                    let cost = self.cents[*am][*pm] - visit - visit_too - touches;
                    if cost < least {
                        (least, best) = (cost, (*am, *pm));
                    }
                }
            }
            total += least;
            for (at, tick) in [best.0, best.1].into_iter().zip(ticks) {
                if let (Some(of), Some(tick)) = (self.places.get(at), tick) {
                    broken[rows.visit + of.family * rows.ticks + tick] -= 1.0;
                }
            }
            let twice = best.0 == best.1;
            for of in
                [Some(best.0), Some(best.1).filter(|_| !twice)].into_iter().flatten().filter_map(|i| self.places.get(i))
            {
                of.touches.iter().for_each(|(.., family)| broken[row(*family)] -= 1.0);
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
                for (i, of) in self.places.iter().enumerate() {
                    let there_and_back = self.cents[i][none];
                    call(of.family, *tick, if there_and_back < NONE { (there_and_back / halves).floor() } else { 0.0 });
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
