//! A row of counts at a linear predictor: what is expected, how it varies, how far off it is.
//!
//! Everything is computed from the logit or logarithm itself, so that neither end of a proportion
//! loses its digits. Degenerate case: a row of size 0 expects nothing and weighs nothing.

use super::NoFit;

/// What is counted, one entry a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Counts<'a> {
    /// Events out of trials: logistic regression, odds ratios.
    Proportions(&'a [(u64, u64)]),
    /// Events in exposure: Poisson regression, rate ratios.
    Rates(&'a [(u64, f64)]),
}

/// Events in a row, and what they came of.
#[derive(Clone, Copy)]
pub(super) struct Row {
    events: f64,
    /// Trials or exposure.
    pub(super) size: f64,
    is_rate: bool,
}

/// The rows of these counts, where they belong together.
pub(super) fn rows(counts: Counts<'_>) -> Result<Vec<Row>, NoFit> {
    let rows: Vec<Row> = match counts {
        Counts::Proportions(months) => months.iter().map(|m| Row::of(m.0, m.1 as f64, false)).collect(),
        Counts::Rates(months) => months.iter().map(|m| Row::of(m.0, m.1, true)).collect(),
    };
    let is_valid = |row: &Row| match row.is_rate {
        true => row.size.is_finite() && row.size >= 0.0 && (row.size > 0.0 || row.events == 0.0),
        false => row.events <= row.size,
    };
    rows.iter().all(is_valid).then_some(rows).ok_or(NoFit::Invalid)
}

impl Row {
    fn of(events: u64, size: f64, is_rate: bool) -> Self {
        Self {
            events: events as f64,
            size,
            is_rate,
        }
    }

    /// A first guess of the linear predictor, that no row makes infinite.
    pub(super) fn start(&self) -> f64 {
        if self.is_rate {
            ((self.events + 0.1) / self.size).ln()
        } else {
            ((self.events + 0.5) / (self.size - self.events + 0.5)).ln()
        }
    }

    /// The proportion or rate.
    pub(super) fn value(&self, linear: f64) -> f64 {
        if self.is_rate {
            linear.exp()
        } else {
            1.0 / (1.0 + (-linear).exp())
        }
    }

    /// The variance of the events, which is their weight in a step.
    pub(super) fn variance(&self, linear: f64) -> f64 {
        // The two shares of a proportion, each with all its digits.
        let other = if self.is_rate { 1.0 } else { self.value(-linear) };
        self.size * self.value(linear) * other
    }

    /// Pearson's residual.
    pub(super) fn pearson(&self, linear: f64) -> f64 {
        (self.events - self.size * self.value(linear)) / self.variance(linear).sqrt()
    }

    /// The response of a step, times the root of its weight.
    pub(super) fn weighted_response(&self, linear: f64) -> f64 {
        linear * self.variance(linear).sqrt() + self.pearson(linear)
    }

    /// What the row adds to the deviance.
    pub(super) fn deviance(&self, linear: f64) -> f64 {
        // y·ln(y/m), 0 without events.
        let part = |y: f64, ln_share: f64| {
            if y > 0.0 {
                y * ((y / self.size).ln() - ln_share)
            } else {
                0.0
            }
        };
        if self.is_rate {
            let expected = self.size * linear.exp();
            return 2.0 * (part(self.events, linear) - (self.events - expected));
        }
        // ln(1 + e^-v), of which neither end is lost.
        let softplus = |v: f64| (-v).max(0.0) + (-v.abs()).exp().ln_1p();
        let others = self.size - self.events;
        2.0 * (part(self.events, -softplus(linear)) + part(others, -softplus(-linear)))
    }

    /// How far out a row without events, or with nothing but events, lies; 0 for others.
    pub(super) fn far_out(&self, linear: f64) -> f64 {
        match self.is_rate {
            true if self.events == 0.0 => -(linear + self.size.ln()),
            false if self.events == 0.0 => -linear,
            false if self.events == self.size => linear,
            _ => 0.0,
        }
    }
}
