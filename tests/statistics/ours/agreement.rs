//! Two ways of measuring compared.

use siskin::statistics::agreement::diagnostic::{Ratio, Share, Table};
use siskin::statistics::agreement::duplicates::Readings;
use siskin::statistics::agreement::{
    bland_altman, concordance as lin, curve, deming as line, duplicates as two, passing_bablok as ranks,
    repeated as several, roc as areas, york as weighted,
};
use siskin::statistics::{Interval, agreement::york::Point};

use super::Answers;

pub(super) fn limits(to: &mut Answers<'_>) {
    let found = bland_altman::agreement(&to.pairs("a", "b")).unwrap();
    to.say("bias", found.bias);
    to.say("bias error", found.bias_error);
    to.between("bias", Some(found.bias_interval));
    to.say("bias p", found.bias_p);
    to.say("sd", found.sd);
    to.between("limits", Some(found.limits));
    to.say("limit error", found.limit_error);
    to.between("lower limit", Some(found.lower_interval));
    to.between("upper limit", Some(found.upper_interval));
    let line = found.proportional;
    to.say("slope", line.map(|of| of.slope));
    to.say("slope error", line.map(|of| of.slope_error));
    to.say("slope p", line.map(|of| of.slope_p));
    to.between("slope", line.map(|of| of.slope_interval));
    to.say("intercept", line.map(|of| of.intercept));
}

pub(super) fn duplicates(to: &mut Answers<'_>) {
    let (first, second) = (to.pairs("a1", "a2"), to.pairs("b1", "b2"));
    let of = |(first, second)| Readings { first, second };
    let found = two::duplicates(&first.into_iter().zip(second).map(of).collect::<Vec<_>>()).unwrap();
    to.say("bias", found.bias);
    to.say("sd of means", found.sd_of_means);
    to.say("sd", found.sd);
    to.between("limits", Some(found.limits));
    to.say("within first", found.within_first);
    to.say("within second", found.within_second);
    to.say("repeatability first", found.repeatability_first);
    to.say("repeatability second", found.repeatability_second);
}

pub(super) fn repeated(to: &mut Answers<'_>) {
    let babies: Vec<Vec<(f64, f64)>> = serde_json::from_value(to.input("babies").clone()).unwrap();
    let found = several::repeated(&babies).unwrap();
    to.say("bias", found.bias);
    to.say("bias error", found.bias_error);
    to.between("bias", Some(found.bias_interval));
    to.say("between", found.between_sd);
    to.say("within", found.within_sd);
    to.say("sd", found.sd);
    to.between("limits", Some(found.limits));
    to.between("lower limit", Some(found.lower_interval));
    to.between("upper limit", Some(found.upper_interval));
}

pub(super) fn concordance(to: &mut Answers<'_>) {
    let found = lin::concordance(&to.pairs("a", "b")).unwrap();
    to.say("concordance", found.value);
    to.between("concordance", found.interval);
    to.say("accuracy", found.accuracy);
    to.say("location shift", found.location_shift);
    to.say("scale shift", found.scale_shift);
}

pub(super) fn deming(to: &mut Answers<'_>) {
    let found = line::deming(&to.pairs("x", "y"), to.number("lambda"));
    for (name, of) in [
        ("intercept", found.map(|of| of.intercept)),
        ("slope", found.map(|of| of.slope)),
    ] {
        let jackknife = of.and_then(|of| of.jackknife);
        to.say(name, of.map(|of| of.value));
        to.say(&format!("{name} error"), jackknife.map(|of| of.error));
        to.say(&format!("{name} jackknife mean"), jackknife.map(|of| of.mean));
        to.between(name, jackknife.map(|of| of.interval));
    }
}

pub(super) fn york(to: &mut Answers<'_>) {
    let points: Vec<Point> = to
        .pairs("x", "sx")
        .into_iter()
        .zip(to.pairs("y", "sy"))
        .map(|((x, x_sd), (y, y_sd))| Point { x, x_sd, y, y_sd })
        .collect();
    let found = weighted::weighted(&points).unwrap();
    to.say("intercept", found.intercept);
    to.say("intercept error", found.intercept_error);
    to.between("intercept", Some(found.intercept_interval));
    to.say("slope", found.slope);
    to.say("slope error", found.slope_error);
    to.between("slope", Some(found.slope_interval));
    to.say("misfit", found.misfit);
}

pub(super) fn passing_bablok(to: &mut Answers<'_>) {
    let found = ranks::passing_bablok(&to.pairs("x", "y"), to.number("conf")).unwrap();
    to.exactly("slopes", found.slopes);
    to.exactly("below -1", found.below_minus_one);
    to.say("slope", found.slope);
    to.between("slope", found.slope_interval);
    to.say("intercept", found.intercept);
    to.between("intercept", found.intercept_interval);
}

pub(super) fn diagnostic(to: &mut Answers<'_>) {
    let table = Table {
        true_positives: to.count("tp"),
        false_positives: to.count("fp"),
        false_negatives: to.count("fn"),
        true_negatives: to.count("tn"),
    };
    let mut share = |what: &str, of: Option<Share>| {
        to.say(what, of.map(|of| of.value));
        to.between(what, of.map(|of| of.interval));
    };
    share("sensitivity", table.sensitivity());
    share("specificity", table.specificity());
    share("positive predictive value", table.positive_predictive_value());
    share("negative predictive value", table.negative_predictive_value());
    share("accuracy", table.accuracy());
    let mut ratio = |what: &str, of: Option<Ratio>| {
        to.say(what, of.map(|of| of.value));
        to.between(what, of.and_then(|of| of.interval));
    };
    ratio("positive likelihood ratio", table.positive_likelihood_ratio());
    ratio("negative likelihood ratio", table.negative_likelihood_ratio());
    ratio("odds ratio", table.odds_ratio());
    let youden = table.youden();
    to.say("Youden's index", youden.map(|of| of.value));
    let interval = youden.map(|of| Interval {
        lower: of.lower,
        upper: of.upper,
    });
    to.between("Youden's index", interval);
}

/// Each score alone, then every two.
pub(super) fn roc(to: &mut Answers<'_>) {
    let outcome: Vec<bool> = to.numbers("outcome_poor").iter().map(|of| *of == 1.0).collect();
    let inputs = to.case["inputs"].as_object().unwrap();
    let mut names: Vec<&String> = inputs.keys().filter(|name| *name != "outcome_poor").collect();
    names.sort();
    for (i, name) in names.iter().enumerate() {
        let scores = to.numbers(name);
        let scored: Vec<areas::Scored> = scores.iter().copied().zip(outcome.iter().copied()).collect();
        let area = areas::area(&scored).unwrap();
        to.say(&format!("area of {name}"), area.value);
        to.say(&format!("area of {name} variance"), area.variance);
        to.between(&format!("area of {name}"), area.interval);
        let points = curve::curve(&scored);
        let below = points.windows(2).map(|pair| {
            (pair[1].false_alarms - pair[0].false_alarms) * (pair[0].sensitivity + pair[1].sensitivity) / 2.0
        });
        to.say(&format!("area below the curve of {name}"), below.sum::<f64>());
        to.exactly(&format!("points of {name}"), points.len());
        for other in &names[i + 1..] {
            let seconds = to.numbers(other);
            let both: Vec<(f64, f64, bool)> = (0..outcome.len())
                .map(|i| (scores[i], seconds[i], outcome[i]))
                .collect();
            let found = areas::compare(&both).unwrap();
            let what = format!("{name} less {other}");
            to.say(&what, found.difference);
            to.say(&format!("{what} covariance"), found.covariance);
            to.between(&what, Some(found.interval));
            to.say(&format!("{what} z"), found.z);
            to.say(&format!("{what} p"), found.p);
        }
    }
}
