//! A small deterministic source of chance (SplitMix64).

/// Deterministic chance.
pub struct Dice(u64);

impl Dice {
    /// The same seed gives the same throws.
    pub fn new(seed: u64) -> Self {
        let mut dice = Self(seed ^ 0x5eed_0f5e_ed0f_5eed);
        dice.next();
        dice
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number in [from, to).
    pub fn between(&mut self, from: i64, to: i64) -> i64 {
        let width = (to - from).max(1) as u64;
        from + (self.next() % width) as i64
    }

    /// True in so many of a hundred throws.
    pub fn chance(&mut self, percent: i64) -> bool {
        self.between(0, 100) < percent
    }

    /// One of a list.
    pub fn pick<T: Clone>(&mut self, list: &[T]) -> T {
        list[self.between(0, list.len() as i64) as usize].clone()
    }

    /// One of a list by weight.
    pub fn weighted<T: Clone>(&mut self, list: &[(i64, T)]) -> T {
        let total = list.iter().map(|(weight, _)| weight).sum();
        let mut left = self.between(0, total);
        for (weight, one) in list {
            if left < *weight {
                return one.clone();
            }
            left -= weight;
        }
        list[0].1.clone()
    }

    /// Exactly at an edge, one before, or one after.
    pub fn near(&mut self, edge: i64) -> i64 {
        edge + self.between(-1, 2)
    }

    /// Mostly near one of the edges, otherwise anywhere in [from, to).
    pub fn around(&mut self, edges: &[i64], from: i64, to: i64) -> i64 {
        if self.chance(60) {
            let edge = self.pick(edges);
            self.near(edge)
        } else {
            self.between(from, to)
        }
    }
}
