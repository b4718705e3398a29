//! Prices added up over time, so that what a run or a stay pays is a difference of two sums.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::ops::{Index, IndexMut};

use yardless_plan::shop::JobId;

use super::Relaxation;

/// Rows of equal length in one piece of memory.
#[derive(Clone, Debug)]
pub(crate) struct Matrix {
    width: usize,
    cells: Vec<f64>,
}

impl Matrix {
    pub(crate) fn filled(rows: usize, width: usize, value: f64) -> Self {
        Self { width, cells: vec![value; rows * width] }
    }
    /// A row and the one after it.
    pub(crate) fn two(&mut self, row: usize) -> (&mut [f64], &[f64]) {
        let (before, after) = self.cells.split_at_mut((row + 1) * self.width);
        (&mut before[row * self.width..], &after[..self.width])
    }
    /// A row; none past the last.
    pub(crate) fn get(&self, row: usize) -> Option<&[f64]> {
        self.cells.get(row * self.width..(row + 1) * self.width)
    }
}

impl Index<usize> for Matrix {
    type Output = [f64];
    fn index(&self, row: usize) -> &[f64] {
        &self.cells[row * self.width..(row + 1) * self.width]
    }
}

impl IndexMut<usize> for Matrix {
    fn index_mut(&mut self, row: usize) -> &mut [f64] {
        &mut self.cells[row * self.width..(row + 1) * self.width]
    }
}

/// Prices added up over time.
pub(crate) struct PrefixSums {
    /// By family of rows `hold`: what holding costs before tick k.
    pub(crate) hold: Matrix,
    /// By row family `come`: what it costs to start at tick k, which breaks the rows from k on.
    pub(crate) come: Matrix,
    /// By pool and spot: what coming at tick k earns.
    pub(crate) arrive: Matrix,
    /// By row family `stay`: what it costs to end before tick k, which breaks the rows before it.
    pub(crate) stay: Matrix,
    /// By pool and spot: what standing there in tick k earns, less what the spot costs (E6).
    pub(crate) stand: Matrix,
    /// By job: what leaving it out saves.
    pub(crate) saves: BTreeMap<JobId, f64>,
    /// By priced link: the same for the step after.
    pub(crate) order: Matrix,
}

/// The relaxation at some prices: what its subproblems are solved by.
pub(crate) struct Priced<'p> {
    pub(crate) of: &'p Relaxation,
    /// By crew and tick: what its time costs, with what its week's reserve adds (C14).
    pub(crate) crews: Cow<'p, [f64]>,
    /// By family of rows `visit` and tick: what a crew's work at a place costs (C15).
    pub(crate) visits: &'p [f64],
    /// By family of rows `touch` and date: what it costs that a crew works on a step on a date (C15).
    pub(crate) touches: &'p [f64],
    /// By pool: what a haul costs in each tick for the trucks that it takes (H4); nothing where they are not scarce.
    pub(crate) hauls: Vec<Vec<f64>>,
    pub(crate) sums: PrefixSums,
}

impl<'p> Priced<'p> {
    pub(crate) fn new(of: &'p Relaxation, prices: &'p [f64]) -> Self {
        let k = of.ticks.len();
        let mut crews = Cow::Borrowed(&prices[..of.crews * k]);
        for ((crew, ticks, _), row) in of.reserves.iter().zip(of.reserve..) {
            for tick in ticks {
                crews.to_mut()[crew * k + tick] += prices[row];
            }
        }
        let hauls = (0..of.pools.len()).map(|p| of.scarce.haul_prices(p, k, &prices[of.scarce_rows..])).collect();
        Self {
            of,
            crews,
            visits: &prices[of.visit..of.touch],
            touches: &prices[of.touch..of.scarce_rows],
            hauls,
            sums: PrefixSums::new(of, prices),
        }
    }
}

impl PrefixSums {
    fn new(of: &Relaxation, prices: &[f64]) -> Self {
        let k = of.ticks.len();
        let spots = of.spots;
        let come = Self::from(k, of.wanted.len(), &prices[of.come..]);
        let stay = Self::until(k, of.wanted.len(), &prices[of.stay..]);
        let hold = Self::until(k, of.holds, &prices[of.hold..]);
        let mut stand = Matrix { width: k, cells: prices[of.hold..of.hold + spots * k].to_vec() };
        for pool in of.pools.iter().filter(|pool| pool.of.shared) {
            for (spot, families) in (pool.first..).zip(&pool.holds) {
                for family in families {
                    let prices = &prices[of.hold + family * k..];
                    stand[spot].iter_mut().zip(prices).for_each(|(total, price)| *total += price);
                }
            }
        }
        for (p, pool) in of.pools.iter().enumerate() {
            for (spot, family) in (pool.first..).zip(of.scarce.of_stands(p)) {
                let Some(family) = family else { continue };
                let prices = &prices[of.scarce_rows + family * k..];
                stand[spot].iter_mut().zip(prices).for_each(|(earns, price)| *earns -= price);
            }
        }
        let order = Self::from(k, of.priced.len(), &prices[of.order..]);
        let mut saves: BTreeMap<JobId, f64> = BTreeMap::new();
        for ((jobs, _), row) in of.short.iter().zip(of.time..) {
            for (job, freed) in jobs {
                *saves.entry(*job).or_default() += prices[row] * *freed as f64;
            }
        }
        let mut arrive = Matrix::filled(spots, k + 1, 0.0);
        for (r, wanted) in of.wanted.iter().enumerate() {
            for (pool, spot) in &wanted.able {
                let at = of.flat(*pool, *spot);
                for (total, (come, stay)) in arrive[at].iter_mut().zip(come[r].iter().zip(&stay[r])) {
                    *total += come + stay;
                }
                for (total, price) in stand[at].iter_mut().zip(&prices[of.stay + r * k..]) {
                    *total += price;
                }
            }
        }
        Self { hold, come, arrive, stay, stand, saves, order }
    }

    /// The sums of each row's k prices from a tick on.
    fn from(k: usize, rows: usize, prices: &[f64]) -> Matrix {
        let mut matrix = Matrix::filled(rows, k + 1, 0.0);
        for row in 0..rows {
            let (sums, prices) = (&mut matrix[row], &prices[row * k..]);
            for i in (0..k).rev() {
                sums[i] = sums[i + 1] + prices[i];
            }
        }
        matrix
    }

    /// The sums of each row's k prices before a tick.
    fn until(k: usize, rows: usize, prices: &[f64]) -> Matrix {
        let mut matrix = Matrix::filled(rows, k + 1, 0.0);
        for row in 0..rows {
            let (sums, prices) = (&mut matrix[row], &prices[row * k..]);
            for i in 0..k {
                sums[i + 1] = sums[i] + prices[i];
            }
        }
        matrix
    }
}
