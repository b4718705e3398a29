//! The cheapest path of each unit at given prices: a dynamic program back from the horizon's end.
//!
//! ```text
//! start(P,k)  before the hauls at tick k's start = min { stand(P,k), haul P -> Q - arrive(Q,k) + stand(Q,k) } + away(P,k)
//! stand(P,k)  in tick k                          = eve(P,k) - hold price(P,k) + standing(P,k)
//! eve(P,k)    after tick k                       = min { start(P,k+1), haul P -> Q - arrive(Q,k+1) + start(Q,k+1) }
//! ```
//!
//! hauls, with what their truck costs in k ([`scarce`](super::scarce)), only where both roads are open and some truck can take
//! the unit (H2 to H4, E4); a long one at the start leads
//! to start(Q,k+1), with what the half-day on the road from P costs (H5, C12, C13). standing(P,k) is what the unit costs
//! where it stands at P in k, of places taken together the least of theirs: every half-day that counts is a tick, so that
//! the bound has all of C12 and C13. away(P,k) is what it costs where it stands at P as k begins (C17); of C18 the bound has
//! nothing. A second haul in the same half-day, which H1 forbids, is left in: that only makes
//! paths cheaper.

use yardless_plan::shop::Shop;

use super::Solved;
use super::haul_costs::{LongHauls, haul_costs, least, open};
use super::job::NONE;
use super::sums::{Matrix, Priced};
use crate::model::UnitPool;

/// The subproblem of units that are alike: the cheapest path of each.
#[derive(Clone, Debug)]
pub(crate) struct UnitSubproblem {
    pub(crate) of: UnitPool,
    /// The position of its first spot among those of all pools.
    pub(crate) first: usize,
    /// Half-days before h in which it is out.
    out_before: Vec<u32>,
    /// By spot: the rows `come` that it serves.
    pub(crate) serves: Vec<Vec<usize>>,
    /// By spot: the families of rows `hold` of those that stand there.
    pub(crate) holds: Vec<Vec<usize>>,
    /// By tick and spot: whether a haul from or to it may be made.
    open: Vec<Vec<bool>>,
    /// By tick: whether there are evening hauls.
    evening: Vec<bool>,
    /// From, to: cents of a haul that takes less than a half-day.
    short: Vec<Vec<f64>>,
    /// Of those that take all of it: in overtime, and where the half-day on the road costs as well.
    long: [LongHauls; 2],
    any_long: bool,
    /// The cheapest of the short ones.
    least: f64,
    /// By tick: whether the shop works in it, and not in overtime only: then standing costs.
    works: Vec<bool>,
    /// By spot: what standing there costs in such a tick, the least of its places (C12, C13).
    stands: Vec<f64>,
    /// By tick and spot: what it costs to stand there as it begins (C17); empty where its units need not be home.
    away: Vec<Vec<f64>>,
}

/// Units of a pool that begin at one spot.
#[derive(Clone, Copy)]
struct Begin {
    pool: usize,
    spot: usize,
    units: f64,
}

/// By tick and spot: the cheapest way on from before the hauls at a tick's start, and from within it.
#[derive(Clone, Debug)]
struct CostToGo {
    start: Matrix,
    stand: Matrix,
}

/// What ways there and on cost.
#[derive(Clone, Debug)]
pub(crate) struct PathCosts {
    on: CostToGo,
    /// By tick and spot: the cheapest way there before the hauls at its start, and after it; less the cheapest path.
    begin: Vec<Vec<f64>>,
    after: Vec<Vec<f64>>,
    arrive: Vec<Vec<f64>>,
    /// By tick: what a haul costs besides, for its truck; nothing where trucks are not scarce.
    hauls: Vec<f64>,
}

impl UnitSubproblem {
    pub(crate) fn new(shop: &Shop, ticks: &[usize], of: UnitPool) -> Self {
        let n = of.spots.len();
        let (short, long) = haul_costs(shop, &of);
        let unit = &shop.units[of.units[0]];
        let open = open(shop, ticks, &of);
        let mut out_before = vec![0];
        for (h, out) in of.out.iter().enumerate() {
            out_before.push(out_before[h] + u32::from(*out));
        }
        let serves = vec![Vec::new(); n];
        let evening = ticks.iter().map(|h| h % 2 == 1).collect();
        let stands = (0..n).map(|spot| of.stand_cents(shop, spot) as f64);
        let away = |h: &usize| (0..n).map(|spot| of.away_cents(shop, spot, *h) as f64).collect();
        let away = if unit.home.is_some() { ticks.iter().map(away).collect() } else { Vec::new() };
        Self {
            stands: stands.collect(),
            away,
            works: ticks.iter().map(|h| shop.works[*h]).collect(),
            least: least(&short),
            any_long: long[0].least < NONE,
            holds: vec![Vec::new(); n],
            of,
            first: 0,
            out_before,
            serves,
            open,
            evening,
            short,
            long,
        }
    }

    pub(crate) fn spots(&self) -> usize {
        self.of.spots.len()
    }

    /// The hauls that take all of a tick.
    fn long_in(&self, tick: usize) -> &LongHauls {
        &self.long[usize::from(self.works[tick])]
    }

    /// What a unit costs that stands at a spot in a tick.
    fn standing(&self, spot: usize, tick: usize) -> f64 {
        if self.works[tick] { self.stands[spot] } else { 0.0 }
    }

    /// What it costs that a unit stands at a spot as a tick begins.
    fn away(&self, spot: usize, tick: usize) -> f64 {
        self.away.get(tick).map_or(0.0, |away| away[spot])
    }

    /// Its place among the spots of all pools, which number the families of rows `hold`, but for shared units.
    pub(super) fn begin_at(&mut self, first: usize) {
        self.first = first;
        if !self.of.shared {
            self.holds = (first..first + self.spots()).map(|family| vec![family]).collect();
        }
    }

    /// Whether its units may be held from one half-day to another (E4).
    pub(crate) fn may_hold(&self, first: usize, last: usize) -> bool {
        self.out_before[last + 1] == self.out_before[first]
    }

    /// The cheapest ways on.
    fn cost_to_go(&self, at: &Priced<'_>, hauls: &[f64]) -> CostToGo {
        let (n, k, sums) = (self.spots(), at.of.ticks.len(), &at.sums);
        // start[k] is past the horizon: nothing more to do.
        let mut start = Matrix::filled(k + 1, n, 0.0);
        let mut stand = Matrix::filled(k, n, 0.0);
        let (mut there, mut worth) = (vec![NONE; n], Vec::with_capacity(n));
        for tick in (0..k).rev() {
            let open = &self.open[tick];
            let any_open = open.contains(&true);
            let truck = hauls.get(tick).copied().unwrap_or(0.0);
            // Lowers what each spot has to a haul that comes in at a tick and goes on from there.
            let mut haul = |costs: &[Vec<f64>], least: f64, on: &[f64], at: usize, here: &mut [f64]| {
                for (spot, there) in there.iter_mut().enumerate() {
                    *there = if open[spot] { truck + on[spot] - sums.arrive[self.first + spot][at] } else { NONE };
                }
                Self::lower(costs, least, open, &there, &mut worth, here);
            };
            // After the tick.
            stand[tick].copy_from_slice(&start[tick + 1]);
            if any_open && self.evening[tick] && tick + 1 < k {
                haul(&self.short, self.least, &start[tick + 1], tick + 1, &mut stand[tick]);
            }
            for (spot, stand) in stand[tick].iter_mut().enumerate() {
                *stand += self.standing(spot, tick) - sums.stand[self.first + spot][tick];
            }
            start[tick].copy_from_slice(&stand[tick]);
            if any_open {
                haul(&self.short, self.least, &stand[tick], tick, &mut start[tick]);
                if self.any_long && tick + 1 < k {
                    let (now, later) = start.two(tick);
                    let LongHauls { cents, least } = self.long_in(tick);
                    haul(cents, *least, later, tick + 1, now);
                }
            }
            for (start, away) in start[tick].iter_mut().zip(self.away.get(tick).into_iter().flatten()) {
                *start += away;
            }
        }
        CostToGo { start, stand }
    }

    /// The cheapest ways there and on, for the price of any haul.
    pub(crate) fn path_costs(&self, at: &Priced<'_>, pool: usize) -> PathCosts {
        let (n, k, sums) = (self.spots(), at.of.ticks.len(), &at.sums);
        let hold = |spot: usize, tick: usize| sums.stand[self.first + spot][tick];
        let arrive = |spot: usize, tick: usize| sums.arrive[self.first + spot][tick];
        let hauls = &at.hauls[pool];
        let on = self.cost_to_go(at, hauls);
        let mut begin = vec![vec![NONE; n]; k + 1];
        let mut after = vec![vec![NONE; n]; k];
        for spot in (0..n).filter(|spot| self.of.begin[*spot] > 0) {
            begin[0][spot] = self.away(spot, 0) - on.start[0][spot];
        }
        for tick in 0..k {
            let open: Vec<usize> = (0..n).filter(|spot| self.open[tick][*spot]).collect();
            let truck = hauls.get(tick).copied().unwrap_or(0.0);
            let mut stand = begin[tick].clone();
            for to in &open {
                for from in &open {
                    stand[*to] =
                        stand[*to].min(begin[tick][*from] + truck + self.short[*from][*to] - arrive(*to, tick));
                }
            }
            for spot in 0..n {
                after[tick][spot] = stand[spot] + self.standing(spot, tick) - hold(spot, tick);
            }
            let mut next = after[tick].clone();
            if tick + 1 < k {
                for to in &open {
                    for from in &open {
                        let mut there = begin[tick][*from] + self.long_in(tick).cents[*from][*to];
                        if self.evening[tick] {
                            there = there.min(after[tick][*from] + self.short[*from][*to]);
                        }
                        next[*to] = next[*to].min(truck + there - arrive(*to, tick + 1));
                    }
                }
            }
            for (next, away) in next.iter_mut().zip(self.away.get(tick + 1).into_iter().flatten()) {
                *next += away;
            }
            begin[tick + 1] = next;
        }
        PathCosts {
            on,
            begin,
            after,
            hauls: hauls.clone(),
            arrive: (0..n).map(|spot| sums.arrive[self.first + spot].to_vec()).collect(),
        }
    }

    /// By how much the bound rises with a haul.
    pub(crate) fn reduced_cost(&self, ways: &PathCosts, (from, to): (usize, usize), tick: usize, evening: bool) -> f64 {
        if !self.open[tick][from] || !self.open[tick][to] {
            return NONE;
        }
        let truck = ways.hauls.get(tick).copied().unwrap_or(0.0);
        let later = |there: f64| match ways.on.start.get(tick + 1) {
            Some(start) => there - ways.arrive[to][tick + 1] + start[to],
            None => NONE,
        };
        if evening {
            later(ways.after[tick][from] + truck + self.short[from][to])
        } else {
            let leaves = ways.begin[tick][from] + truck;
            let soon = leaves + self.short[from][to] - ways.arrive[to][tick] + ways.on.stand[tick][to];
            soon.min(later(leaves + self.long_in(tick).cents[from][to]))
        }
    }

    /// The cheapest paths of all its units, and what they do to the rows.
    pub(super) fn solve(&self, at: &Priced<'_>, pool: usize, solved: &mut Solved) -> f64 {
        let (n, sums) = (self.spots(), &at.sums);
        let arrive = |spot: usize, tick: usize| sums.arrive[self.first + spot][tick];
        let on = self.cost_to_go(at, &at.hauls[pool]);
        let mut total = 0.0;
        for spot in (0..n).filter(|spot| self.of.begin[*spot] > 0) {
            let units = self.of.begin[spot] as f64;
            // Those that begin there have come in tick 0.
            total += units * (on.start[0][spot] - arrive(spot, 0));
            self.come_in(at, spot, 0, units, &mut solved.broken);
            self.follow(at, &on, Begin { pool, spot, units }, &mut solved.broken);
        }
        total
    }

    /// Lowers what each spot has to the cheapest haul to another. Few spots are worth a haul from anywhere.
    fn lower(costs: &[Vec<f64>], least: f64, open: &[bool], there: &[f64], worth: &mut Vec<usize>, here: &mut [f64]) {
        let dearest = here.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        worth.clear();
        worth.extend((0..there.len()).filter(|to| there[*to] + least < dearest));
        if worth.is_empty() {
            return;
        }
        for (spot, here) in here.iter_mut().enumerate().filter(|(spot, _)| open[*spot]) {
            let costs = &costs[spot];
            *here = worth.iter().map(|to| costs[*to] + there[*to]).fold(*here, |a, b| if b < a { b } else { a });
        }
    }

    /// One of the cheapest paths from a spot, and what it does to the rows. Sums are exact, so that equal is equal.
    #[allow(clippy::float_cmp)]
    fn follow(&self, at: &Priced<'_>, on: &CostToGo, begin: Begin, broken: &mut [f64]) {
        let (n, k, of, sums) = (self.spots(), at.of.ticks.len(), at.of, &at.sums);
        let Begin { pool, mut spot, units } = begin;
        let (stands, scarce) = (of.scarce.of_stands(pool), of.scarce_rows);
        let haul = |tick: usize, broken: &mut [f64]| {
            of.scarce.of_hauls(pool).iter().for_each(|family| broken[scarce + family * k + tick] += units);
        };
        let CostToGo { start, stand } = on;
        let arrive = |spot: usize, tick: usize| sums.arrive[self.first + spot][tick];
        let mut tick = 0;
        while tick < k {
            let open = &self.open[tick];
            let truck = at.hauls[pool].get(tick).copied().unwrap_or(0.0);
            let value = start[tick][spot] - self.away(spot, tick);
            if value < stand[tick][spot] && open[spot] {
                let next = (0..n).find(|to| {
                    *to != spot
                        && open[*to]
                        && truck + self.short[spot][*to] - arrive(*to, tick) + stand[tick][*to] == value
                });
                if let Some(to) = next {
                    spot = to;
                    haul(tick, broken);
                    self.come_in(at, spot, tick, units, broken);
                } else if let Some(to) = (0..n).find(|to| {
                    *to != spot
                        && open[*to]
                        && tick + 1 < k
                        && truck + self.long_in(tick).cents[spot][*to] - arrive(*to, tick + 1) + start[tick + 1][*to]
                            == value
                }) {
                    spot = to;
                    haul(tick, broken);
                    tick += 1;
                    self.come_in(at, spot, tick, units, broken);
                    continue;
                }
            }
            if let Some(family) = stands[spot] {
                broken[scarce + family * k + tick] += units;
            }
            for family in &self.holds[spot] {
                broken[of.hold + family * k + tick] -= units;
            }
            for row in &self.serves[spot] {
                // In this tick alone, where what is broken later counts for all before.
                broken[of.stay + row * k + tick] -= units;
                if tick > 0 {
                    broken[of.stay + row * k + tick - 1] += units;
                }
            }
            if tick + 1 < k && self.evening[tick] && open[spot] {
                // Where staying is not the cheapest, some evening haul is.
                let next = (0..n)
                    .filter(|to| *to != spot && open[*to])
                    .map(|to| (truck + self.short[spot][to] - arrive(to, tick + 1) + start[tick + 1][to], to))
                    .min_by(|a, b| a.0.total_cmp(&b.0));
                if let Some((_, to)) = next.filter(|(cost, _)| *cost < start[tick + 1][spot]) {
                    spot = to;
                    haul(tick, broken);
                    self.come_in(at, spot, tick + 1, units, broken);
                }
            }
            tick += 1;
        }
    }

    fn come_in(&self, at: &Priced<'_>, spot: usize, tick: usize, units: f64, broken: &mut [f64]) {
        let (of, k) = (at.of, at.of.ticks.len());
        for row in &self.serves[spot] {
            broken[of.come + row * k + tick] -= units;
            if tick > 0 {
                broken[of.stay + row * k + tick - 1] -= units;
            }
        }
    }
}
