//! Proportions, counts, means, and the distributions behind them.

use serde_json::Value;
use siskin::statistics::binomial::{cdf, quantile as binomial_quantile};
use siskin::statistics::clustered::clustered;
use siskin::statistics::means::welch;
use siskin::statistics::proportion::{clopper_pearson, newcombe, wilson};
use siskin::statistics::student::quantile_95;
use siskin::statistics::summary::{mean, median as median_of, quantile, standard_deviation};
use siskin::statistics::{Interval, poisson as counts};

use super::Answers;

pub(super) fn proportion(to: &mut Answers<'_>) {
    let (x, n) = (to.count("x"), to.count("n"));
    to.between("wilson", wilson(x, n));
    to.between("exact", clopper_pearson(x, n));
}

pub(super) fn binomial(to: &mut Answers<'_>) {
    let (n, p) = (to.count("n"), to.number("p"));
    for k in to.counts("k") {
        to.say(&format!("P(at most {k})"), cdf(k, n, p));
    }
    for level in to.numbers("levels") {
        to.exactly(&format!("quantile {level}"), binomial_quantile(level, n, p));
    }
}

pub(super) fn difference(to: &mut Answers<'_>) {
    let found = newcombe((to.count("x1"), to.count("n1")), (to.count("x2"), to.count("n2")));
    to.say("difference", found.map(|of| of.value));
    let interval = found.map(|of| Interval {
        lower: of.lower,
        upper: of.upper,
    });
    to.between("difference", interval);
}

pub(super) fn poisson(to: &mut Answers<'_>) {
    to.between("exact", Some(counts::exact(to.count("x"))));
}

pub(super) fn quantiles(to: &mut Answers<'_>) {
    let values = to.numbers("x");
    for p in to.numbers("p") {
        to.say(&format!("quantile {p}"), quantile(&values, p));
    }
}

pub(super) fn median(to: &mut Answers<'_>) {
    let found = median_of(&to.numbers("x")).unwrap();
    to.say("median", found.value);
    to.between("median", found.interval);
}

pub(super) fn summaries(to: &mut Answers<'_>) {
    let series = |inputs: &Value| -> Vec<f64> {
        if inputs.is_array() {
            return super::super::published::numbers(inputs);
        }
        let mut values = vec![inputs["first"].as_f64().unwrap()];
        values.extend(super::super::published::numbers(&inputs["then_repeat_500x"]).repeat(500));
        values
    };
    let inputs = &to.case["inputs"];
    let named: Vec<(String, Vec<f64>)> = if inputs["first"].is_number() {
        vec![("x".into(), series(inputs))]
    } else {
        let all = inputs.as_object().unwrap().iter();
        all.map(|(name, of)| (name.clone(), series(of))).collect()
    };
    for (name, values) in named {
        to.say(&format!("{name} mean"), mean(&values));
        to.say(&format!("{name} standard deviation"), standard_deviation(&values));
    }
}

pub(super) fn student(to: &mut Answers<'_>) {
    for degrees in to.counts("degrees") {
        to.say(&format!("quantile, {degrees} degrees"), quantile_95(degrees as usize));
    }
}

pub(super) fn means(to: &mut Answers<'_>) {
    let found = welch(&to.numbers("a"), &to.numbers("b"));
    to.say("difference", found.map(|of| of.value));
    to.between("difference", found.map(|of| of.interval));
}

pub(super) fn clusters(to: &mut Answers<'_>) {
    to.between("proportion", clustered(&to.months("x", "n")));
}
