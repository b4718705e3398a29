//! Sets of small numbers, a bit each.

/// A set of small numbers.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Bits(Vec<u64>);

impl Bits {
    /// None of so many.
    pub fn none(len: usize) -> Self {
        Self(vec![0; len.div_ceil(64)])
    }

    /// Some of so many.
    pub fn of(len: usize, all: impl IntoIterator<Item = usize>) -> Self {
        let mut bits = Self::none(len);
        all.into_iter().for_each(|n| bits.put(n));
        bits
    }

    /// One more.
    pub fn put(&mut self, n: usize) {
        self.0[n / 64] |= 1 << (n % 64);
    }

    /// One less.
    pub fn drop(&mut self, n: usize) {
        self.0[n / 64] &= !(1 << (n % 64));
    }

    /// Whether it has one.
    pub fn has(&self, n: usize) -> bool {
        self.0[n / 64] >> (n % 64) & 1 == 1
    }

    /// Whether all of it is in another set.
    pub fn within(&self, other: &Self) -> bool {
        self.0.iter().zip(&other.0).all(|(a, b)| a & !b == 0)
    }

    /// Its members, in their order.
    pub fn all(&self) -> Members<'_> {
        Members::new(&self.0, &self.0)
    }

    /// What two have in common.
    pub fn common<'a>(&'a self, other: &'a Self) -> Members<'a> {
        Members::new(&self.0, &other.0)
    }

    /// How much two have in common.
    pub fn both(&self, other: &Self) -> u32 {
        self.0.iter().zip(&other.0).map(|(a, b)| (a & b).count_ones()).sum()
    }

    /// What of it is not in another set.
    pub fn without(&self, other: &Self) -> Self {
        Self(self.0.iter().zip(&other.0).map(|(a, b)| a & !b).collect())
    }

    /// How many it has.
    pub fn count(&self) -> u32 {
        self.0.iter().map(|word| word.count_ones()).sum()
    }
}

/// The members of a set, or of two together, in their order.
pub struct Members<'a> {
    of: &'a [u64],
    and: &'a [u64],
    word: u64,
    at: usize,
}

impl<'a> Members<'a> {
    fn new(of: &'a [u64], and: &'a [u64]) -> Self {
        let word = of.first().zip(and.first()).map_or(0, |(a, b)| a & b);
        Self { of, and, word, at: 0 }
    }
}

impl Iterator for Members<'_> {
    type Item = usize;

    fn next(&mut self) -> Option<usize> {
        while self.word == 0 {
            self.at += 1;
            self.word = self.of.get(self.at)? & self.and.get(self.at)?;
        }
        let bit = self.word.trailing_zeros() as usize;
        self.word &= self.word - 1;
        Some(64 * self.at + bit)
    }
}
