//! Notes on the beginning of phases, each beside its line like a flag at its pole.

use super::super::canvas::Canvas;
use super::super::lettering::{widest, wrapped};
use super::super::pen::{Colour, Pen, Side, Type};
use super::super::place::Rect;
use super::data::Monthly;
use super::layout::Layout;

/// Most of the picture's width for a note.
const MOST: f64 = 0.62;
/// From the line to its note.
const GAP: f64 = 6.0;

/// A note and where it stands.
pub(super) struct Note {
    lines: Vec<String>,
    pub(super) rect: Rect,
    pole: f64,
    is_left: bool,
}

/// Notes in rows from the top, earlier ones above later ones that they would touch.
pub(super) fn placed(chart: &Monthly<'_>, layout: &Layout) -> Vec<Note> {
    let width = chart.format.width();
    let mut phases: Vec<_> = chart.phases.iter().filter(|p| p.from < chart.points.len()).collect();
    phases.sort_by_key(|phase| phase.from);
    // From the right; heights are from the foot of the rows, and turned round at the end.
    let mut notes: Vec<Note> = Vec::new();
    for phase in phases.into_iter().rev() {
        let lines = wrapped(&phase.note, layout.size, width * MOST, 4);
        let note_width = widest(&lines, layout.size);
        let height = layout.leading() * lines.len() as f64;
        let pole = layout.start_of(phase.from);
        let is_left = pole + GAP + note_width > width && pole - GAP - note_width >= 0.0;
        let left = if is_left {
            pole - GAP - note_width
        } else {
            (pole + GAP).min(width - note_width).max(0.0)
        };
        let touching = notes
            .iter()
            .filter(|n| n.rect.left < left + note_width + GAP * 2.0 && left - GAP * 2.0 < n.rect.right);
        let foot = touching.map(|n| n.rect.bottom).fold(0.0, f64::max);
        notes.push(Note {
            lines,
            rect: Rect {
                left,
                top: foot,
                right: left + note_width,
                bottom: foot + height,
            },
            pole,
            is_left,
        });
    }
    let rows = notes.iter().map(|note| note.rect.bottom).fold(0.0, f64::max);
    for note in &mut notes {
        let (top, bottom) = (rows - note.rect.bottom, rows - note.rect.top);
        note.rect = Rect {
            top,
            bottom,
            ..note.rect
        };
    }
    notes
}

/// Lines first: a note covers the line of another that passes it.
pub(super) fn draw(notes: &[Note], layout: &Layout, canvas: &mut Canvas) {
    for note in notes {
        let line = vec![(note.pole, note.rect.top + 2.0), (note.pole, layout.plot.bottom)];
        canvas.line(line, Pen::new(Colour::Quiet, 1));
    }
    let kind = Type::new(layout.size, Colour::Ink);
    for note in notes {
        canvas.rect(note.rect, Colour::Paper);
        let middle = note.rect.middle().1;
        if note.is_left {
            canvas.lines(&note.lines, (note.rect.right, middle), Side::LeftOf, kind);
        } else {
            canvas.lines(&note.lines, (note.rect.left, middle), Side::RightOf, kind);
        }
    }
}
