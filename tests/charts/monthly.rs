//! One figure over months.

use siskin::charts::Format;
use siskin::charts::axis::Start;
use siskin::charts::monthly::{Monthly, Phase, Point};

use super::{
    assert_sound, attribute, coloured, diamonds, elements, height_of, number, points, says, size, texts, told,
};

fn point(label: &str, value: Option<f64>) -> Point {
    Point {
        label: label.to_owned(),
        value,
        is_no_data: value.is_none(),
        ..Point::default()
    }
}

fn tenths(value: f64) -> String {
    format!("{value:.1}")
}

fn percent(value: f64) -> String {
    format!("{:.0} %", value * 100.0)
}

fn chart<'a>(points: &'a [Point], phases: &'a [Phase]) -> Monthly<'a> {
    Monthly {
        id: "figure",
        title: "a figure",
        description: "by month",
        points,
        phases,
        format: Format::Wide,
        start: Start::Zero,
        top: Some(1.0),
        write: tenths,
        latest: "50 %",
        usual: "usual 40 %",
        target: "target 90 %",
        of: "births",
    }
}

fn drawn(points: &[Point]) -> String {
    let svg = chart(points, &[]).svg().unwrap();
    assert_sound(&svg);
    svg
}

/// Months with a value of 0.5, given a name each.
fn months(n: usize) -> Vec<Point> {
    (0..n).map(|i| point(&format!("m{i}"), Some(0.5))).collect()
}

/// Dots in the data's hue, from the left.
fn dots(svg: &str) -> Vec<(f64, f64)> {
    let circles = coloured(svg, "circle", "fill", "mark");
    circles.iter().map(|c| (number(c, "cx"), number(c, "cy"))).collect()
}

/// Lines of the data are thin, intervals are thick.
fn lines(svg: &str, width: &str) -> usize {
    let lines = coloured(svg, "polyline", "stroke", "mark");
    lines
        .iter()
        .filter(|line| attribute(line, "stroke-width") == width)
        .count()
}

#[test]
fn a_month_without_data_is_a_gap_in_the_line() {
    let whole = months(5);
    let svg = drawn(&whole);
    assert_eq!((dots(&svg).len(), lines(&svg, "1")), (5, 1));
    assert!(!says(&svg, "no data"));
    let mut gap = whole.clone();
    gap[2] = point("Mar", None);
    let svg = drawn(&gap);
    assert_eq!((dots(&svg).len(), lines(&svg, "1")), (4, 2));
    assert!(says(&svg, "no data"));
    // A value that came with a month without data is not drawn.
    gap[2] = Point {
        value: Some(0.0),
        interval: Some((0.0, 0.9)),
        ..gap[2].clone()
    };
    assert_eq!(drawn(&gap), svg);
}

#[test]
fn months_without_data_in_a_row_say_so_once() {
    let mut points = months(12);
    for i in [1, 4, 5, 6, 9] {
        points[i] = point("gap", None);
    }
    let words = texts(&drawn(&points));
    assert_eq!(words.iter().filter(|text| text.words == "no data").count(), 3);
    assert!(says(&drawn(&[]), "no data"));
}

#[test]
fn a_hidden_month_is_a_gap_that_says_so_and_moves_nothing() {
    let mut shown = months(12);
    for point in &mut shown {
        point.expected = Some((0.3, 0.6));
        point.centre = Some(0.4);
    }
    let mut hidden = shown.clone();
    hidden[5] = Point {
        is_hidden: true,
        ..point("May", Some(0.5))
    };
    // Whatever the month holds, the picture is the same bytes.
    let svg = drawn(&hidden);
    let secrets = [
        Point {
            value: Some(90.0),
            interval: Some((-5.0, 80.0)),
            expected: Some((0.0, 7.0)),
            signal: Some("above".to_owned()),
            is_provisional: true,
            ..hidden[5].clone()
        },
        Point {
            value: None,
            is_no_data: true,
            ..hidden[5].clone()
        },
    ];
    for secret in secrets {
        hidden[5] = secret;
        assert_eq!(drawn(&hidden), svg);
    }
    assert_eq!((dots(&svg).len(), lines(&svg, "1")), (11, 2));
    assert!(says(&svg, "hidden") && says(&svg, "May") && !says(&svg, "no data"));
    assert_eq!(coloured(&svg, "polygon", "fill", "pale").len(), 2);
    // A month without data beside it has its own word.
    hidden[6] = point("Jun", None);
    let svg = drawn(&hidden);
    assert!(says(&svg, "hidden") && says(&svg, "no data"));
    // Of the last month not even the value given for the end is written.
    let mut last = shown;
    last[11].is_hidden = true;
    assert!(says(&drawn(&months(12)), "50 %") && !says(&drawn(&last), "50 %"));
    // The denominator stands when it is given.
    hidden[5].below = "310".to_owned();
    assert!(says(&drawn(&hidden), "310"));
}

/// Eight quarters, named by the months they hold or by their number.
fn quarters(names: [&str; 4]) -> Vec<Point> {
    let name = |i: usize| format!("{} {}", names[i % 4], 24 + i / 4);
    (0..8)
        .map(|i| Point {
            below: format!("{}", 98 + i * 7),
            interval: Some((0.2, 0.55)),
            ..point(&name(i), Some(0.3 + i as f64 / 100.0))
        })
        .collect()
}

#[test]
fn each_of_eight_quarters_has_its_label_and_its_denominator() {
    let short = quarters(["Q1", "Q2", "Q3", "Q4"]);
    let long = quarters(["Jan–Mar", "Apr–Jun", "Jul–Sep", "Oct–Dec"]);
    for (points, format, labels) in [
        (&short, Format::Wide, 8),
        (&short, Format::Narrow, 8),
        (&long, Format::Wide, 8),
        (&long, Format::Narrow, 4),
    ] {
        let svg = Monthly {
            format,
            top: Some(0.6),
            ..chart(points, &[])
        };
        let svg = svg.svg().unwrap();
        assert_sound(&svg);
        let drawn = texts(&svg);
        let denominator = |i: usize| drawn.iter().find(|text| text.words == points[i].below).unwrap();
        let foot = height_of(&svg, 0.0, ("0.0", 0.0), ("0.6", 0.6));
        // In lines between the foot of the plot and the denominator.
        let label = |i: usize| {
            let below = denominator(i);
            let lines = drawn
                .iter()
                .filter(|text| text.x == below.x && foot < text.y && text.y < below.y);
            lines.map(|text| text.words.as_str()).collect::<Vec<_>>().join(" ")
        };
        let found: Vec<String> = (0..8).map(label).filter(|label| !label.is_empty()).collect();
        assert_eq!(found.len(), labels, "{found:?}");
        assert_eq!(found[labels - 1].replace("– ", "–"), points[7].label);
    }
}

#[test]
fn a_lone_month_is_a_dot_and_says_its_value() {
    let svg = drawn(&[point("Sep", Some(0.5))]);
    assert_eq!((dots(&svg).len(), lines(&svg, "1")), (1, 0));
    assert!(says(&svg, "50 %") && says(&svg, "Sep"));
}

#[test]
fn dots_and_intervals_lie_where_the_axis_says() {
    let mut points = months(4);
    for (point, value) in points.iter_mut().zip([0.0, 0.25, 0.7, 1.0]) {
        point.value = Some(value);
        point.interval = Some((value * 0.5, value));
    }
    let svg = drawn(&points);
    let at = |value| height_of(&svg, value, ("0.0", 0.0), ("1.0", 1.0));
    for (dot, value) in dots(&svg).into_iter().zip([0.0, 0.25, 0.7, 1.0]) {
        assert!((dot.1 - at(value)).abs() <= 1.0, "{value}");
    }
    let bars = coloured(&svg, "polyline", "stroke", "mark");
    let bars: Vec<_> = bars.into_iter().filter(|bar| bar.contains("opacity")).collect();
    assert_eq!(bars.len(), 4);
    let ends = super::points(bars[2]);
    assert!((ends[0].1 - at(0.35)).abs() <= 1.0 && (ends[1].1 - at(0.7)).abs() <= 1.0);
}

#[test]
fn a_provisional_month_is_hollow() {
    let mut points = months(3);
    let final_ones = elements(&drawn(&points), "circle").len();
    points[2].is_provisional = true;
    let svg = drawn(&points);
    assert_eq!(elements(&svg, "circle").len(), final_ones + 1);
    let last = *elements(&svg, "circle").last().unwrap();
    assert!(last.contains("var(--paper)") && number(last, "r") < 5.0);

    let papers = |svg: &str| coloured(svg, "polygon", "fill", "paper").len();
    points[2].signal = Some("above".to_owned());
    let hollow = papers(&drawn(&points));
    points[2].is_provisional = false;
    assert_eq!(hollow, papers(&drawn(&points)) + 1);
}

#[test]
fn the_band_has_a_step_a_month_and_breaks_where_a_phase_begins() {
    let mut points = months(6);
    for (i, point) in points.iter_mut().enumerate() {
        let centre = if i < 3 { 0.6 } else { 0.3 };
        point.centre = Some(centre);
        point.expected = Some((centre - 0.02 * i as f64, centre + 0.1));
    }
    let bands = |svg: &str| coloured(svg, "polygon", "fill", "pale").len();
    let centres = |svg: &str| {
        let lines = coloured(svg, "polyline", "stroke", "quiet");
        lines.iter().filter(|line| points_of_centre(line)).count()
    };
    let svg = drawn(&points);
    assert_eq!((bands(&svg), centres(&svg)), (1, 1));
    let band = points_of(&svg);
    assert_eq!(band.len(), 24);
    let at = |value| height_of(&svg, value, ("0.0", 0.0), ("1.0", 1.0));
    assert!((band[0].1 - at(0.7)).abs() <= 1.0, "upper limit of the first month");
    assert!((band[12].1 - at(0.2)).abs() <= 1.0, "lower limit of the last month");
    assert!(says(&svg, "usual 40 %"));

    let phases = [Phase {
        from: 3,
        note: "Oct 2025: serum within 4 h agreed".to_owned(),
    }];
    let svg = chart(&points, &phases).svg().unwrap();
    assert_sound(&svg);
    assert_eq!((bands(&svg), centres(&svg)), (2, 2));
    assert!(says(&svg, "Oct 2025: serum within 4 h agreed"));
    let (before, after) = (
        points_of(&svg),
        super::points(coloured(&svg, "polygon", "fill", "pale")[1]),
    );
    let right = before.iter().map(|p| p.0).fold(0.0, f64::max);
    let left = after.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
    assert!(left - right >= 4.0, "{right} to {left}");

    // A month without limits interrupts the band.
    points[4].expected = None;
    points[4].centre = None;
    let svg = drawn(&points);
    assert_eq!((bands(&svg), centres(&svg)), (2, 2));
    // A phase after the last month is left out.
    let late = [Phase {
        from: 6,
        note: "later".to_owned(),
    }];
    assert_eq!(chart(&points, &late).svg().unwrap(), svg);
}

/// A level line or steps, not a tick or a hairline.
fn points_of_centre(line: &str) -> bool {
    let ends = points(line);
    ends.last().unwrap().0 - ends[0].0 > 50.0 && !line.contains("opacity")
}

/// The first band.
fn points_of(svg: &str) -> Vec<(f64, f64)> {
    points(coloured(svg, "polygon", "fill", "pale")[0])
}

#[test]
fn a_signal_is_a_diamond_with_its_word_near() {
    let mut points = months(12);
    assert_eq!(diamonds(&drawn(&points)), 0);
    points[7].value = Some(0.8);
    points[7].signal = Some("above".to_owned());
    let svg = drawn(&points);
    assert_eq!((diamonds(&svg), dots(&svg).len()), (1, 11));
    let word = texts(&svg).into_iter().find(|text| text.words == "above").unwrap();
    let at = height_of(&svg, 0.8, ("0.0", 0.0), ("1.0", 1.0));
    assert!((word.y - at).abs() < 40.0, "{word:?}");
}

#[test]
fn months_in_a_row_with_the_same_word_share_one_that_counts_them() {
    let mut points = months(12);
    for i in [2, 3, 4, 8] {
        points[i].signal = Some("run".to_owned());
    }
    points[9].signal = Some("above".to_owned());
    let svg = drawn(&points);
    assert_eq!(diamonds(&svg), 5);
    for words in ["run, 3 months", "run", "above"] {
        assert!(says(&svg, words), "{words}");
    }
}

#[test]
fn the_target_is_dashed_and_follows_its_months() {
    let mut points = months(6);
    for (i, point) in points.iter_mut().enumerate() {
        point.target = Some(if i < 4 { 0.8 } else { 0.9 });
    }
    let svg = drawn(&points);
    let dashed: Vec<_> = elements(&svg, "polyline")
        .into_iter()
        .filter(|line| line.contains("stroke-dasharray"))
        .collect();
    assert_eq!(dashed.len(), 1);
    let at = |value| height_of(&svg, value, ("0.0", 0.0), ("1.0", 1.0));
    let line = super::points(dashed[0]);
    assert_eq!(line.len(), 4);
    assert!((line[0].1 - at(0.8)).abs() <= 1.0 && (line[3].1 - at(0.9)).abs() <= 1.0);
    assert!(says(&svg, "target 90 %"));
}

#[test]
fn an_axis_that_does_not_start_at_zero_says_so() {
    let near = [0.94, 0.97, 1.0].map(|value| point("m", Some(value)));
    let with = |points: &[Point], start| {
        let svg = Monthly {
            start,
            top: None,
            write: percent,
            ..chart(points, &[])
        }
        .svg()
        .unwrap();
        assert_sound(&svg);
        svg
    };
    let svg = with(&near, Start::Data);
    assert!(says(&svg, "axis starts at 94 %, not at zero") && !says(&svg, "0 %"));
    let svg = with(&near, Start::Zero);
    assert!(!told(&svg).contains("axis") && says(&svg, "0 %"));
    let far = [0.04, 0.5, 1.0].map(|value| point("m", Some(value)));
    let svg = with(&far, Start::Data);
    assert!(!told(&svg).contains("axis") && says(&svg, "0 %"));
}

#[test]
fn a_value_below_zero_is_on_the_axis() {
    let below = [-12.0, -3.0, 4.0].map(|value| point("m", Some(value)));
    let svg = Monthly {
        top: None,
        ..chart(&below, &[])
    }
    .svg()
    .unwrap();
    assert_sound(&svg);
    let at = height_of(&svg, -12.0, ("-15.0", -15.0), ("5.0", 5.0));
    assert!((dots(&svg)[0].1 - at).abs() <= 1.0);
}

#[test]
fn ticks_are_few_and_their_labels_differ() {
    for largest in [0.0, 0.003, 0.011, 0.07, 0.33, 0.99, 1.0] {
        let svg = Monthly {
            top: None,
            write: percent,
            ..chart(&[point("m", Some(largest))], &[])
        }
        .svg()
        .unwrap();
        let labels: Vec<String> = texts(&svg)
            .into_iter()
            .filter(|text| text.x < 80.0 && text.words.ends_with('%'))
            .map(|text| text.words)
            .collect();
        assert!((2..=5).contains(&labels.len()), "{largest}: {labels:?}");
        assert!(labels.windows(2).all(|pair| pair[0] != pair[1]), "{labels:?}");
    }
}

#[test]
fn the_last_month_has_its_label_and_its_denominator() {
    for n in [1, 7, 24, 25] {
        let mut points = months(n);
        for (i, point) in points.iter_mut().enumerate() {
            point.below = format!("{}", 1000 + i);
        }
        let svg = drawn(&points);
        let last = n - 1;
        assert!(says(&svg, &format!("m{last}")) && says(&svg, &format!("{}", 1000 + last)));
        assert!(says(&svg, "births"));
    }
}

#[test]
fn what_cannot_be_drawn_is_left_out() {
    let mut points = months(4);
    points[1].value = Some(f64::NAN);
    points[1].signal = Some("unusual".to_owned());
    points[2].interval = Some((0.1, f64::INFINITY));
    points[3].expected = Some((f64::NEG_INFINITY, 0.9));
    points[3].centre = Some(1e300);
    points[3].target = Some(f64::NAN);
    let svg = drawn(&points);
    assert_eq!((dots(&svg).len(), lines(&svg, "2"), diamonds(&svg)), (3, 0, 0));
    assert!(coloured(&svg, "polygon", "fill", "pale").is_empty());
    assert!(!told(&svg).contains("unusual"));
}

#[test]
fn text_from_outside_stays_text() {
    let svg = Monthly {
        title: "<b> & \"c\"",
        latest: "<script>",
        ..chart(&[point("<i>", Some(0.5))], &[])
    }
    .svg()
    .unwrap();
    assert!(svg.contains("&lt;b&gt; &amp; &quot;c&quot;"));
    assert_sound(&svg);
    assert!(says(&svg, "&lt;i&gt;"));
}

/// Months whose words, notes and labels are as long and many as can be.
fn extreme(n: usize, words: &[&str]) -> Vec<Point> {
    (0..n)
        .map(|i| {
            let value = [0.0, 1.0, 0.5, 0.9][i % 4];
            Point {
                label: format!("Sep {}", 10 + i),
                below: "12 345".to_owned(),
                value: Some(value),
                interval: Some((0.0, 1.0)),
                centre: Some(0.5),
                expected: Some((0.2, 0.8)),
                target: Some(0.95),
                signal: Some(words[i % words.len()].to_owned()),
                is_provisional: i % 3 == 0,
                is_no_data: false,
                ..Point::default()
            }
        })
        .collect()
}

#[test]
fn no_text_covers_another_whatever_the_numbers() {
    let phases: Vec<Phase> = [0, 3, 12, 13, 23]
        .map(|from| Phase {
            from,
            note: "Jan 2025: a second meter at the large unit, told at some length to all who read".to_owned(),
        })
        .into();
    let gaps: Vec<Point> = (0..24).map(|i| point("Sep 26", (i % 2 == 0).then_some(0.9))).collect();
    let mut sets: Vec<Vec<Point>> = vec![Vec::new(), gaps];
    for n in [1, 2, 6, 12, 24, 36] {
        sets.push(extreme(n, &["above"]));
        sets.push(extreme(n, &["above", "run", "unusual", "below"]));
    }
    for points in &sets {
        for phases in [&[][..], &phases[..1], &phases[..]] {
            for format in [Format::Wide, Format::Narrow] {
                let svg = Monthly {
                    format,
                    latest: "4.2 per 1 000 births and year",
                    usual: "usual 5 % of all that were referred",
                    target: "target at most 3 %",
                    of: "referrals of babies born at term and not transferred",
                    ..chart(points, phases)
                };
                let svg = svg.svg().unwrap();
                assert_sound(&svg);
                let with_signal = points.iter().filter(|point| point.signal.is_some()).count();
                assert_eq!(diamonds(&svg), with_signal);
                assert!(svg.len() < 40_000, "{} bytes", svg.len());
            }
        }
    }
}

#[test]
fn a_word_covers_no_dot() {
    for turn in 1..30_usize {
        for format in [Format::Wide, Format::Narrow] {
            let mut points = extreme(24, &["unusual", "run", "above"]);
            for (i, point) in points.iter_mut().enumerate() {
                // Values that jump, by a rule that differs from turn to turn.
                let value = (i * i * turn % 17) as f64 / 20.0;
                point.value = Some(value);
                point.interval = Some((value, value + 0.1)).filter(|_| turn % 2 == 0);
                point.signal = point.signal.take().filter(|_| (i + turn).is_multiple_of(4));
            }
            let svg = Monthly {
                format,
                ..chart(&points, &[])
            };
            let svg = svg.svg().unwrap();
            assert_sound(&svg);
            let diamonds = coloured(&svg, "polygon", "fill", "ink");
            let diamonds = diamonds.into_iter().map(|diamond| {
                let corners = super::points(diamond);
                (corners[0].0, corners[1].1)
            });
            for (x, y) in dots(&svg).into_iter().chain(diamonds) {
                for text in texts(&svg) {
                    let covers = text.left < x + 5.0 && x - 5.0 < text.right;
                    let covers = covers && text.top < y + 5.0 && y - 5.0 < text.bottom;
                    assert!(!covers, "{text:?} covers the dot at {x} {y}");
                }
            }
        }
    }
}

#[test]
fn a_label_without_end_is_shortened_and_a_name_alone_at_the_end_has_its_room() {
    let endless = "usual share of all that were referred ".repeat(12);
    let points = extreme(6, &["above"]);
    let long = Monthly {
        latest: &endless,
        usual: &endless,
        target: &endless,
        ..chart(&points, &[])
    };
    let svg = long.svg().unwrap();
    assert_sound(&svg);
    assert_eq!(texts(&svg).iter().filter(|text| text.words.ends_with('…')).count(), 3);
    let alone = Monthly {
        latest: "",
        usual: "",
        target: "",
        of: "births",
        ..chart(&points, &[])
    };
    let svg = alone.svg().unwrap();
    assert_sound(&svg);
    assert!(says(&svg, "births"));
}

#[test]
fn every_word_is_there_when_all_months_of_two_years_are_signals() {
    let words = ["above", "run", "unusual", "below", "trend"];
    for format in [Format::Wide, Format::Narrow] {
        let points = extreme(24, &words);
        let svg = Monthly {
            format,
            ..chart(&points, &[])
        };
        let svg = svg.svg().unwrap();
        assert_sound(&svg);
        let told = texts(&svg);
        let count = told.iter().filter(|text| words.contains(&text.words.as_str())).count();
        assert_eq!(count, 24);
    }
}

#[test]
fn a_picture_is_the_same_bytes_each_time_and_grows_only_by_what_it_says() {
    let points = extreme(24, &["above", "run"]);
    assert_eq!(chart(&points, &[]).svg().unwrap(), chart(&points, &[]).svg().unwrap());
    assert_eq!(size(&drawn(&months(24))), size(&drawn(&months(1))));
    let (width, height) = size(&drawn(&months(24)));
    assert!(
        width == 720.0 && (230.0..=280.0).contains(&height),
        "{width} by {height}"
    );
}
