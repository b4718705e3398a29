//! The half-days that are drawn, and where: columns with gutters between them, in which the hauls run.

use super::super::course::{Course, Trip};
use super::Scale;

/// What a haul takes of a gutter.
const LANE: i32 = 13;

/// The half-days that are drawn, and where.
pub(super) struct Columns {
    pub(super) scale: Scale,
    /// Their indices in the plan, rising.
    pub(super) shown: Vec<usize>,
    /// Where each begins; it is as wide as the scale says.
    left: Vec<i32>,
    /// Where the rules stand: before each column, and after the last.
    pub(super) rules: Vec<i32>,
    /// The hauls that are drawn: their position among the course's trips, and where they set out.
    pub(super) hauls: Vec<(usize, i32)>,
    /// The right edge of all.
    pub(super) width: i32,
}

impl Columns {
    /// Lays the columns out, each gutter as wide as its hauls need.
    pub(super) fn new(course: &Course, scale: Scale, shown: Vec<usize>) -> Self {
        let mut all = Self { scale, shown, left: Vec::new(), rules: Vec::new(), hauls: Vec::new(), width: scale.names };
        for k in 0..=all.shown.len() {
            all.gutter(course, k);
            if k < all.shown.len() {
                all.left.push(all.width);
                all.width += scale.half_day;
            }
        }
        all
    }

    /// The gutter before a column: evening hauls, the rule, hauls at the start.
    fn gutter(&mut self, course: &Course, k: usize) {
        let lane = if self.scale.words { LANE } else { 0 };
        let before = k.checked_sub(1).map(|k| self.shown[k]);
        let after = self.shown.get(k).copied();
        let drawn = |evening: bool, at: Option<usize>| {
            let here = move |trip: &&Trip| trip.evening == evening && at == Some(trip.at) && trip.at >= course.shop.now;
            (0..course.trips.len()).filter(move |n| here(&&course.trips[*n]))
        };
        let mut x = self.width + self.scale.gutter / 2;
        for n in drawn(true, before) {
            self.hauls.push((n, x));
            x += lane;
        }
        self.rules.push(x);
        x += if lane > 0 { 2 } else { 0 };
        for n in drawn(false, after) {
            self.hauls.push((n, x));
            x += lane;
        }
        self.width = x + self.scale.gutter / 2;
    }

    /// Where the half-days from one to another lie: from, width; none where none of them is drawn.
    pub(super) fn span(&self, first: usize, last: usize) -> Option<(i32, i32)> {
        let (from, to) = self.positions(first, last)?;
        Some((self.left[from], self.left[to] + self.scale.half_day - self.left[from]))
    }

    /// The same from rule to rule.
    pub(super) fn stretch(&self, first: usize, last: usize) -> Option<(i32, i32)> {
        let (from, to) = self.positions(first, last)?;
        Some((self.rules[from], self.rules[to + 1] - self.rules[from]))
    }

    /// The first and the last column of some half-days.
    fn positions(&self, first: usize, last: usize) -> Option<(usize, usize)> {
        let from = self.shown.partition_point(|h| *h < first);
        let to = self.shown.partition_point(|h| *h <= last);
        (to > from).then(|| (from, to - 1))
    }

    /// Where a column begins, by its position.
    pub(super) fn left(&self, c: usize) -> i32 {
        self.left[c]
    }

    /// Where a column ends, by its position.
    pub(super) fn right(&self, c: usize) -> i32 {
        self.left[c] + self.scale.half_day
    }
}
