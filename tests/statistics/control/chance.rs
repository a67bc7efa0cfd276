//! Steady series from a seeded generator: how often each rule speaks although nothing changed.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use siskin::statistics::control::chart::false_signals::{MONTHS, probability};
use siskin::statistics::control::chart::{Chart, Kind, Rule, Scale, Series, Why};
use siskin::statistics::control::dispersion::Dispersion;
use siskin::statistics::control::run_chart::{RunChart, allowed};
use siskin::statistics::control::{TAIL, change_point, p, u};

/// A stream of chance.
struct Chance(ChaCha8Rng);

impl Chance {
    fn of(seed: u64) -> Chance {
        Chance(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Uniform in (0, 1].
    fn share(&mut self) -> f64 {
        ((self.0.next_u64() >> 11) + 1) as f64 / (1u64 << 53) as f64
    }

    /// Standard normal, by the method of Box and Muller.
    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * self.share().ln()).sqrt();
        radius * (2.0 * std::f64::consts::PI * self.share()).cos()
    }

    /// Exponential of mean 1.
    fn exponential(&mut self) -> f64 {
        -self.share().ln()
    }

    /// Poisson: arrivals in a unit of time.
    fn poisson(&mut self, mean: f64) -> u64 {
        let mut time = self.exponential();
        let mut count = 0;
        while time < mean {
            time += self.exponential();
            count += 1;
        }
        count
    }

    /// Binomial: trials one by one.
    fn binomial(&mut self, trials: u64, chance: f64) -> u64 {
        (0..trials).filter(|_| self.share() <= chance).count() as u64
    }

    /// Geometric from 0 of this mean.
    fn geometric(&mut self, mean: f64) -> u64 {
        (self.exponential() / (1.0 / mean).ln_1p()) as u64
    }
}

/// A steady process.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Steady {
    /// Events a month as expected, at a rate.
    Rate(f64),
    /// Proportions of 200 about 0.2 whose chance varies with this standard deviation.
    Varying(f64),
    /// Normal values.
    Normal,
    /// Values whose logarithm is normal with this standard deviation, on the scale for them or not.
    LongTail(f64, Scale),
    /// Cases between events, 30 on average.
    Cases,
}

impl Steady {
    fn chart(self, months: usize, chance: &mut Chance) -> Chart {
        let values =
            |months: Vec<Option<f64>>, scale: Scale| Chart::of(Series::Values { months: &months, scale }, &[], &[]);
        match self {
            Steady::Rate(expected) => {
                let months: Vec<_> = (0..months).map(|_| Some((chance.poisson(expected), 100))).collect();
                Chart::of(
                    Series::Rates {
                        months: &months,
                        per: 1000.0,
                    },
                    &[],
                    &[],
                )
            }
            Steady::Varying(deviation) => {
                let mut month = || {
                    let of_month = 0.2 + deviation * chance.normal();
                    Some((chance.binomial(200, of_month), 200))
                };
                let months: Vec<_> = (0..months).map(|_| month()).collect();
                Chart::of(Series::Proportions(&months), &[], &[])
            }
            Steady::Normal => values((0..months).map(|_| Some(chance.normal())).collect(), Scale::Plain),
            Steady::LongTail(deviation, scale) => values(
                (0..months).map(|_| Some((deviation * chance.normal()).exp())).collect(),
                scale,
            ),
            Steady::Cases => {
                let counts: Vec<u64> = (0..months).map(|_| chance.geometric(30.0)).collect();
                Chart::of(Series::CasesBetween(&counts), &[], &[])
            }
        }
    }
}

/// Share of steady charts with a signal, of those whose kind is wanted: any rule, and runs alone.
fn signalling(steady: Steady, months: usize, charts: usize, is_wanted: impl Fn(Kind) -> bool) -> (f64, f64) {
    let mut chance = Chance::of(months as u64);
    let (mut wanted, mut any, mut by_runs) = (0.0, 0.0, 0.0);
    for _ in 0..charts {
        let chart = steady.chart(months, &mut chance);
        if !is_wanted(chart.phases[0].kind) {
            continue;
        }
        wanted += 1.0;
        any += f64::from(u8::from(!chart.signals.is_empty()));
        by_runs += f64::from(u8::from(
            chart.signals.iter().any(|signal| signal.rule != Rule::BeyondLimit),
        ));
    }
    assert!(wanted > 0.5 * charts as f64, "{steady:?}: {wanted} of {charts}");
    (any / wanted, by_runs / wanted)
}

/// The processes behind the rows of the table.
const ROWS: [(Kind, Steady); 5] = [
    (Kind::U, Steady::Rate(20.0)),
    (Kind::UExact, Steady::Rate(3.0)),
    (Kind::LaneyP, Steady::Varying(0.08)),
    (Kind::Individuals, Steady::Normal),
    (Kind::G, Steady::Cases),
];

const RUNS: Kind = Kind::RunOnly(Why::NoSpread);

/// Probability that a steady series of an even number of different values breaks a rule of runs:
/// of all orders of as many values above as below the median, those counted one value at a time.
/// `coins` leaves the number above to chance instead, as when the median is known beforehand.
fn run_rules_exactly(useful: usize, coins: bool) -> f64 {
    use std::collections::BTreeMap;
    let limits = allowed(useful).unwrap();
    let each_side = if coins { useful } else { useful / 2 };
    // Values above and below so far, whether the last was above, length of its run, crossings.
    let mut ways: BTreeMap<(usize, usize, bool, usize, usize), f64> = BTreeMap::new();
    ways.insert((1, 0, true, 1, 0), 1.0);
    ways.insert((0, 1, false, 1, 0), 1.0);
    let mut all = 2.0;
    for placed in 1..useful {
        let mut next = BTreeMap::new();
        for ((above, below, was_above, length, crossings), count) in ways {
            for is_above in [true, false] {
                let (above, below) = (above + usize::from(is_above), below + usize::from(!is_above));
                let length = if is_above == was_above { length + 1 } else { 1 };
                let crossings = crossings + usize::from(is_above != was_above);
                if above <= each_side && below <= each_side && length <= limits.longest {
                    *next.entry((above, below, is_above, length, crossings)).or_insert(0.0) += count;
                }
            }
        }
        ways = next;
        all *= if coins {
            2.0
        } else if placed % 2 == 1 {
            // From the central binomial coefficient of one size to the next, in two halves.
            1.0
        } else {
            let half = (placed / 2 + 1) as f64;
            (4.0 * half - 2.0) / half
        };
    }
    let kept: f64 = ways
        .iter()
        .filter(|(state, _)| state.4 >= limits.crossings)
        .map(|(_, count)| count)
        .sum();
    1.0 - kept / all
}

/// Too few crossings alone among as many above as below: Swed FS, Eisenhart C (1943) Ann Math Stat
/// 14:66-87, table I: six or fewer runs of 10 and 10 have a probability of 0.019 (from memory), of
/// 5 and 5 two runs or fewer 2/252. A run of more than 6 of 5 is impossible.
#[test]
fn false_signals_of_runs_are_counted_exactly() {
    assert!((run_rules_exactly(10, false) - 2.0 / 252.0).abs() < 1e-12);
    // Of 12: two or three runs, 2 + 2 * 5 of 924 orders; a run of more than 7 of 6 is impossible.
    assert!((run_rules_exactly(12, false) - 12.0 / 924.0).abs() < 1e-12);
    let of_20 = run_rules_exactly(20, false);
    assert!(of_20 > 0.018 && of_20 < 0.025, "{of_20}");
    // Ten tosses of a coin: one crossing or none (2 + 18 orders of 1024), or a run of seven or more.
    let tosses: u32 = (0..1024_u32)
        .filter(|order| {
            let sides: Vec<bool> = (0..10).map(|bit| order >> bit & 1 == 1).collect();
            let runs: Vec<usize> = sides.chunk_by(|a, b| a == b).map(<[bool]>::len).collect();
            runs.len() < 3 || runs.iter().any(|run| *run > 6)
        })
        .count() as u32;
    assert!((run_rules_exactly(10, true) - f64::from(tosses) / 1024.0).abs() < 1e-12);
}

#[test]
fn steady_series_break_the_rules_of_runs_as_often_as_counted() {
    for months in [10, 12, 20, 24, 36] {
        let mut chance = Chance::of(3);
        let series = 4000;
        let mut broken = 0.0;
        for _ in 0..series {
            let values: Vec<Option<f64>> = (0..months).map(|_| Some(chance.normal())).collect();
            let of = RunChart::of(&values).unwrap();
            broken += f64::from(u8::from(of.crosses_too_rarely() || of.too_long().next().is_some()));
        }
        let (found, exact) = (broken / f64::from(series), run_rules_exactly(months, false));
        let error = (exact * (1.0 - exact) / f64::from(series)).sqrt();
        assert!(
            (found - exact).abs() < 4.0 * error,
            "{months}: {found}, counted {exact}"
        );
    }
}

/// By definition of the limits: what lies outside on each side, summed from the distribution.
#[test]
fn exact_limits_leave_no_more_outside_than_three_sigma_of_a_normal_curve() {
    let mut most_by_three_sigma: f64 = 0.0;
    for (chance, trials) in [(0.01, 60), (0.02, 100), (0.05, 40), (0.3, 12), (0.97, 80), (0.99, 300)] {
        let mut term = (1.0_f64 - chance).powi(trials);
        let mut terms = vec![term];
        for count in 0..trials {
            term *= f64::from(trials - count) / f64::from(count + 1) * chance / (1.0 - chance);
            terms.push(term);
        }
        let outside = |limits: siskin::statistics::control::Limits| {
            let share = |count: usize| count as f64 / f64::from(trials);
            let part = |is: &dyn Fn(f64) -> bool| -> f64 {
                let of = terms.iter().enumerate().filter(|(count, _)| is(share(*count)));
                of.map(|(_, term)| term).sum()
            };
            (part(&|x| x < limits.lower), part(&|x| x > limits.upper))
        };
        let (below, above) = outside(p::exact(chance, trials as u64).unwrap());
        assert!(below < TAIL && above < TAIL, "{chance} of {trials}: {below}, {above}");
        let (below, above) = outside(p::three_sigma(chance, trials as u64).unwrap());
        most_by_three_sigma = most_by_three_sigma.max(below).max(above);
    }
    assert!(most_by_three_sigma > 0.015, "{most_by_three_sigma}");
    assert!(u::needs_exact(4.9, 1.0) && !u::needs_exact(5.0, 1.0));
}

#[test]
fn steady_charts_signal_as_often_as_the_table_says() {
    let charts = 600;
    for (kind, steady) in ROWS {
        for months in [12, 24, 36] {
            let (found, _) = signalling(steady, months, charts, |of| of == kind);
            let expected = probability(kind, months);
            let error = (expected * (1.0 - expected) / charts as f64).sqrt();
            assert!(
                (found - expected).abs() < 4.0 * error + 0.005,
                "{kind:?} {months}: {found}, table {expected}"
            );
        }
    }
}

#[test]
fn the_table_of_runs_is_the_counted_one() {
    for months in [10, 12, 16, 20, 24, 30, 36] {
        let (table, exact) = (probability(RUNS, months), run_rules_exactly(months, false));
        assert!(
            (table - exact).abs() <= 0.0005 + 1e-9,
            "{months}: {table}, counted {exact}"
        );
    }
}

/// Values with a long tail upwards signal too often as they are, and hardly more often than normal
/// ones on the scale made for them.
#[test]
fn the_scale_of_a_long_tail_saves_false_signals() {
    let share = |steady| signalling(steady, 24, 600, |kind| kind == Kind::Individuals).0;
    let plain = share(Steady::LongTail(0.3, Scale::Plain));
    let on_scale = share(Steady::LongTail(0.3, Scale::LongTail));
    assert!(plain > 0.17 && on_scale < 0.13, "{plain}, {on_scale}");
}

/// With so many values on the median, runs would signal in most of these.
#[test]
fn months_without_a_rare_event_make_no_runs() {
    for expected in [0.1, 0.5, 1.0] {
        let (any, by_runs) = signalling(Steady::Rate(expected), 36, 600, |kind| kind == Kind::UExact);
        assert!(any < 0.09 && by_runs < 0.05, "{expected}: {any}, {by_runs}");
    }
}

#[test]
fn few_steady_months_are_called_overdispersed() {
    let mut chance = Chance::of(11);
    let series = 2000;
    let mut found = 0.0;
    for _ in 0..series {
        let months: Vec<(u64, f64)> = (0..12).map(|_| (chance.poisson(20.0), 1.0)).collect();
        found += f64::from(u8::from(Dispersion::of_rates(&months).unwrap().is_more_than_chance()));
    }
    let share = found / f64::from(series);
    assert!(share > 0.03 && share < 0.09, "{share}");
}

/// Share of steady series whose change has a p value under the level.
fn sizes(months: usize, series: usize, level: f64, change: impl Fn(usize, &mut Chance) -> Option<f64>) -> f64 {
    let mut chance = Chance::of(5);
    let p_values = (0..series).map(|_| change(months, &mut chance).unwrap_or(1.0));
    p_values.filter(|p_value| *p_value < level).count() as f64 / series as f64
}

type Size = fn(usize, &mut Chance) -> Option<f64>;

const SIZES: [(&str, Size); 4] = [
    ("values", |months, chance| {
        let values: Vec<f64> = (0..months).map(|_| chance.normal()).collect();
        change_point::values(&values).map(|change| change.p_value)
    }),
    ("rates, 1 expected", |months, chance| {
        let months: Vec<(u64, f64)> = (0..months).map(|_| (chance.poisson(1.0), 1.0)).collect();
        change_point::rates(&months, 1.0).map(|change| change.p_value)
    }),
    ("rates, 10 expected, uneven", |months, chance| {
        let exposure = |index| if index % 3 == 0 { 0.5 } else { 1.25 };
        let month = |index| (chance.poisson(10.0 * exposure(index)), exposure(index));
        let months: Vec<(u64, f64)> = (0..months).map(month).collect();
        change_point::rates(&months, 1.0).map(|change| change.p_value)
    }),
    ("proportions, 3 of 10 expected", |months, chance| {
        let months: Vec<(u64, u64)> = (0..months).map(|_| (chance.binomial(10, 0.3), 10)).collect();
        change_point::proportions(&months, 1.0).map(|change| change.p_value)
    }),
];

#[test]
fn a_steady_series_seldom_seems_to_have_changed() {
    for (name, change) in SIZES {
        let share = sizes(24, 600, 0.05, change);
        assert!(share > 0.025 && share < 0.085, "{name}: {share}");
    }
}

/// The whole table, long: charts and months as printed in the documentation.
#[test]
#[ignore = "minutes"]
fn the_whole_table_of_false_signals_holds() {
    let charts = 20_000;
    let per_cent = |share: f64| format!("{:5.1}", 100.0 * share);
    let row = |name: &str, shares: &[f64]| {
        let text: Vec<String> = shares.iter().map(|share| per_cent(*share)).collect();
        println!("{name:40} {}", text.join(" "));
    };
    let exact = |coins| MONTHS.map(|months| run_rules_exactly(months, coins));
    row("runs, counted", &exact(false));
    row("runs, known median, counted", &exact(true));
    let mut apart: f64 = 0.0;
    for (kind, steady) in ROWS {
        let whole = MONTHS.map(|months| {
            let is_wanted = |of| of == kind || months < 12;
            signalling(steady, months, charts, is_wanted)
        });
        row(&format!("{kind:?}, {steady:?}"), &whole.map(|share| share.0));
        row("    runs alone", &whole.map(|share| share.1));
        for (months, (found, _)) in MONTHS.iter().zip(whole).filter(|(months, _)| **months >= 12) {
            apart = apart.max((found - probability(kind, *months)).abs());
        }
    }
    for steady in [
        Steady::Rate(5.5),
        Steady::Rate(10.0),
        Steady::Rate(40.0),
        Steady::Rate(1.0),
        Steady::Rate(0.3),
        Steady::Varying(0.05),
        Steady::LongTail(0.3, Scale::LongTail),
        Steady::LongTail(0.3, Scale::Plain),
    ] {
        let whole = MONTHS.map(|months| signalling(steady, months, charts / 5, |_| true).0);
        row(&format!("{steady:?}"), &whole);
    }
    for (name, change) in SIZES {
        for months in [12, 24, 36] {
            let at = |level| sizes(months, 4000, level, change);
            row(&format!("{name}, {months}: 10, 5, 1 %"), &[at(0.1), at(0.05), at(0.01)]);
        }
    }
    assert!(apart < 0.006, "{apart}");
}
