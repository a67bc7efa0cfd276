//! Units against their denominators.

use siskin::charts::Format;
use siskin::charts::axis::Start;
use siskin::charts::funnel::{Funnel, Limits, Unit};

use super::{assert_sound, coloured, diamonds, height_of, number, points, says, told};

fn unit(name: &str, denominator: f64, value: f64) -> Unit {
    Unit {
        name: name.to_owned(),
        denominator,
        value,
        ..Unit::default()
    }
}

/// Limits around 0.5 that close like a funnel.
fn limits() -> Vec<Limits> {
    (1..=20)
        .map(|k| {
            let denominator = f64::from(k) * 10.0;
            let half = 1.0 / denominator.sqrt();
            let around = |half: f64| ((0.5 - half).max(0.0), (0.5 + half).min(1.0));
            Limits {
                denominator,
                inner: around(half),
                outer: around(1.6 * half),
            }
        })
        .collect()
}

fn percent(value: f64) -> String {
    format!("{:.0} %", value * 100.0)
}

fn chart<'a>(units: &'a [Unit], limits: &'a [Limits]) -> Funnel<'a> {
    Funnel {
        id: "funnel",
        title: "units",
        description: "against their denominators",
        units,
        limits,
        centre: Some(0.5),
        centre_label: "network 50 %",
        format: Format::Wide,
        start: Start::Zero,
        write: percent,
        of: "referrals",
    }
}

#[test]
fn dots_and_bands_lie_where_the_axes_say() {
    let limits = limits();
    let units = [unit("small", 100.0, 0.25), unit("large", 200.0, 0.5)];
    let svg = chart(&units, &limits).svg().unwrap();
    assert_sound(&svg);
    let at = |value| height_of(&svg, value, ("0 %", 0.0), ("40 %", 0.4));
    let dots = coloured(&svg, "circle", "fill", "mark");
    assert!((number(dots[0], "cy") - at(0.25)).abs() <= 1.0);
    let along = |i: usize| number(dots[i], "cx");
    let start = points(coloured(&svg, "polyline", "stroke", "quiet")[0])[0].0;
    assert!((along(0) - start - (along(1) - start) / 2.0).abs() <= 1.0);
    let bands = coloured(&svg, "polygon", "fill", "pale");
    assert_eq!(bands.len(), 2);
    assert!(bands[0].contains("opacity=\"0.5\"") && !bands[1].contains("opacity"));
    // The upper limits of the last denominator end the first half.
    let (outer, inner) = (points(bands[0])[19].1, points(bands[1])[19].1);
    let half = 1.0 / 200f64.sqrt();
    assert!((outer - at(0.5 + 1.6 * half)).abs() <= 1.0 && (inner - at(0.5 + half)).abs() <= 1.0);
    for words in ["small", "large", "network 50 %", "95 %", "99.8 %", "referrals"] {
        assert!(says(&svg, words), "{words}");
    }
}

#[test]
fn a_unit_beyond_a_limit_is_a_diamond_and_a_word() {
    let mut units = [unit("small", 50.0, 0.9), unit("large", 200.0, 0.5)];
    units[0].signal = Some("above 99.8 %".to_owned());
    let svg = chart(&units, &limits()).svg().unwrap();
    assert_sound(&svg);
    assert_eq!(diamonds(&svg), 1);
    assert!(told(&svg).contains("small,above99.8%"));
}

#[test]
fn every_name_is_told_however_close_the_dots() {
    let limits = limits();
    for n in [1, 3, 12, 40] {
        let mut units: Vec<Unit> = (0..n)
            .map(|i| {
                let name = format!("Hospital number {i} at the river");
                unit(&name, 100.0 + f64::from(i % 3), 0.5 + f64::from(i % 5) * 0.01)
            })
            .collect();
        units[0].signal = Some("below 95 %".to_owned());
        for format in [Format::Wide, Format::Narrow] {
            let svg = Funnel {
                format,
                ..chart(&units, &limits)
            };
            let svg = svg.svg().unwrap();
            assert_sound(&svg);
            let told = told(&svg);
            for unit in &units {
                assert!(told.contains(&unit.name.replace(' ', "")), "{}", unit.name);
            }
        }
    }
}

#[test]
fn no_units_equal_units_and_not_numbers_are_drawn_without_harm() {
    let svg = chart(&[], &[]).svg().unwrap();
    assert_sound(&svg);
    assert!(says(&svg, "no data"));
    for units in [
        vec![unit("a", 0.0, 0.0)],
        vec![unit("a", 10.0, 1.0), unit("b", 10.0, 1.0)],
    ] {
        let svg = chart(&units, &limits()).svg().unwrap();
        assert_sound(&svg);
        assert_eq!(coloured(&svg, "circle", "fill", "mark").len(), units.len());
        assert_eq!(svg, chart(&units, &limits()).svg().unwrap());
    }
    let odd = [unit("odd", f64::NAN, 0.5), unit("even", 20.0, f64::INFINITY)];
    let svg = Funnel {
        centre: Some(f64::NAN),
        ..chart(
            &odd,
            &[
                Limits::default(),
                Limits {
                    outer: (f64::NAN, 1.0),
                    ..Limits::default()
                },
            ],
        )
    }
    .svg()
    .unwrap();
    assert_sound(&svg);
    assert!(coloured(&svg, "circle", "fill", "mark").is_empty() && !told(&svg).contains("odd"));
}

#[test]
fn an_axis_that_does_not_start_at_zero_says_so() {
    let units = [unit("a", 100.0, 0.93), unit("b", 200.0, 0.97)];
    let svg = Funnel {
        start: Start::Data,
        centre: Some(0.95),
        ..chart(&units, &[])
    }
    .svg()
    .unwrap();
    assert_sound(&svg);
    assert!(told(&svg).contains("axisstartsat") && !says(&svg, "0 %"));
}
