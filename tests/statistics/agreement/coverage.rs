//! How often 95 % intervals hold the truth, in invented samples with a fixed seed.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use siskin::statistics::Interval;
use siskin::statistics::agreement::LIMIT;
use siskin::statistics::agreement::bland_altman::agreement;
use siskin::statistics::agreement::concordance::concordance;
use siskin::statistics::agreement::deming::deming;
use siskin::statistics::agreement::passing_bablok::passing_bablok;
use siskin::statistics::agreement::repeated::repeated;
use siskin::statistics::agreement::roc;

/// Normal numbers (Box GEP, Muller ME (1958) Ann Math Stat 29:610-611).
struct Normal(ChaCha8Rng);

impl Normal {
    fn next(&mut self) -> f64 {
        let unit = |bits: u64| ((bits >> 11) as f64 + 0.5) / (1_u64 << 53) as f64;
        let (one, other) = (unit(self.0.next_u64()), unit(self.0.next_u64()));
        (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * other).cos()
    }

    fn with(&mut self, mean: f64, sd: f64) -> f64 {
        mean + sd * self.next()
    }
}

/// How often an interval held the truth, and on which side it missed it.
#[derive(Default)]
struct Held {
    below: u32,
    within: u32,
    above: u32,
}

impl Held {
    fn count(&mut self, interval: Interval, truth: f64) {
        if truth < interval.lower {
            self.below += 1;
        } else if truth > interval.upper {
            self.above += 1;
        } else {
            self.within += 1;
        }
    }

    /// Prints a row, and asserts that the share lies between the two, in percent.
    fn shows(&self, what: &str, least: f64, most: f64) {
        let all = f64::from(self.below + self.within + self.above);
        let [below, within, above] = [self.below, self.within, self.above].map(|n| 100.0 * f64::from(n) / all);
        println!("{what:<58} {within:5.1} %, truth below {below:4.1}, above {above:4.1}");
        assert!(least <= within && within <= most, "{what}: {within} % of {all}");
    }
}

/// Differences of mean 5 and deviation 15, 20 babies of one pair.
fn limits(runs: u32) {
    let mut random = Normal(ChaCha8Rng::seed_from_u64(1));
    let (mut bias, mut lower, mut upper, mut slope) = <(Held, Held, Held, Held)>::default();
    for _ in 0..runs {
        let pairs: Vec<(f64, f64)> = (0..20)
            .map(|_| {
                let (mean, apart) = (random.with(200.0, 50.0), random.with(5.0, 15.0));
                (mean + apart / 2.0, mean - apart / 2.0)
            })
            .collect();
        let found = agreement(&pairs).unwrap();
        bias.count(found.bias_interval, 5.0);
        lower.count(found.lower_interval, 5.0 - LIMIT * 15.0);
        upper.count(found.upper_interval, 5.0 + LIMIT * 15.0);
        slope.count(found.proportional.unwrap().slope_interval, 0.0);
    }
    bias.shows("Bland-Altman, 20 pairs: bias", 94.0, 96.0);
    lower.shows("Bland-Altman, 20 pairs: lower limit", 93.0, 96.0);
    upper.shows("Bland-Altman, 20 pairs: upper limit", 93.0, 96.0);
    slope.shows("Bland-Altman, 20 pairs: proportional bias", 94.0, 96.0);
}

/// Deviation 12 between babies and 9 within.
fn bias_by_babies(runs: u32) {
    let few: &[usize] = &[1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 2, 2, 2, 3, 3, 6];
    for (name, pairs_of) in [("20 babies of 1 to 6", few), ("10 babies of 5", &[5; 10])] {
        let mut random = Normal(ChaCha8Rng::seed_from_u64(2));
        let mut bias = Held::default();
        for _ in 0..runs {
            let babies: Vec<Vec<(f64, f64)>> = pairs_of
                .iter()
                .map(|count| {
                    let own = random.with(5.0, 12.0);
                    (0..*count).map(|_| (200.0 + random.with(own, 9.0), 200.0)).collect()
                })
                .collect();
            let found = repeated(&babies).unwrap();
            bias.count(found.bias_interval, 5.0);
        }
        bias.shows(&format!("Several pairs, {name}: bias"), 94.0, 96.0);
    }
}

/// Both methods err by 10 about a truth of deviation 50; the second reads 1.0 x + 0.
fn lines(runs: u32) {
    let mut random = Normal(ChaCha8Rng::seed_from_u64(3));
    let (mut of_deming, mut of_passing, mut agreeing) = <(Held, Held, Held)>::default();
    for _ in 0..runs {
        let pairs: Vec<(f64, f64)> = (0..40)
            .map(|_| {
                let truth = random.with(200.0, 50.0);
                (random.with(truth, 10.0), random.with(truth, 10.0))
            })
            .collect();
        let line = deming(&pairs, 1.0).unwrap();
        of_deming.count(line.slope_interval.unwrap(), 1.0);
        of_passing.count(passing_bablok(&pairs, 0.95).unwrap().slope_interval.unwrap(), 1.0);
        agreeing.count(concordance(&pairs).unwrap().interval.unwrap(), 2500.0 / 2600.0);
    }
    of_deming.shows("Deming, 40 pairs: slope", 93.0, 96.5);
    of_passing.shows("Passing-Bablok, 40 pairs: slope", 93.5, 97.0);
    agreeing.shows("Concordance, 40 pairs", 93.5, 96.5);
}

/// Scores of positives lie one deviation higher: the area is the normal integral at 1/sqrt(2),
/// 0.760250 of any table.
fn areas(runs: u32) {
    let mut random = Normal(ChaCha8Rng::seed_from_u64(4));
    let mut held = Held::default();
    for _ in 0..runs {
        let scored: Vec<(f64, bool)> = (0..100)
            .map(|i| (random.with(if i < 40 { 1.0 } else { 0.0 }, 1.0), i < 40))
            .collect();
        held.count(roc::area(&scored).unwrap().interval.unwrap(), 0.760_250);
    }
    held.shows("DeLong, 40 positives and 60 negatives: area", 93.0, 96.5);
}

#[test]
fn intervals_hold_the_truth_about_as_often_as_they_say() {
    limits(2_000);
    bias_by_babies(2_000);
    lines(2_000);
    areas(2_000);
}

/// The same with shares to about 0.2 %; `--nocapture` prints them.
#[test]
#[ignore = "a minute"]
fn intervals_hold_the_truth_in_many_more_samples() {
    limits(40_000);
    bias_by_babies(40_000);
    lines(20_000);
    areas(40_000);
}
