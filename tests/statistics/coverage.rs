//! How often the intervals of shares, counts, times and means hold the truth in invented samples.
//! `cargo test coverage -- --nocapture` prints the table, with more samples when ignored tests run.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use siskin::statistics::clustered::clustered;
use siskin::statistics::means::welch;
use siskin::statistics::proportion::{clopper_pearson, newcombe, wilson};
use siskin::statistics::survival::{End, aalen_johansen, log_rank};
use siskin::statistics::{Interval, binomial, poisson, summary};

struct Chance(ChaCha8Rng);

impl Chance {
    fn share(&mut self) -> f64 {
        ((self.0.next_u64() >> 11) + 1) as f64 / (1u64 << 53) as f64
    }

    fn exponential(&mut self, mean: f64) -> f64 {
        -self.share().ln() * mean
    }

    fn normal(&mut self) -> f64 {
        (-2.0 * self.share().ln()).sqrt() * (2.0 * std::f64::consts::PI * self.share()).cos()
    }

    fn binomial(&mut self, trials: u64, p: f64) -> u64 {
        (0..trials).filter(|_| self.share() <= p).count() as u64
    }

    fn poisson(&mut self, mean: f64) -> u64 {
        let (mut time, mut count) = (self.exponential(1.0), 0);
        while time < mean {
            time += self.exponential(1.0);
            count += 1;
        }
        count
    }
}

/// Per cent of samples whose interval holds the truth; one without an interval does not.
fn held(seed: u64, samples: u32, truth: f64, mut interval: impl FnMut(&mut Chance) -> Option<Interval>) -> f64 {
    let mut chance = Chance(ChaCha8Rng::seed_from_u64(seed));
    let holds = |of: Interval| of.lower <= truth && truth <= of.upper;
    let count = (0..samples)
        .filter(|_| interval(&mut chance).is_some_and(holds))
        .count();
    100.0 * count as f64 / f64::from(samples)
}

/// Exactly, over all counts: per cent of their probability with an interval that holds p.
fn held_exactly(trials: u64, p: f64, interval: fn(u64, u64) -> Option<Interval>) -> f64 {
    let below = |x: u64| binomial::cdf(x, trials, p).unwrap();
    let probability = |x: u64| below(x) - if x == 0 { 0.0 } else { below(x - 1) };
    let holds = |x: &u64| interval(*x, trials).is_some_and(|of| of.lower <= p && p <= of.upper);
    100.0 * (0..=trials).filter(holds).map(probability).sum::<f64>()
}

/// Hours until an exponential event of mean 6 or a competing one of mean 60, cut short at 24 or at
/// a transfer of mean 200.
fn follow_ups(chance: &mut Chance, n: usize) -> Vec<(f64, End)> {
    let one = |_| {
        let times = [
            (chance.exponential(6.0), End::Event),
            (chance.exponential(60.0), End::Competing),
            (chance.exponential(200.0), End::Censored),
            (24.0, End::Censored),
        ];
        times.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)).unwrap()
    };
    (0..n).map(one).collect()
}

/// Name of an interval, per cent that hold the truth, and the least and most to be accepted.
type Row = (String, f64, f64, f64);

fn rows(samples: u32) -> Vec<Row> {
    let mut rows = Vec::new();
    for (trials, p) in [(20, 0.05), (81, 0.05), (81, 0.5), (600, 0.01)] {
        let name = |what: &str| format!("{what}, {trials} trials at {p}");
        rows.push((name("Wilson (exactly)"), held_exactly(trials, p, wilson), 91.0, 99.0));
        // Never under its level: that is what it is for.
        rows.push((
            name("Clopper-Pearson (exactly)"),
            held_exactly(trials, p, clopper_pearson),
            95.0,
            100.0,
        ));
    }
    for (n, p, m, q) in [(80, 0.06, 80, 0.06), (80, 0.2, 40, 0.05), (20, 0.5, 20, 0.1)] {
        let of = held(1, samples, p - q, |chance| {
            let found = newcombe((chance.binomial(n, p), n), (chance.binomial(m, q), m))?;
            Some(Interval {
                lower: found.lower,
                upper: found.upper,
            })
        });
        rows.push((format!("Newcombe, {n} at {p} and {m} at {q}"), of, 93.0, 99.0));
    }
    for mean in [0.5, 3.0, 20.0] {
        let of = held(2, samples, mean, |chance| Some(poisson::exact(chance.poisson(mean))));
        rows.push((format!("Poisson, mean {mean}"), of, 94.0, 100.0));
    }
    // One to six obligations of a baby, whose own chance is 0.6 or 1, half each.
    let of = held(3, samples, 0.8, |chance| {
        let baby = |_| {
            let n = 1 + (chance.share() * 5.999) as u64;
            let p = if chance.share() < 0.5 { 0.6 } else { 1.0 };
            (chance.binomial(n, p), n)
        };
        clustered(&(0..50).map(baby).collect::<Vec<_>>())
    });
    rows.push(("clustered, 50 babies of 1 to 6".to_owned(), of, 93.0, 98.0));
    // Incidence by 6 h with both causes: 1/6 of (1/6 + 1/60) of 1 - exp(-6 (1/6 + 1/60)).
    let (event, competing) = (1.0 / 6.0, 1.0 / 60.0);
    let incidence = |hours: f64| event / (event + competing) * (1.0 - (-(event + competing) * hours).exp());
    for n in [20, 80] {
        let of = held(4, samples, incidence(6.0), |chance| {
            aalen_johansen::interval_by(&follow_ups(chance, n), 6.0)
        });
        rows.push((format!("incidence by 6 h, {n} followed"), of, 92.5, 98.0));
        let median = -(1.0 - 0.5 * (event + competing) / event).ln() / (event + competing);
        let of = held(5, samples, median, |chance| {
            let limits = aalen_johansen::median_interval(&aalen_johansen::incidence(&follow_ups(chance, n)));
            Some(Interval {
                lower: limits.lower?,
                upper: limits.upper.unwrap_or(f64::INFINITY),
            })
        });
        rows.push((format!("median of an incidence, {n} followed"), of, 92.5, 98.5));
        let without = |chance: &mut Chance| -> Vec<(f64, End)> {
            let all = follow_ups(chance, n).into_iter();
            all.map(|(time, end)| (time, if end == End::Event { end } else { End::Censored }))
                .collect()
        };
        let of = held(8, samples, 1.0, |chance| {
            // Holds 1 when the test of two alike groups does not reject.
            let p = log_rank::log_rank(&without(chance), &without(chance))?;
            let end = if p < 0.05 { 2.0 } else { 1.0 };
            Some(Interval { lower: end, upper: end })
        });
        rows.push((format!("log-rank of two alike groups of {n}"), of, 93.0, 97.0));
    }
    for n in [10, 40] {
        let of = held(9, samples, 2.0_f64.ln() * 6.0, |chance| {
            let hours: Vec<f64> = (0..n).map(|_| chance.exponential(6.0)).collect();
            summary::median(&hours)?.interval
        });
        rows.push((format!("median by ranks, {n} values"), of, 94.0, 99.0));
    }
    let of = held(10, samples, -15.0, |chance| {
        let dark: Vec<f64> = (0..12).map(|_| -15.0 + 20.0 * chance.normal()).collect();
        let rest: Vec<f64> = (0..60).map(|_| 12.0 * chance.normal()).collect();
        Some(welch(&dark, &rest)?.interval)
    });
    rows.push(("Welch, 12 and 60 of unequal spread".to_owned(), of, 93.5, 96.5));
    rows
}

fn assert_near(samples: u32) {
    let rows = rows(samples);
    for (name, held, ..) in &rows {
        println!("{name:<45} {held:.1}");
    }
    for (name, held, least, most) in rows {
        assert!((least..=most).contains(&held), "{name}: {held:.2} %");
    }
}

#[test]
fn coverage_of_intervals_is_near_nominal() {
    assert_near(2_000);
}

#[test]
#[ignore = "takes a minute; see tests/README.md"]
fn coverage_of_intervals_is_near_nominal_in_many_samples() {
    assert_near(20_000);
}
