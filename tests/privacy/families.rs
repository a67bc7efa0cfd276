//! Random figures over months, and the order in which their sums are handed over.

use siskin::privacy::series::Span;

use super::attack::Attack;
use super::chance::Chance;

/// The cases of a figure by outcome and month.
pub struct Family {
    pub counts: Vec<Vec<u64>>,
    /// What is handed over, in order.
    pub asked: Vec<Span>,
}

impl Family {
    /// Rare and frequent outcomes, months without cases, small and large networks.
    pub fn random(seed: u64, outcomes: usize) -> Self {
        let mut chance = Chance::new(seed);
        let months = chance.between(13, 36) as usize;
        let (fewest, most) = chance.pick(&[(0, 6), (3, 15), (10, 40), (60, 120)]);
        let rates: Vec<u64> = (1..outcomes).map(|_| chance.pick(&[4, 20, 60, 150, 400])).collect();
        let empty = chance.pick(&[0, 0, 100, 300]);
        let mut counts = vec![Vec::new(); outcomes];
        for _ in 0..months {
            let mut left = if chance.of(1, empty) == 1 {
                0
            } else {
                chance.between(fewest, most)
            };
            for (of_outcome, rate) in counts.iter_mut().zip(&rates) {
                let n = chance.of(left, *rate);
                of_outcome.push(n);
                left -= n;
            }
            counts[outcomes - 1].push(left);
        }
        let asked = handed_over(months, chance.between(0, 11) as usize);
        Self { counts, asked }
    }

    pub fn months(&self) -> usize {
        self.counts[0].len()
    }

    /// The sum of an outcome over a span, and the total.
    pub fn sums(&self, outcome: usize, span: Span) -> (u64, u64) {
        let of = |counts: &Vec<u64>| counts[span.first..=span.last].iter().sum::<u64>();
        (of(&self.counts[outcome]), self.counts.iter().map(of).sum())
    }

    /// Whether the outcome over the span, or the rest of the total, is 1 to `hide_below` - 1.
    pub fn is_small(&self, outcome: usize, span: Span, hide_below: u64) -> bool {
        let (n, total) = self.sums(outcome, span);
        [n, total - n].iter().any(|count| (1..hide_below).contains(count))
    }

    /// Where the cells of an outcome over a span stand in an attack.
    pub fn cells(&self, outcome: usize, span: Span) -> Vec<usize> {
        (span.first..=span.last)
            .map(|month| outcome * self.months() + month)
            .collect()
    }

    /// The reader of the released spans; knows the months' totals, or does not.
    pub fn attacked(&self, released: &[Span], knows_totals: bool) -> Attack {
        let mut attack = Attack::on(self.counts.len() * self.months());
        if knows_totals {
            for month in 0..self.months() {
                let cells = (0..self.counts.len()).map(|outcome| outcome * self.months() + month);
                attack.told(cells, self.counts.iter().map(|of| of[month]).sum());
            }
        }
        // With the totals known, the last outcome's sums follow from the others'.
        let told = self.counts.len() - usize::from(knows_totals);
        for span in released {
            for outcome in 0..told {
                attack.told(self.cells(outcome, *span), self.sums(outcome, *span).0);
            }
        }
        attack
    }

    /// The cells of each small number of a span that was asked for.
    pub fn small_sums(&self, hide_below: u64) -> Vec<Vec<usize>> {
        let mut spans = self.asked.clone();
        spans.sort();
        spans.dedup();
        let all = spans
            .iter()
            .flat_map(|span| (0..self.counts.len()).map(|outcome| (outcome, *span)));
        let small = all.filter(|(outcome, span)| self.is_small(*outcome, *span, hide_below));
        small.map(|(outcome, span)| self.cells(outcome, span)).collect()
    }
}

/// Of each month in turn its last twelve months, its quarter when it ends one, and itself. The
/// first month is so many months into a calendar year.
pub fn handed_over(months: usize, into_year: usize) -> Vec<Span> {
    let mut spans = Vec::new();
    for last in 0..months {
        let first = last.saturating_sub(11);
        spans.push(Span { first, last });
        if (into_year + last) % 3 == 2 && last >= 2 {
            let first = last - 2;
            spans.push(Span { first, last });
        }
        spans.push(Span { first: last, last });
    }
    spans
}

/// Those of `asked` that were released.
pub fn released(asked: &[Span], decisions: &[bool]) -> Vec<Span> {
    let both = asked.iter().zip(decisions);
    both.filter(|(_, released)| **released).map(|(span, _)| *span).collect()
}
