//! One subject over hours.

use siskin::charts::Format;
use siskin::charts::timeline::{Bar, Bound, Curve, Kind, Row, Span, Test, Timeline};

use super::{assert_sound, attribute, coloured, elements, height_of, number, points, says, size, texts, told};

fn test(at_h: f64, value: f64, kind: Kind) -> Test {
    Test {
        at_h,
        value,
        kind,
        label: if value.is_nan() {
            String::new()
        } else {
            format!("v {value}")
        },
        ..Test::default()
    }
}

fn bar(from_h: f64, to_h: Option<f64>, label: &str) -> Bar {
    Bar {
        from_h,
        to_h,
        label: label.to_owned(),
    }
}

fn span(from_h: f64, due_h: f64, ended_h: Option<f64>, is_kept: bool) -> Span {
    Span {
        from_h,
        due_h,
        ended_h,
        label: "due".to_owned(),
        is_kept,
    }
}

fn chart<'a>(tests: &'a [Test]) -> Timeline<'a> {
    Timeline {
        id: "subject",
        title: "one subject",
        description: "over hours",
        from_h: 0.0,
        to_h: 96.0,
        across: "hours",
        up: "value",
        tests,
        curves: &[],
        rows: &[],
        spans: &[],
        format: Format::Wide,
    }
}

/// In both formats, sound in each; the wide one is given back.
fn drawn(chart: &Timeline<'_>) -> String {
    let in_format = |format| {
        let svg = Timeline {
            format,
            ..chart.clone()
        }
        .svg()
        .unwrap();
        assert_sound(&svg);
        svg
    };
    in_format(Format::Narrow);
    in_format(Format::Wide)
}

/// Where an hour lies, told from two labels of the axis of hours.
fn along(svg: &str, hour: f64) -> f64 {
    let foot = texts(svg)
        .into_iter()
        .map(|text| text.y)
        .filter(|y| *y < size(svg).1 - 30.0);
    let foot = foot.fold(0.0, f64::max);
    let mut ticks = texts(svg);
    ticks.retain(|text| text.y == foot && text.words.parse::<f64>().is_ok());
    let hour_of = |i: usize| ticks[i].words.parse::<f64>().unwrap();
    let (first, last) = (0, ticks.len() - 1);
    let per_hour = (ticks[last].x - ticks[first].x) / (hour_of(last) - hour_of(first));
    ticks[first].x + (hour - hour_of(first)) * per_hour
}

/// Squares of tests.
fn squares(svg: &str) -> Vec<Vec<(f64, f64)>> {
    let polygons = coloured(svg, "polygon", "fill", "mark");
    let solid = polygons.into_iter().filter(|polygon| !polygon.contains("opacity"));
    solid.map(points).collect()
}

fn middle(polygon: &[(f64, f64)]) -> (f64, f64) {
    let mean = |pick: fn(&(f64, f64)) -> f64| polygon.iter().map(pick).sum::<f64>() / polygon.len() as f64;
    (mean(|p| p.0), mean(|p| p.1))
}

fn box_of(svg: &str, words: &str) -> super::Text {
    texts(svg).into_iter().find(|text| text.words == words).unwrap()
}

#[test]
fn tests_lie_at_their_hour_and_value_each_in_its_shape() {
    let tests = [
        test(12.0, 100.0, Kind::Round),
        test(36.0, 250.0, Kind::Square),
        test(72.0, f64::NAN, Kind::Cross),
    ];
    let svg = drawn(&chart(&tests));
    let at = |value| height_of(&svg, value, ("100", 100.0), ("200", 200.0));
    let circle = coloured(&svg, "circle", "fill", "mark")[0];
    assert!((number(circle, "cx") - along(&svg, 12.0)).abs() <= 1.0);
    assert!((number(circle, "cy") - at(100.0)).abs() <= 1.0);
    // Hollow: paper within the hue.
    let inner = *elements(&svg, "circle").last().unwrap();
    assert!(inner.contains("var(--paper)") && number(inner, "r") < number(circle, "r"));
    let squares = squares(&svg);
    assert_eq!(squares.len(), 1);
    let (x, y) = middle(&squares[0]);
    assert!((x - along(&svg, 36.0)).abs() <= 1.0 && (y - at(250.0)).abs() <= 1.0);
    let strokes: Vec<_> = coloured(&svg, "polyline", "stroke", "mark")
        .into_iter()
        .map(points)
        .collect();
    assert_eq!(strokes.len(), 2);
    for stroke in strokes {
        let (x, y) = middle(&stroke);
        assert!((x - along(&svg, 72.0)).abs() <= 1.0 && y > at(100.0));
    }
    for label in ["v 100", "v 250", "value; axis starts at 100", "hours"] {
        assert!(says(&svg, label), "{label}");
    }
}

#[test]
fn a_bound_is_an_arrow_in_its_direction() {
    // At both ends of the axis.
    let arrows = |bound| {
        let tests = [(12.0, 100.0), (48.0, 250.0)].map(|(at_h, value)| Test {
            bound,
            ..test(at_h, value, Kind::Square)
        });
        let svg = drawn(&chart(&tests));
        let name = box_of(&svg, "value; axis starts at 100");
        let foot = points(coloured(&svg, "polyline", "stroke", "quiet")[0])[0].1;
        let lines = coloured(&svg, "polyline", "stroke", "mark").into_iter().map(points);
        let heads: Vec<_> = lines.filter(|line| line.len() == 3).collect();
        assert!(
            heads
                .iter()
                .flatten()
                .all(|place| (name.bottom..=foot).contains(&place.1))
        );
        let tests = squares(&svg);
        let away = heads.iter().zip(&tests).map(|(head, test)| head[1].1 - middle(test).1);
        away.collect::<Vec<_>>()
    };
    assert_eq!(arrows(Bound::None), Vec::<f64>::new());
    assert!(matches!(arrows(Bound::Above)[..], [first, second] if first < -8.0 && second < -8.0));
    assert!(matches!(arrows(Bound::Below)[..], [first, second] if first > 8.0 && second > 8.0));
}

#[test]
fn labels_of_marked_tests_go_first_and_none_covers_a_test() {
    // As close as hours of a busy day never are.
    let tests: Vec<Test> = (0..60)
        .map(|i| {
            let kind = if i % 3 == 0 { Kind::Round } else { Kind::Square };
            Test {
                label: format!("no. {i}"),
                ..test(20.0 + f64::from(i) * 0.9, 150.0 + f64::from(i * 37 % 50), kind)
            }
        })
        .collect();
    let svg = drawn(&chart(&tests));
    let told = |svg: &str| {
        texts(svg)
            .into_iter()
            .filter(|text| text.words.starts_with("no. "))
            .collect::<Vec<_>>()
    };
    assert!((1..60).contains(&told(&svg).len()), "{}", told(&svg).len());
    // Any of those left out is told when it is marked.
    let left_out: Vec<i32> = (0..60).filter(|i| !says(&svg, &format!("no. {i}"))).collect();
    for i in &left_out {
        let mut marked = tests.clone();
        marked[*i as usize].is_marked = true;
        let svg = drawn(&chart(&marked));
        assert!(says(&svg, &format!("no. {i}")), "no. {i} has no label");
        assert_eq!(coloured(&svg, "circle", "fill", "ink").len(), 1);
    }
    let circles = coloured(&svg, "circle", "fill", "mark");
    let mut symbols: Vec<_> = circles.iter().map(|c| (number(c, "cx"), number(c, "cy"))).collect();
    symbols.extend(squares(&svg).iter().map(|square| middle(square)));
    assert_eq!(symbols.len(), 60);
    for text in told(&svg) {
        for (x, y) in &symbols {
            let is_apart = text.left > x + 4.0 || text.right < x - 4.0 || text.top > y + 4.0 || text.bottom < y - 4.0;
            assert!(is_apart, "{text:?} covers the test at {x} {y}");
        }
    }
}

#[test]
fn a_test_without_neighbours_needs_no_hairline() {
    let tests = [test(12.0, 100.0, Kind::Round), test(60.0, 250.0, Kind::Square)];
    let lines = |tests: &[Test]| {
        let svg = drawn(&chart(tests));
        coloured(&svg, "polyline", "stroke", "quiet").len()
    };
    let apart = lines(&tests);
    // Around the second, others take the near places.
    let mut crowd = tests.to_vec();
    for (hours, value) in [(-6.0, 0.0), (6.0, 0.0), (0.0, 12.0), (0.0, -12.0)] {
        crowd.push(Test {
            label: String::new(),
            ..test(60.0 + hours, 250.0 + value, Kind::Square)
        });
    }
    assert_eq!((lines(&tests[..1]), lines(&crowd)), (apart, apart + 1));
}

#[test]
fn a_threshold_is_cut_at_the_hours_and_labelled_at_its_end() {
    let tests = [test(12.0, 100.0, Kind::Round)];
    let rising = [(-24.0, 50.0), (24.0, 150.0), (120.0, 342.0)];
    let short = [
        (0.0, 200.0),
        (24.0, 200.0),
        (30.0, f64::NAN),
        (40.0, 250.0),
        (48.0, 300.0),
    ];
    let curves = [
        Curve {
            points: &rising,
            label: "first line",
            is_strong: true,
        },
        Curve {
            points: &short,
            label: "second line",
            is_strong: false,
        },
    ];
    let svg = drawn(&Timeline {
        curves: &curves,
        ..chart(&tests)
    });
    let at = |value| height_of(&svg, value, ("100", 100.0), ("200", 200.0));
    let strong: Vec<_> = coloured(&svg, "polyline", "stroke", "ink")
        .into_iter()
        .map(points)
        .collect();
    // Two units an hour all along: 100 at birth, 294 at 96 h.
    assert_eq!(strong.len(), 1);
    let (first, last) = (strong[0][0], strong[0][strong[0].len() - 1]);
    assert!((first.0 - along(&svg, 0.0)).abs() <= 1.0 && (first.1 - at(100.0)).abs() <= 1.0);
    assert!((last.0 - along(&svg, 96.0)).abs() <= 1.0 && (last.1 - at(294.0)).abs() <= 1.0);
    let label = box_of(&svg, "first line");
    assert!(label.left > last.0 && (label.y - last.1).abs() < 20.0);
    // The other has a gap, and ends within.
    let ends = [(24.0, 200.0), (48.0, 300.0)].map(|(hour, value)| (along(&svg, hour), at(value)));
    let weak: Vec<_> = coloured(&svg, "polyline", "stroke", "quiet")
        .into_iter()
        .map(points)
        .collect();
    for end in ends {
        let ends_there = |line: &&Vec<(f64, f64)>| {
            let last = line[line.len() - 1];
            (last.0 - end.0).abs() <= 1.0 && (last.1 - end.1).abs() <= 1.0
        };
        assert_eq!(weak.iter().filter(ends_there).count(), 1);
    }
    let label = box_of(&svg, "second line");
    let away = (label.left - ends[1].0).max(ends[1].0 - label.right);
    assert!(
        away < 30.0 && (label.y - ends[1].1).abs() < 40.0,
        "{label:?} at {ends:?}"
    );
}

#[test]
fn a_line_of_many_points_is_drawn_with_few_and_not_moved() {
    let of = |hour: f64| 300.0 - 200.0 * (-hour / 40.0).exp();
    let hourly: Vec<(f64, f64)> = (0..=96).map(|hour| (f64::from(hour), of(f64::from(hour)))).collect();
    let curves = [Curve {
        points: &hourly,
        label: "line",
        is_strong: true,
    }];
    let svg = drawn(&Timeline {
        curves: &curves,
        ..chart(&[])
    });
    let line = points(coloured(&svg, "polyline", "stroke", "ink")[0]);
    assert!(line.len() < 40, "{}", line.len());
    for (hour, value) in hourly {
        let (x, y) = (
            along(&svg, hour),
            height_of(&svg, value, ("100", 100.0), ("200", 200.0)),
        );
        let pair = line
            .windows(2)
            .find(|pair| pair[0].0 <= x + 0.5 && x - 0.5 <= pair[1].0)
            .unwrap();
        let part = (x - pair[0].0) / (pair[1].0 - pair[0].0);
        let drawn = pair[0].1 + part * (pair[1].1 - pair[0].1);
        assert!((drawn - y).abs() <= 2.0, "{hour} h: {drawn} is not {y}");
    }
}

#[test]
fn bars_lie_from_hour_to_hour_and_stay_open_without_an_end() {
    let bars = [bar(24.0, Some(60.0), "36 h"), bar(72.0, None, "")];
    let rows = [Row {
        name: "course",
        bars: &bars,
    }];
    let svg = drawn(&Timeline {
        rows: &rows,
        ..chart(&[])
    });
    let fills: Vec<_> = coloured(&svg, "polygon", "fill", "mark")
        .into_iter()
        .map(points)
        .collect();
    assert!((fills[0][0].0 - along(&svg, 24.0)).abs() <= 1.0 && (fills[0][1].0 - along(&svg, 60.0)).abs() <= 1.0);
    assert!((fills[1][0].0 - along(&svg, 72.0)).abs() <= 1.0);
    let edges = coloured(&svg, "polyline", "stroke", "mark");
    let upright = |from: f64, to: f64| {
        let sides = edges.iter().map(|edge| points(edge));
        sides
            .filter(|edge| edge[0].0 == edge[1].0 && (from..=to).contains(&edge[0].0))
            .count()
    };
    let (first, second) = (along(&svg, 66.0), along(&svg, 96.0));
    assert_eq!((upright(0.0, first), upright(first, second)), (2, 1));
    assert_eq!(edges.iter().filter(|edge| edge.contains("dasharray")).count(), 2);
    let (name, label) = (box_of(&svg, "course"), box_of(&svg, "36 h"));
    assert!(name.right < label.left && name.y == label.y);
    // An open bar ends where the next begins.
    let close = [bar(72.0, None, ""), bar(74.0, Some(90.0), "")];
    let rows = [Row {
        name: "course",
        bars: &close,
    }];
    let svg = drawn(&Timeline {
        rows: &rows,
        ..chart(&[])
    });
    let edges = coloured(&svg, "polyline", "stroke", "mark").into_iter();
    let open: Vec<_> = edges.filter(|edge| edge.contains("dasharray")).map(points).collect();
    assert!(open.iter().all(|edge| edge[1].0 <= along(&svg, 74.0) + 1.0) && open.len() == 2);
    // A bar from the first hour on leaves no room for the name but above.
    let early = [bar(0.0, Some(60.0), "60 h")];
    let rows = [Row {
        name: "course",
        bars: &early,
    }];
    let svg = drawn(&Timeline {
        rows: &rows,
        ..chart(&[])
    });
    assert!(box_of(&svg, "course").bottom < box_of(&svg, "60 h").top);
}

#[test]
fn an_obligation_is_a_bracket_with_what_ended_it() {
    let parts = |span: Span| {
        let spans = [span];
        let svg = drawn(&Timeline {
            spans: &spans,
            ..chart(&[])
        });
        let hour = |x: f64| (x - along(&svg, 0.0)) / (along(&svg, 1.0) - along(&svg, 0.0));
        let inks = coloured(&svg, "polyline", "stroke", "ink");
        let is_dashed = |line: &&&str| line.contains("dasharray");
        let ends = |line: &str| (hour(points(line)[0].0).round(), hour(points(line)[1].0).round());
        let bracket = inks
            .iter()
            .find(|line| !line.contains("dasharray"))
            .map(|line| ends(line));
        let tail = inks.iter().find(is_dashed).map(|line| ends(line));
        let dot = coloured(&svg, "circle", "fill", "ink")
            .first()
            .map(|dot| hour(number(dot, "cx")).round());
        let is_hollow = elements(&svg, "circle")
            .last()
            .is_some_and(|dot| dot.contains("var(--paper)"));
        assert!(says(&svg, "due"));
        (bracket.unwrap(), tail, dot, is_hollow)
    };
    assert_eq!(
        parts(span(10.0, 30.0, Some(20.0), true)),
        ((10.0, 30.0), None, Some(20.0), false)
    );
    let late = parts(span(10.0, 30.0, Some(50.0), false));
    assert_eq!(late, ((10.0, 30.0), Some((30.0, 50.0)), Some(50.0), true));
    let (bracket, tail, dot, _) = parts(span(10.0, 30.0, None, false));
    assert!(bracket == (10.0, 30.0) && tail.is_some_and(|tail| tail.0 == 30.0) && dot.is_none());
    let excused = parts(span(10.0, 30.0, None, true));
    assert_eq!(excused, ((10.0, 30.0), None, None, false));
}

#[test]
fn what_leaves_the_hours_is_cut_with_an_arrow() {
    let arrows = |spans: &[Span], bars: &[Bar]| {
        let rows = [Row { name: "row", bars }];
        let svg = drawn(&Timeline {
            spans,
            rows: &rows,
            ..chart(&[])
        });
        let inks: Vec<_> = coloured(&svg, "polyline", "stroke", "ink")
            .into_iter()
            .map(points)
            .collect();
        let heads = inks.into_iter().filter(|line| line.len() == 3);
        heads.map(|head| head[1].0 > head[0].0).collect::<Vec<bool>>()
    };
    assert!(arrows(&[span(0.0, 96.0, Some(50.0), true)], &[bar(0.0, Some(96.0), "")]).is_empty());
    // Out of the picture to the left, and to the right.
    assert_eq!(arrows(&[span(-5.0, 10.0, Some(5.0), true)], &[]), [false]);
    assert_eq!(arrows(&[span(90.0, 100.0, None, false)], &[]), [true]);
    assert_eq!(arrows(&[span(80.0, 90.0, Some(120.0), false)], &[]), [true]);
    assert_eq!(arrows(&[span(200.0, 210.0, Some(220.0), false)], &[]), [true, true]);
    assert_eq!(arrows(&[], &[bar(-5.0, Some(120.0), "")]), [false, true]);
}

#[test]
fn tests_outside_the_hours_are_counted_and_what_is_no_number_is_left_out() {
    let tests = [
        test(-1.0, 100.0, Kind::Round),
        test(12.0, 110.0, Kind::Round),
        test(97.0, 120.0, Kind::Square),
        test(f64::NAN, 130.0, Kind::Square),
        test(20.0, f64::INFINITY, Kind::Square),
    ];
    let points = [(0.0, f64::NAN), (f64::INFINITY, 100.0)];
    let curves = [Curve {
        points: &points,
        label: "nowhere",
        is_strong: true,
    }];
    let bars = [bar(f64::NAN, Some(3.0), "bar"), bar(3.0, Some(f64::NAN), "bar")];
    let rows = [Row {
        name: "row",
        bars: &bars,
    }];
    let spans = [span(f64::NAN, 3.0, None, false), span(3.0, f64::INFINITY, None, false)];
    let svg = drawn(&Timeline {
        curves: &curves,
        rows: &rows,
        spans: &spans,
        ..chart(&tests)
    });
    assert_eq!(coloured(&svg, "circle", "fill", "mark").len(), 1);
    assert!(squares(&svg).is_empty());
    assert!(says(&svg, "hours; 2 tests outside") && says(&svg, "row"));
    for nowhere in ["nowhere", "bar", "due"] {
        assert!(!says(&svg, nowhere), "{nowhere}");
    }
    assert!(says(&drawn(&chart(&tests[..2])), "hours; 1 test outside"));
    assert!(says(&drawn(&chart(&[])), "no tests") && !told(&svg).contains("notests"));
}

#[test]
fn hours_have_few_ticks_and_each_day_its_line() {
    let ticks = |from_h: f64, to_h: f64| {
        let svg = drawn(&Timeline {
            from_h,
            to_h,
            ..chart(&[])
        });
        let axis = texts(&svg)
            .into_iter()
            .map(|text| text.y)
            .filter(|y| *y < size(&svg).1 - 30.0);
        let axis = axis.fold(0.0, f64::max);
        let labels: Vec<f64> = texts(&svg)
            .into_iter()
            .filter(|text| text.y == axis)
            .filter_map(|text| text.words.parse().ok())
            .collect();
        let pale: Vec<_> = coloured(&svg, "polyline", "stroke", "pale")
            .into_iter()
            .map(points)
            .collect();
        let days = pale.iter().filter(|line| line[0].0 == line[1].0).count();
        (labels, days)
    };
    assert_eq!(ticks(0.0, 30.0), ((0..=10).map(|i| f64::from(i) * 3.0).collect(), 2));
    assert_eq!(ticks(0.0, 96.0), ((0..=8).map(|i| f64::from(i) * 12.0).collect(), 5));
    let (labels, days) = ticks(0.0, 700.0);
    assert!(
        labels.iter().all(|hour| hour % 24.0 == 0.0) && (5..=12).contains(&labels.len()),
        "{labels:?}"
    );
    assert_eq!(days, 30);
    let (labels, days) = ticks(10.0, 20_000.0);
    assert!((2..=12).contains(&labels.len()) && days == 0, "{labels:?} {days}");
    // Hours that make no axis give a day.
    for (from, to) in [(0.0, 0.0), (0.0, f64::NAN), (f64::NAN, 24.0), (f64::NAN, f64::NAN)] {
        assert_eq!(ticks(from, to), ticks(0.0, 24.0));
    }
}

/// Eight tests, two lines an hour long, a course and three obligations.
#[test]
fn an_ordinary_subject_takes_little_and_nothing_is_cut_off() {
    let line = |foot: f64| (0..=120).map(move |h| (f64::from(h), foot + 200.0 * (1.0 - (-f64::from(h) / 55.0).exp())));
    let (first, second): (Vec<_>, Vec<_>) = (line(120.0).collect(), line(270.0).collect());
    let curves = [
        Curve {
            points: &first,
            label: "line for treatment, 38 weeks, no risk factors",
            is_strong: true,
        },
        Curve {
            points: &second,
            label: "line for the last resort",
            is_strong: false,
        },
    ];
    let times = [14.0, 28.5, 30.0, 31.2, 43.0, 44.5, 62.0, 86.0];
    let values = [98.0, 182.0, 0.0, 196.0, 262.0, 271.0, 215.0, 176.0];
    let mut tests: Vec<Test> = times
        .into_iter()
        .zip(values)
        .map(|(at_h, value)| test(at_h, value, if value == 182.0 { Kind::Round } else { Kind::Square }))
        .collect();
    tests[2].kind = Kind::Cross;
    tests[4].is_marked = true;
    let bars = [bar(47.0, Some(80.0), "33 h")];
    let rows = [Row {
        name: "treatment",
        bars: &bars,
    }];
    let mut spans = [
        span(28.5, 30.5, Some(31.2), false),
        span(43.0, 45.0, Some(44.5), true),
        span(80.0, 104.0, None, false),
    ];
    spans[2].label = "a test within 24 h of the end of treatment, of which nothing was recorded in any unit".to_owned();
    let ordinary = Timeline {
        curves: &curves,
        rows: &rows,
        spans: &spans,
        ..chart(&tests)
    };
    let svg = drawn(&ordinary);
    assert!(svg.len() < 12_000, "{} bytes", svg.len());
    assert_eq!(svg, drawn(&ordinary));
    assert!(told(&svg).contains(&spans[2].label.replace(' ', "")) && told(&svg).contains("norisk"));
    assert!(says(&svg, "v 262"));
    for to_h in [30.0, 700.0] {
        drawn(&Timeline {
            to_h,
            ..ordinary.clone()
        });
    }
}

#[test]
fn words_without_end_stay_inside_and_text_stays_text() {
    let endless = "a name with <b> & no end ".repeat(20);
    let points = [(0.0, 100.0), (96.0, 200.0)];
    let curves = [Curve {
        points: &points,
        label: &endless,
        is_strong: false,
    }; 6];
    let bars = [
        bar(0.0, Some(20.0), &endless),
        bar(22.0, None, &endless),
        bar(25.0, Some(96.0), &endless),
    ];
    let rows = [Row {
        name: &endless,
        bars: &bars,
    }];
    let spans = [Span {
        label: endless.clone(),
        ..span(10.0, 30.0, None, false)
    }];
    let tests = [Test {
        label: endless.clone(),
        ..test(12.0, 100.0, Kind::Round)
    }];
    let svg = drawn(&Timeline {
        across: &endless,
        up: &endless,
        curves: &curves,
        rows: &rows,
        spans: &spans,
        ..chart(&tests)
    });
    assert!(!svg.contains("<b>") && svg.contains("&lt;b&gt; &amp; no"));
    assert_eq!(attribute(&svg, "viewBox").split(' ').nth(2), Some("720"));
}
