//! What a month is compared with: the expected range as a band, its centre, the target.

use super::super::axis::is_drawable;
use super::super::canvas::Canvas;
use super::super::pen::{Colour, Pen};
use super::super::place::Place;
use super::super::stretches::stretches;
use super::data::{Monthly, Point};
use super::layout::Layout;

/// How far band and centre stay from the beginning of a phase.
const BREAK: f64 = 3.0;

/// The pale band, a step a month.
pub(super) fn draw(chart: &Monthly<'_>, layout: &Layout, canvas: &mut Canvas) {
    let expected = chart.points.iter().map(|point| point.shown_expected());
    for months in stretches(expected, |i| begins_phase(chart, i)) {
        let (mut upper, mut lower) = (Vec::new(), Vec::new());
        for (i, (low, high)) in months {
            let (left, right) = sides(chart, layout, i);
            upper.extend([(left, layout.scale.at(high)), (right, layout.scale.at(high))]);
            lower.extend([(left, layout.scale.at(low)), (right, layout.scale.at(low))]);
        }
        lower.reverse();
        upper.extend(lower);
        canvas.area(upper, Colour::Pale, 1.0);
    }
}

/// The centre as a thin line, the target dashed.
pub(super) fn draw_lines(chart: &Monthly<'_>, layout: &Layout, canvas: &mut Canvas) {
    for line in steps(chart, layout, |point| point.centre) {
        canvas.line(line, Pen::new(Colour::Quiet, 1));
    }
    for line in targets(chart, layout) {
        canvas.line(line, Pen::new(Colour::Ink, 1).dashed());
    }
}

/// The lines of the target.
pub(super) fn targets(chart: &Monthly<'_>, layout: &Layout) -> Vec<Vec<Place>> {
    steps(chart, layout, |point| point.target)
}

/// A value that holds for a month, as lines with steps.
fn steps(chart: &Monthly<'_>, layout: &Layout, value: impl Fn(&Point) -> Option<f64>) -> Vec<Vec<Place>> {
    let values = chart
        .points
        .iter()
        .map(|point| value(point).filter(|v| is_drawable(*v)));
    stretches(values, |i| begins_phase(chart, i))
        .into_iter()
        .map(|months| {
            let mut line: Vec<Place> = Vec::new();
            for (i, value) in months {
                let (left, right) = sides(chart, layout, i);
                let y = layout.scale.at(value);
                // A level line needs only its ends.
                if line.last().is_some_and(|last| last.1 == y) {
                    line.pop();
                } else {
                    line.push((left, y));
                }
                line.push((right, y));
            }
            line
        })
        .collect()
}

fn begins_phase(chart: &Monthly<'_>, month: usize) -> bool {
    (1..chart.points.len()).contains(&month) && chart.phases.iter().any(|phase| phase.from == month)
}

/// Left and right of a month, short of the beginning of a phase.
fn sides(chart: &Monthly<'_>, layout: &Layout, month: usize) -> (f64, f64) {
    let off = |month: usize| {
        if begins_phase(chart, month) { BREAK } else { 0.0 }
    };
    (
        layout.start_of(month) + off(month),
        layout.start_of(month + 1) - off(month + 1),
    )
}
