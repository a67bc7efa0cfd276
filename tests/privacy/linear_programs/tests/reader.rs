//! The reader of what was handed over of a figure.

use siskin::privacy::series::Span;

use super::attack::Attack;
use super::families::Family;

impl Family {
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

/// The reader of the released spans; knows the months' totals, or does not.
pub fn attacked(family: &Family, released: &[Span], knows_totals: bool) -> Attack {
    let mut attack = Attack::on(family.counts.len() * family.months());
    if knows_totals {
        for month in 0..family.months() {
            let cells = (0..family.counts.len()).map(|outcome| outcome * family.months() + month);
            attack.told(cells, family.counts.iter().map(|of| of[month]).sum());
        }
    }
    // With the totals known, the last outcome's sums follow from the others'.
    let told = family.counts.len() - usize::from(knows_totals);
    for span in released {
        for outcome in 0..told {
            attack.told(family.cells(outcome, *span), family.sums(outcome, *span).0);
        }
    }
    attack
}
