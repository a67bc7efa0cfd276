//! What the protocol wants a figure to be, as the page shows it.

use serde::Serialize;

/// A bound of a share, from 0 to 1.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct Target {
    /// The most it may be.
    pub at_most: Option<f64>,
    /// The least it should be.
    pub at_least: Option<f64>,
}

impl Target {
    /// The bound as a number.
    pub(super) fn bound(self) -> Option<f64> {
        self.at_most.or(self.at_least)
    }

    /// The bound as a chart names it.
    pub(super) fn label(self) -> String {
        self.bound()
            .map_or_else(String::new, |share| format!("target {}", percent(share)))
    }

    /// Whether a figure keeps it, judged before rounding; `None` without a figure or a bound.
    pub(super) fn is_kept(self, value: Option<f64>) -> Option<bool> {
        match (self.at_most, self.at_least) {
            (Some(most), _) => value.map(|value| value <= most),
            (None, Some(least)) => value.map(|value| value >= least),
            (None, None) => None,
        }
    }

    /// The bound in words, or empty.
    pub(super) fn bound_in_words(self) -> String {
        match (self.at_most, self.at_least) {
            (Some(most), _) => format!("at most {}", percent(most)),
            (None, Some(least)) => format!("at least {}", percent(least)),
            (None, None) => String::new(),
        }
    }

    /// The bound, and whether a figure keeps it: judged before rounding.
    pub(super) fn in_words(self, value: Option<f64>) -> String {
        let bound = self.bound_in_words();
        match self.is_kept(value) {
            Some(true) => format!("{bound}: met"),
            Some(false) => format!("{bound}: not met"),
            None => bound,
        }
    }
}

fn percent(share: f64) -> String {
    format!("{} %", (share * 10_000.0).round() / 100.0)
}
