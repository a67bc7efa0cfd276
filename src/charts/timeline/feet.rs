//! What stands below the plot: rows of bars, then obligations.

use super::super::canvas::Canvas;
use super::data::Timeline;
use super::plane::Plane;
use super::{rows, spans};

/// Above the first row and below the last, in parts of the type size.
const MARGIN: f64 = 0.4;

pub(super) struct Feet {
    rows: Vec<rows::Placed>,
    spans: Vec<spans::Placed>,
    margin: f64,
}

impl Feet {
    pub(super) fn of(chart: &Timeline<'_>, plane: &Plane<'_>) -> Self {
        let (along, size) = (&plane.along, plane.size);
        let spans = chart.spans.iter().filter_map(|span| spans::placed(span, along, size));
        Self {
            rows: chart.rows.iter().map(|row| rows::placed(row, along, size)).collect(),
            spans: spans.collect(),
            margin: size * MARGIN,
        }
    }

    /// None when there is nothing.
    pub(super) fn height(&self) -> f64 {
        if self.rows.is_empty() && self.spans.is_empty() {
            return 0.0;
        }
        let rows: f64 = self.rows.iter().map(rows::Placed::height).sum();
        let spans: f64 = self.spans.iter().map(spans::Placed::height).sum();
        rows + spans + 2.0 * self.margin
    }

    pub(super) fn draw(&self, canvas: &mut Canvas, top: f64) {
        let mut top = top + self.margin;
        for row in &self.rows {
            row.draw(canvas, top);
            top += row.height();
        }
        for span in &self.spans {
            span.draw(canvas, top);
            top += span.height();
        }
    }
}
