//! The small line of a strip.

use siskin::charts::axis::Start;
use siskin::charts::strip::{Point, Strip};

use super::{assert_sound, coloured, diamonds, elements, points, size, texts};

fn drawn(points: &[Point]) -> String {
    let strip = Strip {
        id: "strip",
        title: "a figure",
        description: "over 24 months",
        points,
        start: Start::Zero,
    };
    let svg = strip.svg().unwrap();
    assert_sound(&svg);
    assert!(texts(&svg).is_empty());
    assert_eq!(size(&svg), (640.0, 144.0));
    assert!(svg.len() < 2500, "{} bytes", svg.len());
    svg
}

fn months(values: &[Option<f64>]) -> Vec<Point> {
    values
        .iter()
        .map(|value| Point {
            value: *value,
            ..Point::default()
        })
        .collect()
}

#[test]
fn only_the_last_month_is_marked() {
    let mut points = months(&[Some(0.1); 24]);
    let svg = drawn(&points);
    assert_eq!(coloured(&svg, "circle", "fill", "mark").len(), 1);
    assert_eq!(
        (coloured(&svg, "polyline", "stroke", "mark").len(), diamonds(&svg)),
        (1, 0)
    );
    points[5].is_signal = true;
    assert_eq!(diamonds(&drawn(&points)), 0);
    points[23].is_signal = true;
    let svg = drawn(&points);
    assert_eq!((diamonds(&svg), elements(&svg, "circle").len()), (1, 0));
    points[23].is_signal = false;
    points[23].is_provisional = true;
    let hollow = drawn(&points);
    assert!(elements(&hollow, "circle").last().unwrap().contains("var(--paper)"));
}

#[test]
fn a_month_without_a_value_is_a_gap() {
    let svg = drawn(&months(&[
        Some(0.1),
        Some(0.2),
        None,
        Some(0.4),
        None,
        Some(0.3),
        Some(0.1),
    ]));
    // Two lines and a lone month between gaps.
    assert_eq!(coloured(&svg, "polyline", "stroke", "mark").len(), 3);
    let svg = drawn(&months(&[Some(0.1), Some(0.2), None]));
    assert!(elements(&svg, "circle").is_empty());
    assert_eq!(coloured(&svg, "polyline", "stroke", "quiet").len(), 1);
}

#[test]
fn the_line_uses_the_height_and_the_band_lies_behind_it() {
    let mut points_drawn = months(&[Some(0.0), Some(0.5), Some(1.0)]);
    let svg = drawn(&points_drawn);
    let line = points(coloured(&svg, "polyline", "stroke", "mark")[0]);
    assert_eq!(line.iter().map(|p| p.1).collect::<Vec<_>>(), [118.0, 72.0, 26.0]);
    for point in &mut points_drawn {
        point.expected = Some((0.25, 0.75));
    }
    let svg = drawn(&points_drawn);
    let band = points(coloured(&svg, "polygon", "fill", "pale")[0]);
    assert!(band.iter().all(|p| p.1 == 49.0 || p.1 == 95.0), "{band:?}");
}

#[test]
fn nothing_and_not_numbers_draw_no_line() {
    for values in [vec![], vec![None; 24], vec![Some(f64::NAN), Some(f64::INFINITY)]] {
        let svg = drawn(&months(&values));
        assert!(coloured(&svg, "polyline", "stroke", "mark").is_empty());
    }
    drawn(&months(&[Some(0.0)]));
    drawn(&months(&[Some(0.3); 2]));
}
