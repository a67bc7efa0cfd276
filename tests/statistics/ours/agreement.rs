//! Two ways of measuring compared.

use siskin::statistics::agreement::diagnostic::{Share, Table};
use siskin::statistics::agreement::{
    bland_altman, concordance as lin, deming as line, passing_bablok as ranks, repeated as several, roc as areas,
};

use super::Answers;

pub(super) fn limits(to: &mut Answers<'_>) {
    let found = bland_altman::agreement(&to.pairs("a", "b")).unwrap();
    to.say("bias", found.bias);
    to.between("bias", Some(found.bias_interval));
    to.between("limits", Some(found.limits));
    to.between("lower limit", Some(found.lower_interval));
    to.between("upper limit", Some(found.upper_interval));
    let line = found.proportional;
    to.say("slope", line.map(|of| of.slope));
    to.between("slope", line.map(|of| of.slope_interval));
}

pub(super) fn repeated(to: &mut Answers<'_>) {
    let babies: Vec<Vec<(f64, f64)>> = serde_json::from_value(to.input("babies").clone()).unwrap();
    let found = several::repeated(&babies).unwrap();
    to.say("bias", found.bias);
    to.between("bias", Some(found.bias_interval));
    to.say("between", found.between_sd);
    to.say("within", found.within_sd);
}

pub(super) fn concordance(to: &mut Answers<'_>) {
    let found = lin::concordance(&to.pairs("a", "b")).unwrap();
    to.say("concordance", found.value);
    to.between("concordance", found.interval);
}

pub(super) fn deming(to: &mut Answers<'_>) {
    let found = line::deming(&to.pairs("x", "y"), to.number("lambda"));
    to.say("intercept", found.map(|of| of.intercept));
    to.say("slope", found.map(|of| of.slope));
    to.between("slope", found.and_then(|of| of.slope_interval));
}

pub(super) fn passing_bablok(to: &mut Answers<'_>) {
    let found = ranks::passing_bablok(&to.pairs("x", "y"), to.number("conf")).unwrap();
    to.say("slope", found.slope);
    to.between("slope", found.slope_interval);
    to.say("intercept", found.intercept);
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
        to.between(&format!("area of {name}"), area.interval);
    }
}
