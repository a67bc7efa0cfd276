//! The words "no data" or "hidden", in the gap of the months they hold for.

use super::super::canvas::Canvas;
use super::super::lettering::width_of;
use super::super::pen::{Colour, Side, Type};
use super::super::place::Rect;
use super::super::room::Room;
use super::super::stretches::stretches;
use super::data::{Monthly, Point};
use super::layout::Layout;

const NO_DATA: &str = "no data";
/// Upright words shrink to stand between the dots of their neighbours, to this and no further.
const SMALLEST: f64 = 9.0;
/// From the foot of the plot.
const OFF: f64 = 6.0;

/// Where the words stand for months in a row.
pub(super) struct Gap {
    words: &'static str,
    rect: Rect,
    size: f64,
    is_turned: bool,
    /// On no band, so that no line need run through the words.
    is_alone: bool,
}

/// Once for months in a row; upright where the gap is narrow. In the middle of a chart
/// without months.
pub(super) fn placed(chart: &Monthly<'_>, layout: &Layout, room: &mut Room) -> Vec<Gap> {
    let size = layout.size;
    if chart.points.is_empty() {
        let rect = Rect::around(layout.plot.middle(), width_of(NO_DATA, size), size);
        return vec![Gap {
            words: NO_DATA,
            rect,
            size,
            is_turned: false,
            is_alone: true,
        }];
    }
    let mut gaps = Vec::new();
    let words: Vec<_> = chart.points.iter().map(Point::gap).collect();
    for run in stretches(words.clone(), |i| i > 0 && words[i] != words[i - 1]) {
        let ((first, words), months) = (run[0], run.len());
        let (left, right) = (layout.start_of(first), layout.start_of(first + months));
        let is_turned = right - left < width_of(words, size) + OFF;
        let size = if is_turned {
            (right - left).clamp(SMALLEST, size)
        } else {
            size
        };
        let length = width_of(words, size);
        let (wide, high) = if is_turned { (size, length) } else { (length, size) };
        let middle = ((left + right) / 2.0, layout.plot.bottom - OFF - high / 2.0);
        let rect = Rect::around(middle, wide, high);
        room.take(rect);
        gaps.push(Gap {
            words,
            rect,
            size,
            is_turned,
            is_alone: (first..first + months).all(|i| chart.points[i].shown_expected().is_none()),
        });
    }
    gaps
}

pub(super) fn draw(gaps: &[Gap], layout: &Layout, canvas: &mut Canvas) {
    for gap in gaps {
        let kind = Type::new(gap.size, Colour::Ink);
        let kind = if gap.is_turned { kind.turned() } else { kind };
        let rect = gap.rect.lowered(layout.lowered);
        if gap.is_alone {
            canvas.rect(rect, Colour::Paper);
        }
        canvas.text(gap.words, rect.middle(), Side::On, kind);
    }
}
