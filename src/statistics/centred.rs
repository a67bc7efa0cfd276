//! Sums about the means of pairs, which spreads and straight lines are made of.
//!
//! Two passes: first the means, then squares and products of what is left; taking the
//! square of a mean from a mean of squares would lose the digits that matter. The first
//! pair is the origin of the means, so identical values have a spread of exactly 0.

/// Means, and sums of squares and products about them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Sums {
    /// How many pairs.
    pub(super) n: f64,
    /// Mean of the first.
    pub(super) x: f64,
    /// Mean of the second.
    pub(super) y: f64,
    /// Squares of the first about its mean.
    pub(super) xx: f64,
    /// Squares of the second about its mean.
    pub(super) yy: f64,
    /// Products of both about their means.
    pub(super) xy: f64,
}

impl Sums {
    /// Of these pairs; `None` for no pairs, or where a sum is not finite or too small for a
    /// number.
    pub(super) fn of(pairs: &[(f64, f64)]) -> Option<Self> {
        let n = pairs.len() as f64;
        let &(first_x, first_y) = pairs.first()?;
        let mut sums = Self {
            n,
            x: first_x + pairs.iter().map(|(x, _)| x - first_x).sum::<f64>() / n,
            y: first_y + pairs.iter().map(|(_, y)| y - first_y).sum::<f64>() / n,
            xx: 0.0,
            yy: 0.0,
            xy: 0.0,
        };
        for (x, y) in pairs {
            let (dx, dy) = (x - sums.x, y - sums.y);
            sums.xx += dx * dx;
            sums.yy += dy * dy;
            sums.xy += dx * dy;
        }
        // Squares so small that they are lost are no proof that all values are one.
        let is_lost = |squares: f64, differs: bool| differs && squares < f64::MIN_POSITIVE;
        let lost_x = is_lost(sums.xx, pairs.iter().any(|(x, _)| *x != first_x));
        let lost_y = is_lost(sums.yy, pairs.iter().any(|(_, y)| *y != first_y));
        (sums.is_finite() && !lost_x && !lost_y).then_some(sums)
    }

    /// Of values alone, as if each were a pair with 0.
    pub(super) fn of_values(values: &[f64]) -> Option<Self> {
        Self::of(&values.iter().map(|x| (*x, 0.0)).collect::<Vec<_>>())
    }

    /// Of all pairs but one, for each in turn. The part before it and the part after it are put
    /// together (Chan TF, Golub GH, LeVeque RJ (1983) Am Stat 37:242-247): nothing is subtracted
    /// from a sum, and the work grows with the pairs, not with their square.
    pub(super) fn without_each(pairs: &[(f64, f64)]) -> Vec<Self> {
        let mut after = vec![Self::of_none()];
        for pair in pairs.iter().skip(1).rev() {
            let last = after.last().copied().unwrap_or(Self::of_none());
            after.push(last.joined(&Self::of_one(*pair)));
        }
        let mut before = Self::of_none();
        let mut all = Vec::with_capacity(pairs.len());
        for (pair, after) in pairs.iter().zip(after.iter().rev()) {
            all.push(before.joined(after));
            before = before.joined(&Self::of_one(*pair));
        }
        all
    }

    /// The variance of the first, with n - 1; `None` for fewer than two.
    pub(super) fn variance(&self) -> Option<f64> {
        (self.n >= 2.0).then(|| self.xx / (self.n - 1.0))
    }

    fn of_none() -> Self {
        Self {
            n: 0.0,
            ..Self::of_one((0.0, 0.0))
        }
    }

    fn of_one((x, y): (f64, f64)) -> Self {
        Self {
            n: 1.0,
            x,
            y,
            xx: 0.0,
            yy: 0.0,
            xy: 0.0,
        }
    }

    fn joined(&self, other: &Self) -> Self {
        let n = self.n + other.n;
        if self.n == 0.0 || other.n == 0.0 {
            return if self.n == 0.0 { *other } else { *self };
        }
        let (dx, dy) = (other.x - self.x, other.y - self.y);
        let (share, weight) = (other.n / n, self.n * other.n / n);
        Self {
            n,
            x: self.x + dx * share,
            y: self.y + dy * share,
            xx: self.xx + other.xx + dx * dx * weight,
            yy: self.yy + other.yy + dy * dy * weight,
            xy: self.xy + other.xy + dx * dy * weight,
        }
    }

    fn is_finite(&self) -> bool {
        [self.x, self.y, self.xx, self.yy, self.xy]
            .iter()
            .all(|sum| sum.is_finite())
    }
}
