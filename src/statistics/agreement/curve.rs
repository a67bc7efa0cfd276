//! The curve of a score (ROC): what each threshold finds, and what it finds by mistake.
//!
//! From the highest score down, each score as a threshold gives one point: the share of positives at
//! or above it (sensitivity) against the share of negatives at or above it (1 - specificity). Equal
//! scores are one point, so the area below by trapezia counts ties one half, as [`super::roc`]
//! does. Degenerate cases: without positives, without negatives, or with a score that is not a
//! number, there is no curve; scores of one value give the diagonal.

use super::roc::Scored;

/// A point of the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Scores from here on count as found; `None` for the start of the curve, where none does.
    pub threshold: Option<f64>,
    /// Share of positives found.
    pub sensitivity: f64,
    /// Share of negatives found, by mistake: one minus specificity.
    pub false_alarms: f64,
}

/// The curve from (0, 0) to (1, 1), one point a score, highest first; empty where there is no area.
pub fn curve(scored: &[Scored]) -> Vec<Point> {
    let mut sorted = scored.to_vec();
    sorted.sort_by(|a, b| b.0.total_cmp(&a.0));
    let positives = sorted.iter().filter(|(_, positive)| *positive).count();
    let negatives = sorted.len() - positives;
    if positives == 0 || negatives == 0 || sorted.iter().any(|(score, _)| score.is_nan()) {
        return Vec::new();
    }
    let (mut found, mut mistaken) = (0, 0);
    let mut points = vec![Point {
        threshold: None,
        sensitivity: 0.0,
        false_alarms: 0.0,
    }];
    for same in sorted.chunk_by(|a, b| a.0 == b.0) {
        let hits = same.iter().filter(|(_, positive)| *positive).count();
        found += hits;
        mistaken += same.len() - hits;
        points.push(Point {
            threshold: Some(same[0].0),
            sensitivity: found as f64 / positives as f64,
            false_alarms: mistaken as f64 / negatives as f64,
        });
    }
    points
}
