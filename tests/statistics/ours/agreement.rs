//! Two ways of measuring compared.

use siskin::statistics::agreement::diagnostic::{Share, Table};
use siskin::statistics::agreement::{
    bland_altman, concordance as lin, deming as line, passing_bablok as ranks, repeated as several, roc as areas,
};

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
}

pub(super) fn roc(to: &mut Answers<'_>) {
    let outcome: Vec<bool> = to.numbers("outcome_poor").iter().map(|of| *of == 1.0).collect();
    let inputs = to.case["inputs"].as_object().unwrap();
    for name in inputs.keys().filter(|name| *name != "outcome_poor") {
        let scored: Vec<areas::Scored> = to.numbers(name).into_iter().zip(outcome.iter().copied()).collect();
        let area = areas::area(&scored).unwrap();
        to.say(&format!("area of {name}"), area.value);
        to.say(&format!("area of {name} variance"), area.variance);
        to.between(&format!("area of {name}"), area.interval);
    }
}
