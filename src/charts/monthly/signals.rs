//! The words beside months that stand out.
//!
//! A word stands as near as there is room over or under its month, or a month of its group,
//! with a hairline when that is not close. Words that find no place stand in a row above the
//! plot.

use super::super::canvas::Canvas;
use super::super::lettering::{shortened, width_of};
use super::super::pen::{Colour, Pen, Side, Type};
use super::super::place::{Place, Rect};
use super::super::room::Room;
use super::data::Monthly;
use super::layout::{Layout, RADIUS};
use super::row_above::{RowAbove, Word};

/// Most of the picture's width for a word.
const MOST: f64 = 0.4;
/// How far a word may stand from its month, in parts of its size, by half sizes.
const FARTHEST: u32 = 8;
/// All words and where they stand.
pub(super) struct Words {
    beside: Vec<Beside>,
    pub(super) above: RowAbove,
}

/// A word in the plot.
struct Beside {
    text: String,
    rect: Rect,
    /// The near end of its month's dot and interval.
    at: Place,
}

/// Months in a row with the same word.
struct Group {
    first: usize,
    last: usize,
    text: String,
}

/// Finds room for every word; later months first.
pub(super) fn placed(chart: &Monthly<'_>, layout: &Layout, room: &Room) -> Words {
    let groups = groups(chart, layout);
    let mut is_above = vec![false; groups.len()];
    // A word above the plot has a hairline that may take the room of others.
    let beside = loop {
        let mut room = room.clone();
        for (group, _) in groups.iter().zip(&is_above).filter(|(_, above)| **above) {
            if group.first == group.last {
                let at = upper_end(chart, layout, group.last);
                room.take_line(&[at, (at.0, layout.plot.top)]);
            }
        }
        let mut beside = Vec::new();
        let mut has_changed = false;
        for (group, is_above) in groups.iter().zip(&mut is_above).rev().filter(|(_, above)| !**above) {
            match place_beside(chart, layout, &mut room, group) {
                Some(word) => beside.push(word),
                None => (*is_above, has_changed) = (true, true),
            }
        }
        if !has_changed {
            break beside;
        }
    };
    let above = groups.into_iter().zip(is_above).filter(|(_, is_above)| *is_above);
    let above = above.map(|(group, _)| Word {
        months: (
            upper_end(chart, layout, group.first),
            upper_end(chart, layout, group.last),
        ),
        text: group.text,
    });
    Words {
        beside,
        above: RowAbove::of(above.collect(), layout, chart.format.width()),
    }
}

fn groups(chart: &Monthly<'_>, layout: &Layout) -> Vec<Group> {
    let mut groups: Vec<(usize, usize, &str)> = Vec::new();
    for (i, point) in chart.points.iter().enumerate() {
        let Some(word) = point.signal.as_deref().filter(|_| chart.value(i).is_some()) else {
            continue;
        };
        match groups.last_mut() {
            Some((_, last, text)) if *last + 1 == i && *text == word => *last = i,
            _ => groups.push((i, i, word)),
        }
    }
    let most = chart.format.width() * MOST;
    let group = |(first, last, word): (usize, usize, &str)| {
        let months = last - first + 1;
        let text = match months {
            1 => word.to_owned(),
            _ => format!("{word}, {months} months"),
        };
        Group {
            first,
            last,
            text: shortened(&text, layout.size, most),
        }
    };
    groups.into_iter().map(group).collect()
}

/// The top of a month's dot or interval.
fn upper_end(chart: &Monthly<'_>, layout: &Layout, month: usize) -> Place {
    let (x, y) = layout.place(month, chart.value(month).unwrap_or_default());
    let upper = chart.points[month]
        .shown_interval()
        .map_or(y, |interval| layout.scale.at(interval.1));
    (x, upper.min(y - RADIUS * 1.7))
}

/// The foot of a month's dot or interval.
fn lower_end(chart: &Monthly<'_>, layout: &Layout, month: usize) -> Place {
    let (x, y) = layout.place(month, chart.value(month).unwrap_or_default());
    let lower = chart.points[month]
        .shown_interval()
        .map_or(y, |interval| layout.scale.at(interval.0));
    (x, lower.max(y + RADIUS * 1.7))
}

/// The best free place: near, on the outer side, level with its month.
fn place_beside(chart: &Monthly<'_>, layout: &Layout, room: &mut Room, group: &Group) -> Option<Beside> {
    let (width, height) = (width_of(&group.text, layout.size), layout.size);
    let mut wanted: Vec<(f64, Rect, Place)> = Vec::new();
    for month in group.first..=group.last {
        let value = chart.value(month)?;
        let (x, y) = layout.place(month, value);
        let is_low = chart.points[month].centre.is_some_and(|centre| value < centre);
        let (over, under) = (upper_end(chart, layout, month), lower_end(chart, layout, month));
        let near = RADIUS * 1.7 + 2.0 + height / 2.0;
        let earlier = (group.last - month) as f64 * 0.02;
        for (end, up, is_outer) in [(over, -1.0, !is_low), (under, 1.0, is_low)] {
            let side = if is_outer { 0.0 } else { 0.6 };
            for across in [0.0, -0.25, 0.25, -0.5, 0.5] {
                let x = x + across * (width + 6.0);
                let slant = f64::abs(across) * 0.5 + side + earlier;
                wanted.push((slant, Rect::around((x, y + up * near), width, height), (x, y)));
                for step in 0..=FARTHEST {
                    let away = f64::from(step) * 0.5;
                    let y = end.1 + up * (4.0 + height / 2.0 + away * height);
                    wanted.push((slant + away, Rect::around((x, y), width, height), end));
                }
            }
        }
        let aside = RADIUS * 1.7 + 4.0 + width / 2.0;
        for (across, up) in [
            (-1.0, 0.0),
            (1.0, 0.0),
            (-1.0, -0.5),
            (1.0, -0.5),
            (-1.0, 0.5),
            (1.0, 0.5),
        ] {
            let middle = (x + across * aside, y + up * height);
            wanted.push((0.8 + earlier, Rect::around(middle, width, height), middle));
        }
    }
    wanted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut wanted = wanted
        .into_iter()
        .map(|(_, rect, at)| (rect.between_sides_of(&layout.plot), at));
    let (rect, at) = wanted.find(|(rect, _)| room.is_free(rect))?;
    room.take(rect);
    let text = group.text.clone();
    Some(Beside { text, rect, at })
}

impl Words {
    /// From words to their months; `top` is that of the row above the plot.
    pub(super) fn draw_hairlines(&self, canvas: &mut Canvas, layout: &Layout, top: f64) {
        for word in &self.beside {
            let end = word.rect.nearest_to(word.at);
            if (end.1 - word.at.1).abs() > layout.size * 0.6 {
                let hairline = [word.at, end].map(|(x, y)| (x, y + layout.lowered));
                canvas.line(hairline.to_vec(), Pen::new(Colour::Quiet, 1).fainter(0.7));
            }
        }
        self.above.draw_hairlines(canvas, layout, top);
    }

    pub(super) fn draw(&self, canvas: &mut Canvas, layout: &Layout, top: f64) {
        let kind = Type::new(layout.size, Colour::Ink);
        for word in &self.beside {
            let middle = word.rect.lowered(layout.lowered).middle();
            canvas.text(&word.text, middle, Side::On, kind);
        }
        self.above.draw(canvas, layout, top);
    }
}
