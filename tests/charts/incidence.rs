//! The share by the hours since.

use siskin::charts::Format;
use siskin::charts::incidence::{Curve, Incidence, Mark, Step};

use super::{assert_sound, coloured, height_of, number, points, says, texts, told};

fn step(hours: f64, share: f64) -> Step {
    Step {
        hours,
        share,
        interval: Some(((share - 0.1).max(0.0), (share + 0.1).min(1.0))),
    }
}

fn marks(hours: &[f64]) -> Vec<Mark> {
    let mark = |hours: &f64| Mark {
        hours: *hours,
        text: format!("{hours} h 57 %"),
    };
    hours.iter().map(mark).collect()
}

fn percent(value: f64) -> String {
    format!("{:.0} %", value * 100.0)
}

fn chart<'a>(steps: &'a [Step], other: Option<&'a [Step]>, marks: &'a [Mark]) -> Incidence<'a> {
    Incidence {
        id: "incidence",
        title: "by hour",
        description: "a curve",
        curve: Curve {
            steps,
            label: "drawn before going home",
        },
        other: other.map(|steps| Curve {
            steps,
            label: "if all had stayed",
        }),
        marks,
        to_hours: 24.0,
        format: Format::Wide,
        write: percent,
        since: "hours since the screen",
    }
}

#[test]
fn a_mark_lies_on_the_curve_at_its_hour() {
    let steps = [step(1.0, 0.25), step(4.0, 0.5), step(10.0, 1.0)];
    let marks = marks(&[4.0, 6.0, 12.0]);
    let svg = chart(&steps, None, &marks).svg().unwrap();
    assert_sound(&svg);
    let at = |value| height_of(&svg, value, ("0 %", 0.0), ("100 %", 1.0));
    let dots = coloured(&svg, "circle", "fill", "mark");
    for (dot, share) in dots.iter().zip([0.5, 0.5, 1.0]) {
        assert!((number(dot, "cy") - at(share)).abs() <= 1.0, "{share}");
    }
    let tick = |label: &str| texts(&svg).into_iter().find(|text| text.words == label).unwrap().x;
    assert!((number(dots[1], "cx") - tick("6")).abs() <= 1.0);
    assert!((tick("6") - tick("0") - (tick("24") - tick("0")) / 4.0).abs() <= 1.0);
    for words in ["4 h 57 %", "6 h 57 %", "12 h 57 %", "hours since the screen"] {
        assert!(says(&svg, words), "{words}");
    }
}

#[test]
fn the_curve_and_its_band_are_steps() {
    let steps = [step(12.0, 0.5)];
    let svg = chart(&steps, None, &[]).svg().unwrap();
    assert_sound(&svg);
    let at = |value| height_of(&svg, value, ("0 %", 0.0), ("60 %", 0.6));
    let line = points(coloured(&svg, "polyline", "stroke", "mark")[0]);
    let heights: Vec<f64> = line.iter().map(|p| p.1).collect();
    assert_eq!(heights.len(), 4);
    assert!((heights[0] - at(0.0)).abs() <= 1.0 && heights[0] == heights[1]);
    assert!((heights[2] - at(0.5)).abs() <= 1.0 && heights[2] == heights[3]);
    assert_eq!(line[1].0, line[2].0);
    let band = points(coloured(&svg, "polygon", "fill", "pale")[0]);
    let top = band.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
    assert!((top - at(0.6)).abs() <= 1.0);
    assert!((band[4].1 - at(0.4)).abs() <= 1.0);
}

#[test]
fn the_other_curve_is_fainter_and_labelled() {
    let steps = [step(1.0, 0.3), step(2.0, 0.6)];
    let others = [step(1.0, 0.35), step(2.0, 0.7)];
    let svg = chart(&steps, Some(&others), &[]).svg().unwrap();
    assert_sound(&svg);
    let told = told(&svg);
    assert!(told.contains("drawnbeforegoinghome") && told.contains("ifallhadstayed"));
    let faint = coloured(&svg, "polyline", "stroke", "quiet");
    assert!(
        faint
            .iter()
            .any(|line| points(line).len() > 4 && line.contains("opacity=\"0.7\""))
    );
    assert_eq!(coloured(&svg, "polygon", "fill", "pale").len(), 1, "one band");
}

#[test]
fn every_number_is_written_and_covers_nothing() {
    let rising: Vec<Step> = (1..=400)
        .map(|i| step(f64::from(i) * 0.06, f64::from(i) / 400.0))
        .collect();
    let sudden = [step(0.0, 1.0)];
    let late = [step(23.9, 0.01)];
    let never: [Step; 0] = [];
    let marks = marks(&[2.0, 4.0, 6.0, 12.0, 24.0]);
    for steps in [&rising[..], &sudden, &late, &never] {
        for other in [None, Some(&rising[..]), Some(steps)] {
            for format in [Format::Wide, Format::Narrow] {
                let svg = Incidence {
                    format,
                    ..chart(steps, other, &marks)
                };
                let drawn = svg.svg().unwrap();
                assert_sound(&drawn);
                let told = told(&drawn);
                for mark in &marks {
                    assert!(told.contains(&mark.text.replace(' ', "")), "{}", mark.text);
                }
                assert_eq!(drawn, svg.svg().unwrap());
                assert!(drawn.len() < 60_000, "{} bytes", drawn.len());
            }
        }
    }
}

#[test]
fn what_lies_beyond_the_axis_or_is_no_number_is_left_out() {
    let steps = [
        step(1.0, 0.2),
        step(f64::NAN, 0.9),
        step(2.0, f64::NAN),
        step(30.0, 0.9),
    ];
    let marks = marks(&[2.0, 48.0, f64::NAN]);
    let svg = chart(&steps, None, &marks).svg().unwrap();
    assert_sound(&svg);
    assert!(says(&svg, "2 h 57 %") && !says(&svg, "48 h 57 %"));
    let only_first = [step(1.0, 0.2)];
    assert_eq!(chart(&only_first, None, &marks[..1]).svg().unwrap(), svg);
    for to_hours in [0.0, -3.0, f64::NAN, f64::INFINITY] {
        let svg = Incidence {
            to_hours,
            ..chart(&steps, None, &marks)
        };
        assert_sound(&svg.svg().unwrap());
    }
}
