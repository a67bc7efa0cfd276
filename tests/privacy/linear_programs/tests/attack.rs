//! What a reader can work out from sums that were told: counts are at least 0, and sums are sums.

use microlp::{ComparisonOp, Error, OptimizationDirection, Problem};

/// What the solver's answers may be off by.
const SLACK: f64 = 1e-5;

/// So many counts, and what was told of them.
pub struct Attack {
    counts: usize,
    told: Vec<(Vec<usize>, u64)>,
}

impl Attack {
    /// Nothing is told yet.
    pub fn on(counts: usize) -> Self {
        let told = Vec::new();
        Self { counts, told }
    }

    /// The sum of some counts is told.
    pub fn told(&mut self, counts: impl IntoIterator<Item = usize>, sum: u64) {
        self.told.push((counts.into_iter().collect(), sum));
    }

    /// All counts, where the sum of some is as small or as large as it can be; `None` when it has
    /// no bound.
    fn extreme(&self, counts: &[usize], direction: OptimizationDirection) -> Option<Vec<f64>> {
        let mut problem = Problem::new(direction);
        let wanted = |i: usize| f64::from(u8::from(counts.contains(&i)));
        let variables: Vec<_> = (0..self.counts)
            .map(|i| problem.add_var(wanted(i), (0.0, f64::INFINITY)))
            .collect();
        for (told, sum) in &self.told {
            let terms: Vec<_> = told.iter().map(|i| (variables[*i], 1.0)).collect();
            problem.add_constraint(&terms, ComparisonOp::Eq, *sum as f64);
        }
        match problem.solve() {
            Ok(outcome) => {
                let solution = outcome.into_solution().unwrap();
                Some(variables.iter().map(|v| solution.var_value(*v)).collect())
            }
            Err(Error::Unbounded) => None,
            Err(error) => panic!("the true counts are a solution: {error}"),
        }
    }

    /// The least and the largest that the sum of some counts can be.
    pub fn range(&self, counts: &[usize]) -> (f64, f64) {
        let at = |direction, without_bound| {
            let solution = self.extreme(counts, direction);
            solution.map_or(without_bound, |all| sum(&all, counts))
        };
        (
            at(OptimizationDirection::Minimize, 0.0),
            at(OptimizationDirection::Maximize, f64::INFINITY),
        )
    }

    /// How many whole numbers the sum of some counts can be.
    pub fn values(&self, counts: &[usize]) -> f64 {
        whole_numbers(self.range(counts))
    }

    /// Those of `sums` for which only one whole number is left.
    ///
    /// Every solution found says of all sums what they can be, so few need a search of their own.
    pub fn given_back<'a>(&self, sums: &'a [Vec<usize>]) -> Vec<&'a Vec<usize>> {
        let mut seen = vec![(f64::INFINITY, f64::NEG_INFINITY); sums.len()];
        let mut given_back = Vec::new();
        for i in 0..sums.len() {
            for direction in [OptimizationDirection::Maximize, OptimizationDirection::Minimize] {
                if whole_numbers(seen[i]) >= 2.0 {
                    continue;
                }
                match self.extreme(&sums[i], direction) {
                    None => seen[i].1 = f64::INFINITY,
                    Some(all) => {
                        for (seen, counts) in seen.iter_mut().zip(sums) {
                            let sum = sum(&all, counts);
                            *seen = (seen.0.min(sum), seen.1.max(sum));
                        }
                    }
                }
            }
            if whole_numbers(seen[i]) < 2.0 {
                given_back.push(&sums[i]);
            }
        }
        given_back
    }
}

fn sum(all: &[f64], counts: &[usize]) -> f64 {
    counts.iter().map(|i| all[*i]).sum()
}

fn whole_numbers((least, largest): (f64, f64)) -> f64 {
    ((largest + SLACK).floor() - (least - SLACK).ceil() + 1.0).max(0.0)
}

/// A published table that looks safe and is not.
///
/// Delinquent children by county and education of the head of household: Federal Committee on
/// Statistical Methodology, Statistical Policy Working Paper 22, tables 1 to 4 (numbers from
/// memory; they add up). Numbers below 5 are hidden, and as many others that each row and column
/// with a hidden number has two. With a and b, c and d the hidden second and third numbers of
/// the first two rows, and x the fourth of the first:
///
/// ```text
/// rows 1 and 2      (15 + a + b + x) + (20 + c + d + 15) = 20 + 55
/// columns 2 and 3   (a + c + 10 + 14) + (b + d + 10 + 7) = 35 + 30
/// their difference  50 + x - 41 = 10, so x = 1
/// ```
#[test]
fn the_attack_finds_what_a_published_table_gives_back() {
    let table = [[15, 1, 3, 1], [20, 10, 10, 15], [3, 10, 10, 2], [12, 14, 7, 2]];
    let hidden = [(0, 1), (0, 2), (0, 3), (1, 1), (1, 2), (2, 0), (2, 3), (3, 0), (3, 3)];
    let mut attack = Attack::on(16);
    for (i, of_row) in table.iter().enumerate() {
        attack.told((0..4).map(|column| 4 * i + column), of_row.iter().sum());
        attack.told((0..4).map(|row| 4 * row + i), table.iter().map(|row| row[i]).sum());
        for (column, n) in of_row.iter().enumerate() {
            if !hidden.contains(&(i, column)) {
                attack.told([4 * i + column], *n);
            }
        }
    }
    let cells: Vec<Vec<usize>> = hidden.iter().map(|(row, column)| vec![4 * row + column]).collect();
    assert_eq!(attack.given_back(&cells), [&vec![3]]);
    // a and b add to 4 and keep what that allows.
    assert_eq!(attack.values(&[1]), 5.0);
    assert_eq!(attack.values(&[2]), 5.0);
}
