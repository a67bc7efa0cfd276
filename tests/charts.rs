//! Drawings: what is not there is not drawn.

use siskin::charts::monthly::{Monthly, Point};

fn point(label: &str, value: Option<f64>) -> Point {
    Point {
        label: label.to_owned(),
        below: String::new(),
        value,
        interval: None,
        is_provisional: false,
        is_no_data: value.is_none(),
    }
}

fn drawn(points: &[Point]) -> String {
    let chart = Monthly {
        id: "figure",
        title: "a figure",
        description: "by month",
        points,
        top: Some(1.0),
        write: |value| format!("{value:.1}"),
        latest: "0.5",
    };
    chart.svg().unwrap()
}

/// Dots are drawn twice, the first to keep the line off.
fn dots(svg: &str) -> usize {
    svg.matches("<circle").count() / 2
}

fn lines_through_dots(svg: &str) -> usize {
    let lines = svg.split("<polyline").skip(1);
    lines
        .filter(|line| line.split('>').next().unwrap().contains("var(--mark)"))
        .count()
}

#[test]
fn a_month_without_data_is_a_gap_in_the_line() {
    let whole = ["Jan", "Feb", "Mar", "Apr", "May"].map(|label| point(label, Some(0.5)));
    let svg = drawn(&whole);
    assert_eq!((dots(&svg), lines_through_dots(&svg)), (5, 1));
    assert!(!svg.contains("no data"));
    let mut gap = whole.clone();
    gap[2] = point("Mar", None);
    let svg = drawn(&gap);
    assert_eq!((dots(&svg), lines_through_dots(&svg)), (4, 2));
    assert!(svg.contains("no data"));
}

#[test]
fn a_lone_month_is_a_dot_and_says_its_value() {
    let svg = drawn(&[point("Sep", Some(0.5))]);
    assert_eq!((dots(&svg), lines_through_dots(&svg)), (1, 0));
    assert!(svg.contains("0.5") && svg.contains("role=\"img\"") && svg.contains("<title"));
}
