//! Sets of half-days as bits, so that the latest one that several conditions allow is found in a few steps.

use std::ops::RangeInclusive;

/// Some sets of half-days of one horizon, by row.
#[derive(Clone, Debug)]
pub(in crate::engine) struct HalfDaySets {
    words: usize,
    bits: Vec<u64>,
}

/// One of them.
pub(in crate::engine) type HalfDays<'a> = &'a [u64];

/// The afternoons of any word, as a half-day's index is odd in the afternoon and a word has an even number of bits.
const AFTERNOONS: u64 = 0xaaaa_aaaa_aaaa_aaaa;

impl HalfDaySets {
    /// So many empty sets.
    pub(in crate::engine) fn new(rows: usize, len: usize) -> Self {
        let words = len.div_ceil(64);
        Self { words, bits: vec![0; rows * words] }
    }
    /// The set of a row.
    pub(in crate::engine) fn row(&self, row: usize) -> HalfDays<'_> {
        &self.bits[row * self.words..][..self.words]
    }
    /// Puts a half-day into a row's set, or takes it out.
    pub(in crate::engine) fn put(&mut self, row: usize, h: usize, holds: bool) {
        let (word, bit) = (row * self.words + h / 64, 1 << (h % 64));
        if holds {
            self.bits[word] |= bit;
        } else {
            self.bits[word] &= !bit;
        }
    }
    /// Whether a row's set holds a half-day.
    pub(in crate::engine) fn holds(&self, row: usize, h: usize) -> bool {
        self.bits[row * self.words + h / 64] >> (h % 64) & 1 == 1
    }
}

/// The latest half-day of the range that all sets hold; of afternoons only, where asked.
pub(in crate::engine) fn latest<const N: usize>(
    sets: [HalfDays<'_>; N],
    range: RangeInclusive<usize>,
    afternoons: bool,
) -> Option<usize> {
    let (first, last) = (*range.start(), *range.end());
    if first > last {
        return None;
    }
    for word in (first / 64..=last / 64).rev() {
        let mut bits = sets.iter().fold(if afternoons { AFTERNOONS } else { u64::MAX }, |bits, set| bits & set[word]);
        if word == last / 64 {
            bits &= u64::MAX >> (63 - last % 64);
        }
        if word == first / 64 {
            bits &= u64::MAX << (first % 64);
        }
        if bits != 0 {
            return Some(word * 64 + 63 - bits.leading_zeros() as usize);
        }
    }
    None
}

/// The first half-day from `from` on that the set holds.
pub(in crate::engine) fn next(set: HalfDays<'_>, from: usize) -> Option<usize> {
    let mut mask = u64::MAX << (from % 64);
    for (word, bits) in set.iter().enumerate().skip(from / 64) {
        if bits & mask != 0 {
            return Some(word * 64 + (bits & mask).trailing_zeros() as usize);
        }
        mask = u64::MAX;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn latest_and_next_look_across_words_and_stop_at_the_ends_of_the_range() {
        let mut sets = HalfDaySets::new(2, 140);
        for h in [3, 64, 65, 70, 139] {
            sets.put(0, h, true);
        }
        for h in [3, 64, 65, 139] {
            sets.put(1, h, true);
        }
        let both = [sets.row(0), sets.row(1)];
        assert_eq!(latest(both, 0..=139, false), Some(139));
        // 70 is in the first set only; 65 is odd, 64 is not.
        assert_eq!(latest(both, 0..=138, false), Some(65));
        assert_eq!(latest(both, 0..=64, false), Some(64));
        assert_eq!(latest(both, 0..=64, true), Some(3));
        assert_eq!(latest(both, 4..=63, false), None);
        assert_eq!((next(sets.row(0), 66), next(sets.row(1), 66)), (Some(70), Some(139)));
        assert_eq!((next(sets.row(0), 0), next(sets.row(1), 4)), (Some(3), Some(64)));
    }
}
