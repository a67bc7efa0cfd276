//! Chance: one ChaCha stream per baby, pregnancy or meter, and the few distributions drawn from it.
//!
//! Only sums, products and quotients are used, never the platform's `exp` or `ln`, so that one
//! seed gives one sequence of bytes on every machine.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Whose chance a stream is: keeps the numbers of babies, pregnancies and meters apart.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Stream {
    /// A baby, by running number.
    Baby,
    /// A pregnancy, by the running number of its first baby.
    Pregnancy,
    /// Whether two neighbouring births are twins, by the running number of the first.
    Twins,
    /// A meter, by its number in the network.
    Meter,
}

/// A stream of chance.
#[derive(Debug)]
pub(crate) struct Dice(ChaCha8Rng);

impl Dice {
    /// The stream of one subject under one seed.
    pub(crate) fn new(seed: u64, stream: Stream, number: u64) -> Dice {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(((stream as u64) << 60) | number);
        Dice(rng)
    }

    /// Uniform in [0, 1).
    pub(crate) fn share(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// True with probability `p`.
    pub(crate) fn chance(&mut self, p: f64) -> bool {
        self.share() < p
    }

    /// Uniform in [low, high).
    pub(crate) fn between(&mut self, [low, high]: [f64; 2]) -> f64 {
        low + (high - low) * self.share()
    }

    /// In [low, high), the lower end more often: the square of a uniform share.
    pub(crate) fn early_in(&mut self, [low, high]: [f64; 2]) -> f64 {
        let share = self.share();
        low + (high - low) * share * share
    }

    /// A uniform span between two hours, in seconds.
    pub(crate) fn span_s(&mut self, hours: [f64; 2]) -> i64 {
        (self.between(hours) * 3600.0) as i64
    }

    /// A span between two hours, more often short, in seconds.
    pub(crate) fn early_span_s(&mut self, hours: [f64; 2]) -> i64 {
        (self.early_in(hours) * 3600.0) as i64
    }

    /// Mean 0, standard deviation 1, within 6 (Irwin-Hall: twelve uniforms less six).
    pub(crate) fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.share()).sum::<f64>() - 6.0
    }

    /// An index below `count`; 0 when there is nothing to choose.
    pub(crate) fn index(&mut self, count: usize) -> usize {
        ((self.share() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// One of `items`, by weight; the last when the weights add up to nothing.
    pub(crate) fn pick<'a, T>(&mut self, items: &'a [T], weight: impl Fn(&T) -> f64) -> &'a T {
        let total: f64 = items.iter().map(&weight).sum();
        let mut left = self.share() * total;
        for item in items {
            left -= weight(item);
            if left < 0.0 {
                return item;
            }
        }
        &items[items.len() - 1]
    }
}

/// e to the power `x`, for `x` in about [-40, 5]: (1 + x/1024)^1024, by ten squarings.
///
/// Good to 1 % for |x| below 4, which is ample for an invented curve; below -1024 it is 0.
pub(crate) fn exp(x: f64) -> f64 {
    let mut value = (1.0 + x / 1024.0).max(0.0);
    for _ in 0..10 {
        value *= value;
    }
    value
}

/// Spreads running numbers over a range of identifiers, so that an identifier gives nothing away.
///
/// The map `n -> (n * step + start) mod size` is one-to-one because the step has no factor in
/// common with ten.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Scatter {
    size: u64,
    step: u64,
    start: u64,
    digits: usize,
}

impl Scatter {
    /// A spread for running numbers below `count`.
    pub(crate) fn new(seed: u64, count: u64) -> Scatter {
        let mut digits = 6;
        let mut size = 1_000_000u64;
        while size < count {
            size *= 10;
            digits += 1;
        }
        let golden = size / 1000 * 618 + 21;
        let step = golden - golden % 10 + 1;
        Scatter {
            size,
            step,
            start: (seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 8) % size,
            digits,
        }
    }

    /// The identifier's number.
    pub(crate) fn number(&self, running: u64) -> u64 {
        let product = u128::from(running) * u128::from(self.step) + u128::from(self.start);
        (product % u128::from(self.size)) as u64
    }

    /// Writes the identifier: a letter and zero-padded digits.
    pub(crate) fn write(&self, out: &mut String, letter: char, running: u64) {
        use std::fmt::Write;
        let _ = write!(out, "{letter}{:0w$}", self.number(running), w = self.digits);
    }
}
