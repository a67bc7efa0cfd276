//! Random figures over months, and the order in which their sums are handed over.

use siskin::privacy::series::Span;

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
