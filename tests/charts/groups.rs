//! A dot with its interval for each group.

use siskin::charts::Format;
use siskin::charts::axis::Start;
use siskin::charts::groups::{Group, Groups, Reference};

use super::{assert_sound, coloured, diamonds, elements, number, points, says, texts, told};

fn group(name: &str, value: f64) -> Group {
    Group {
        name: name.to_owned(),
        value: Some(value),
        interval: Some(((value - 0.2).max(0.0), (value + 0.2).min(1.0))),
        text: format!("{:.0} %", value * 100.0),
        ..Group::default()
    }
}

fn percent(value: f64) -> String {
    format!("{:.0} %", value * 100.0)
}

fn chart<'a>(groups: &'a [Group]) -> Groups<'a> {
    Groups {
        id: "groups",
        title: "by group",
        description: "a dot a group",
        groups,
        reference: Some(Reference {
            value: 0.5,
            label: "network 50 %",
        }),
        format: Format::Wide,
        start: Start::Zero,
        write: percent,
    }
}

fn drawn(groups: &[Group]) -> String {
    let svg = chart(groups).svg().unwrap();
    assert_sound(&svg);
    svg
}

fn height(svg: &str, words: &str) -> f64 {
    texts(svg).into_iter().find(|text| text.words == words).unwrap().y
}

#[test]
fn groups_stand_in_the_order_given() {
    let svg = drawn(&[group("b", 0.1), group("a", 0.4), group("unknown", 0.9)]);
    let heights = ["b", "a", "unknown"].map(|name| height(&svg, name));
    assert!(heights.is_sorted(), "{heights:?}");
}

#[test]
fn dots_and_reference_lie_where_the_axis_says() {
    let svg = drawn(&[group("a", 0.25), group("b", 1.0)]);
    let x = |label: &str| {
        let mut found = texts(&svg);
        found.retain(|text| text.words == label);
        found.into_iter().max_by(|a, b| a.y.total_cmp(&b.y)).unwrap().x
    };
    let at = |value: f64| x("0 %") + value * (x("100 %") - x("0 %"));
    let dots = coloured(&svg, "circle", "fill", "mark");
    assert!((number(dots[0], "cx") - at(0.25)).abs() <= 1.0);
    assert!((number(dots[1], "cx") - at(1.0)).abs() <= 1.0);
    assert_eq!(number(dots[0], "cy"), height(&svg, "a"));
    let bars = coloured(&svg, "polyline", "stroke", "mark");
    let bar = points(bars[0]);
    assert!((bar[0].0 - at(0.05)).abs() <= 1.0 && (bar[1].0 - at(0.45)).abs() <= 1.0);
    let reference = elements(&svg, "polyline")
        .into_iter()
        .find(|line| line.contains("dasharray"))
        .unwrap();
    assert!((points(reference)[0].0 - at(0.5)).abs() <= 1.0);
    assert!(says(&svg, "network 50 %"));
}

#[test]
fn a_hidden_figure_has_its_text_and_no_dot() {
    let hidden = Group {
        name: "small".to_owned(),
        text: "< 5".to_owned(),
        ..Group::default()
    };
    let svg = drawn(&[group("large", 0.3), hidden]);
    assert_eq!(coloured(&svg, "circle", "fill", "mark").len(), 1);
    assert!(says(&svg, "small") && says(&svg, "&lt; 5"));
}

#[test]
fn a_signal_is_a_diamond_and_a_word() {
    let mut groups = vec![group("a", 0.1), group("b", 0.8)];
    groups[1].signal = Some("above".to_owned());
    let svg = drawn(&groups);
    assert_eq!(diamonds(&svg), 1);
    assert!(says(&svg, "80 %, above"));
}

#[test]
fn an_axis_that_does_not_start_at_zero_says_so() {
    let groups = [0.9, 0.95].map(|value| Group {
        interval: None,
        ..group("a", value)
    });
    let svg = Groups {
        start: Start::Data,
        reference: None,
        ..chart(&groups)
    }
    .svg()
    .unwrap();
    assert_sound(&svg);
    assert!(says(&svg, "axis starts at 90 %"), "{}", told(&svg));
    assert!(!told(&drawn(&groups)).contains("starts"));
}

#[test]
fn nothing_is_cut_off_with_no_one_or_twelve_groups_and_long_names() {
    assert!(says(&drawn(&[]), "no data"));
    let long = "Universitätsfrauenklinik with the birth centre of the northern hospital district";
    let mut twelve: Vec<Group> = (0..12)
        .map(|i| group(&format!("unit {i}"), f64::from(i) / 11.0))
        .collect();
    twelve[4].name = long.to_owned();
    twelve[5].text = "8 %, 9 of 112 births that were neither at home nor on the way".to_owned();
    for groups in [&twelve[..1], &twelve[4..5], &twelve[..]] {
        for format in [Format::Wide, Format::Narrow] {
            for (value, label) in [(0.0, "network as a whole 0 %"), (1.0, "network as a whole 100 %")] {
                let svg = Groups {
                    format,
                    reference: Some(Reference { value, label }),
                    ..chart(groups)
                };
                let svg = svg.svg().unwrap();
                assert_sound(&svg);
                assert_eq!(coloured(&svg, "circle", "fill", "mark").len(), groups.len());
            }
        }
    }
    assert!(told(&drawn(&twelve)).contains(&long.replace(' ', "")));
    assert_eq!(drawn(&twelve), drawn(&twelve));
}

#[test]
fn what_cannot_be_drawn_is_left_out() {
    let mut odd = group("odd", 0.5);
    odd.value = Some(f64::NAN);
    odd.interval = Some((f64::NEG_INFINITY, f64::INFINITY));
    let svg = Groups {
        reference: Some(Reference {
            value: f64::NAN,
            label: "network",
        }),
        ..chart(&[odd])
    }
    .svg()
    .unwrap();
    assert_sound(&svg);
    assert!(elements(&svg, "circle").is_empty() && says(&svg, "odd") && !says(&svg, "network"));
}
