//! Random counts; the seed decides everything.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

pub struct Chance(ChaCha8Rng);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// A whole number from `least` to `most`, both included.
    pub fn between(&mut self, least: u64, most: u64) -> u64 {
        least + self.0.next_u64() % (most - least + 1)
    }

    /// One of a list.
    pub fn pick<T: Copy>(&mut self, list: &[T]) -> T {
        list[self.between(0, list.len() as u64 - 1) as usize]
    }

    /// How many of so many cases, each with a chance of so many in a thousand.
    pub fn of(&mut self, cases: u64, per_thousand: u64) -> u64 {
        (0..cases).filter(|_| self.between(1, 1000) <= per_thousand).count() as u64
    }
}
