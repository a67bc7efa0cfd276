//! Two methods against each other: differences, and fitted lines.

use siskin::charts::Format;
use siskin::charts::difference::{Difference, Level};
use siskin::charts::regression::{Fit, Regression};

use super::{assert_sound, attribute, coloured, elements, height_of, points, says, told};

fn whole(value: f64) -> String {
    format!("{value:.0}")
}

/// Pairs without chance: multiples of the golden ratio.
fn pairs(n: u32) -> Vec<(f64, f64)> {
    (0..n)
        .map(|i| {
            let part = (f64::from(i) * 0.618_033_988_749_895).fract();
            (100.0 + f64::from(i % 211), -50.0 + 100.0 * part)
        })
        .collect()
}

fn level(value: f64, half: f64, label: &str) -> Level<'_> {
    Level {
        value,
        interval: Some((value - half, value + half)),
        label,
    }
}

fn difference<'a>(pairs: &'a [(f64, f64)]) -> Difference<'a> {
    Difference {
        id: "difference",
        title: "differences",
        description: "against means",
        pairs,
        bias: Some(level(-12.0, 3.0, "bias -12 (-15 to -9)")),
        limits: Some((
            level(-51.0, 5.0, "lower limit -51 (-56 to -46)"),
            level(27.0, 5.0, "upper limit 27 (22 to 32)"),
        )),
        format: Format::Wide,
        write: whole,
        mean: "mean of both, µmol/L",
        difference: "meter minus serum, µmol/L",
    }
}

/// Places of the small squares.
fn specks(svg: &str) -> Vec<(f64, f64)> {
    let paths = elements(svg, "path");
    let path = paths.first().map_or("", |path| attribute(path, "d"));
    path.split('M')
        .skip(1)
        .map(|place| {
            let (x, y) = place.strip_suffix("h0").unwrap().split_once(' ').unwrap();
            (x.parse().unwrap(), y.parse().unwrap())
        })
        .collect()
}

#[test]
fn three_thousand_pairs_are_one_small_path() {
    let pairs = pairs(3000);
    let svg = difference(&pairs).svg().unwrap();
    assert_sound(&svg);
    assert_eq!(elements(&svg, "path").len(), 1);
    assert!(specks(&svg).len() > 2000);
    assert!(svg.len() < 60_000, "{} bytes", svg.len());
    assert_eq!(svg, difference(&pairs).svg().unwrap());
}

#[test]
fn differences_bias_and_limits_lie_where_the_axis_says() {
    let svg = difference(&[(100.0, -50.0), (300.0, 50.0)]).svg().unwrap();
    assert_sound(&svg);
    let at = |value| height_of(&svg, value, ("-50", -50.0), ("50", 50.0));
    let found = specks(&svg);
    assert!((found[0].1 - at(-50.0)).abs() <= 1.0 && (found[1].1 - at(50.0)).abs() <= 1.0);
    let lines = coloured(&svg, "polyline", "stroke", "ink");
    let heights: Vec<f64> = lines.iter().map(|line| points(line)[0].1).collect();
    for (height, value) in heights.iter().zip([-12.0, -51.0, 27.0]) {
        assert!((height - at(value)).abs() <= 1.0, "{value}");
    }
    let bands = coloured(&svg, "polygon", "fill", "pale");
    assert_eq!(bands.len(), 3);
    let band = points(bands[0]);
    assert!((band[0].1 - at(-9.0)).abs() <= 1.0 && (band[2].1 - at(-15.0)).abs() <= 1.0);
    let zero = elements(&svg, "polyline")
        .into_iter()
        .find(|line| line.contains("dasharray"))
        .unwrap();
    assert!((points(zero)[0].1 - at(0.0)).abs() <= 1.0);
    let told = told(&svg);
    for words in [
        "bias-12(-15to-9)",
        "lowerlimit-51",
        "upperlimit27(22to32)",
        "meterminusserum",
    ] {
        assert!(told.contains(words), "{words}");
    }
}

#[test]
fn a_mean_axis_that_does_not_start_at_zero_says_so() {
    let svg = difference(&[(180.0, 1.0), (220.0, 2.0)]).svg().unwrap();
    assert_sound(&svg);
    assert!(told(&svg).contains("axisstartsat180"));
    let svg = difference(&[(10.0, 1.0), (220.0, 2.0)]).svg().unwrap();
    assert!(!told(&svg).contains("starts"));
}

#[test]
fn lines_that_fall_together_keep_their_numbers_apart() {
    let pairs = [(100.0, 4000.0), (110.0, -12.0)];
    for format in [Format::Wide, Format::Narrow] {
        let svg = Difference {
            format,
            limits: Some((
                level(-12.5, 0.1, "lower limit -12.5 (-12.6 to -12.4)"),
                level(-11.5, 0.1, "upper limit -11.5 (-11.6 to -11.4)"),
            )),
            ..difference(&pairs)
        };
        let svg = svg.svg().unwrap();
        assert_sound(&svg);
        assert!(told(&svg).contains("lowerlimit") && told(&svg).contains("upperlimit"));
    }
}

#[test]
fn no_pair_one_pair_and_not_numbers_are_drawn_without_harm() {
    let none = Difference {
        bias: None,
        limits: None,
        ..difference(&[])
    };
    let svg = none.svg().unwrap();
    assert_sound(&svg);
    assert!(says(&svg, "no data") && elements(&svg, "path").is_empty());
    let odd = [(f64::NAN, 1.0), (100.0, f64::INFINITY), (100.0, 1.0)];
    let svg = Difference {
        bias: Some(level(f64::NAN, 1.0, "bias")),
        ..difference(&odd)
    }
    .svg()
    .unwrap();
    assert_sound(&svg);
    assert_eq!(specks(&svg).len(), 1);
    assert!(!says(&svg, "bias"));

    let fit = Fit {
        intercept: 4.0,
        slope: 0.9,
        label: "fit",
    };
    for pairs in [vec![], vec![(f64::NAN, 1.0)]] {
        let svg = regression(&pairs, &[fit]).svg().unwrap();
        assert_sound(&svg);
        assert!(says(&svg, "no data") && !says(&svg, "fit"));
    }
    let svg = regression(&[(100.0, 100.0)], &[fit]).svg().unwrap();
    assert_sound(&svg);
    assert_eq!(specks(&svg).len(), 1);
}

fn regression<'a>(pairs: &'a [(f64, f64)], fits: &'a [Fit<'a>]) -> Regression<'a> {
    Regression {
        id: "regression",
        title: "two methods",
        description: "pairs and lines",
        pairs,
        fits,
        format: Format::Wide,
        write: whole,
        along: "serum, µmol/L",
        up: "meter, µmol/L",
    }
}

#[test]
fn a_fitted_line_runs_over_the_pairs_only() {
    let pairs = [(100.0, 150.0), (300.0, 250.0), (0.0, 400.0)];
    let fits = [Fit {
        intercept: 100.0,
        slope: 0.5,
        label: "fit 100 + 0.50 x",
    }];
    let svg = regression(&pairs, &fits).svg().unwrap();
    assert_sound(&svg);
    let at = |value| height_of(&svg, value, ("100", 100.0), ("400", 400.0));
    let line = points(coloured(&svg, "polyline", "stroke", "ink")[0]);
    assert!((line[0].1 - at(100.0)).abs() <= 1.0 && (line[1].1 - at(250.0)).abs() <= 1.0);
    let pair = specks(&svg).into_iter().max_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
    assert!((line[1].0 - pair.0).abs() <= 1.0, "ends at the last pair");
    assert!(says(&svg, "fit 100 + 0.50 x") && says(&svg, "equal"));
}

#[test]
fn a_steep_line_stays_in_the_plot_and_flat_ones_beyond_it_are_left_out() {
    let pairs = pairs(400)
        .iter()
        .map(|(mean, difference)| (*mean, mean + difference * 0.2))
        .collect::<Vec<_>>();
    let steep = [
        Fit {
            intercept: -4000.0,
            slope: 20.0,
            label: "steep -4000 + 20 x, with its interval (18 to 22)",
        },
        Fit {
            intercept: 0.0,
            slope: 1.0,
            label: "level with identity 0 + 1.00 x",
        },
    ];
    for format in [Format::Wide, Format::Narrow] {
        let svg = Regression {
            format,
            ..regression(&pairs, &steep)
        };
        let svg = svg.svg().unwrap();
        assert_sound(&svg);
        assert_eq!(coloured(&svg, "polyline", "stroke", "ink").len(), 2);
        assert_eq!(svg.matches("stroke-dasharray").count(), 1);
    }
    for (intercept, slope) in [(9000.0, 0.0), (f64::NAN, 1.0), (0.0, f64::INFINITY), (9000.0, 0.1)] {
        let fits = [Fit {
            intercept,
            slope,
            label: "beyond",
        }];
        let svg = regression(&pairs, &fits).svg().unwrap();
        assert_sound(&svg);
        assert!(!says(&svg, "beyond"), "{intercept} {slope}");
    }
}
