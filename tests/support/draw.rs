//! Seeded random choices: the same seed gives the same book on every machine.

/// A stream of random numbers (splitmix64: Steele, Lea and Flood, "Fast Splittable Pseudorandom Number Generators", 2014).
pub struct Draw(u64);

impl Draw {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    /// 0 to `n` - 1.
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }
    /// `least` to `most`, both included.
    pub fn between(&mut self, least: usize, most: usize) -> usize {
        least + self.below(most - least + 1)
    }
    /// True in so many of a hundred.
    pub fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }
    /// One of them.
    pub fn pick<T: Clone>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())].clone()
    }
    /// From 0 up to 1.
    pub fn share(&mut self) -> f64 {
        self.below(1 << 30) as f64 / f64::from(1 << 30)
    }
}
