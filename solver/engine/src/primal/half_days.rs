//! Sets of half-days as bits, so that the latest one that several conditions allow is found in a few steps.

use std::ops::RangeInclusive;

/// Some sets of half-days of one horizon, by row.
#[derive(Clone, Debug)]
pub(crate) struct HalfDaySets {
    words: usize,
    bits: Vec<u64>,
}

/// One of them.
pub(crate) type HalfDays<'a> = &'a [u64];

/// The afternoons of any word, as a half-day's index is odd in the afternoon and a word has an even number of bits.
const AFTERNOONS: u64 = 0xaaaa_aaaa_aaaa_aaaa;

impl HalfDaySets {
    /// So many empty sets.
    pub(crate) fn new(rows: usize, len: usize) -> Self {
        let words = len.div_ceil(64);
        Self { words, bits: vec![0; rows * words] }
    }
    /// The set of a row.
    #[inline]
    pub(crate) fn row(&self, row: usize) -> HalfDays<'_> {
        &self.bits[row * self.words..][..self.words]
    }
    /// Puts a half-day into a row's set, or takes it out.
    #[inline]
    pub(crate) fn put(&mut self, row: usize, h: usize, holds: bool) {
        let (word, bit) = (row * self.words + h / 64, 1 << (h % 64));
        if holds {
            self.bits[word] |= bit;
        } else {
            self.bits[word] &= !bit;
        }
    }
    /// Puts the half-days `from..before` into a row's set, or takes them out.
    pub(crate) fn fill(&mut self, row: usize, from: usize, before: usize, holds: bool) {
        if from < before {
            for word in from / 64..=(before - 1) / 64 {
                let bits = &mut self.bits[row * self.words + word];
                let mask = mask(word, from, before);
                *bits = if holds { *bits | mask } else { *bits & !mask };
            }
        }
    }
    /// Makes a row the same as in other sets for `from..before`; the words that this changes, as they were.
    pub(crate) fn copy(
        &mut self,
        other: &Self,
        row: usize,
        from: usize,
        before: usize,
        changed: &mut Vec<(usize, u64)>,
    ) {
        for word in from / 64..=(before - 1) / 64 {
            let (i, mask) = (row * self.words + word, mask(word, from, before));
            let bits = self.bits[i] & !mask | other.bits[i] & mask;
            if bits != self.bits[i] {
                changed.push((i, std::mem::replace(&mut self.bits[i], bits)));
            }
        }
    }
    /// Takes such changes back.
    pub(crate) fn restore(&mut self, changed: Vec<(usize, u64)>) {
        for (i, bits) in changed.into_iter().rev() {
            self.bits[i] = bits;
        }
    }
    /// Whether a row's set holds a half-day.
    #[inline]
    pub(crate) fn holds(&self, row: usize, h: usize) -> bool {
        holds(self.row(row), h)
    }
}

/// Whether a set holds a half-day.
#[inline]
pub(crate) fn holds(set: HalfDays<'_>, h: usize) -> bool {
    set[h / 64] >> (h % 64) & 1 == 1
}

/// The bits of the half-days `from..before` in a word.
#[inline]
fn mask(word: usize, from: usize, before: usize) -> u64 {
    let low = if word == from / 64 { u64::MAX << (from % 64) } else { u64::MAX };
    let high = if word == (before - 1) / 64 { u64::MAX >> (63 - (before - 1) % 64) } else { u64::MAX };
    low & high
}

/// The half-days of `first..=last` that a set holds, in their order.
#[inline]
pub(crate) fn each(set: HalfDays<'_>, first: usize, last: usize) -> Each<'_> {
    let mut each = Each { set, word: first / 64, bits: 0, first, before: last + 1 };
    if first <= last {
        each.bits = set[each.word] & mask(each.word, first, each.before);
    }
    each
}

/// See [`each`].
#[derive(Clone)]
pub(crate) struct Each<'a> {
    set: HalfDays<'a>,
    /// The word at hand, and what of it is still to come.
    word: usize,
    bits: u64,
    first: usize,
    before: usize,
}

impl Iterator for Each<'_> {
    type Item = usize;

    #[inline]
    fn next(&mut self) -> Option<usize> {
        while self.bits == 0 {
            self.word += 1;
            if self.word * 64 >= self.before {
                return None;
            }
            self.bits = self.set[self.word] & mask(self.word, self.first, self.before);
        }
        let bit = self.bits.trailing_zeros() as usize;
        self.bits &= self.bits - 1;
        Some(self.word * 64 + bit)
    }
}

/// Whether a set holds a half-day of `from..before`.
#[inline]
pub(crate) fn holds_within(set: HalfDays<'_>, from: usize, before: usize) -> bool {
    (from / 64..=(before - 1) / 64).any(|word| set[word] & mask(word, from, before) != 0)
}

/// The latest half-day of the range that all sets hold; of afternoons only, where asked.
pub(crate) fn latest<const N: usize>(
    sets: [HalfDays<'_>; N],
    range: RangeInclusive<usize>,
    afternoons: bool,
) -> Option<usize> {
    let (first, last) = (*range.start(), *range.end());
    if first > last {
        return None;
    }
    for word in (first / 64..=last / 64).rev() {
        let all = mask(word, first, last + 1) & if afternoons { AFTERNOONS } else { u64::MAX };
        let bits = sets.iter().fold(all, |bits, set| bits & set[word]);
        if bits != 0 {
            return Some(word * 64 + 63 - bits.leading_zeros() as usize);
        }
    }
    None
}

/// The first half-day from `from` on that the set holds.
#[inline]
pub(crate) fn next(set: HalfDays<'_>, from: usize) -> Option<usize> {
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
        let of = |first, last| each(sets.row(0), first, last).collect::<Vec<_>>();
        assert_eq!(
            (of(3, 65), of(65, 139), of(66, 69), of(5, 4)),
            (vec![3, 64, 65], vec![65, 70, 139], vec![], vec![])
        );
        assert!(holds_within(sets.row(0), 66, 71) && !holds_within(sets.row(0), 66, 70));
        assert_eq!((next(sets.row(0), 66), next(sets.row(1), 66)), (Some(70), Some(139)));
        assert_eq!((next(sets.row(0), 0), next(sets.row(1), 4)), (Some(3), Some(64)));
    }
}
