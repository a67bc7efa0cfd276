//! Regressions, and before and after a change.

use siskin::statistics::regression::design::Design;
use siskin::statistics::regression::generalised::{self, Counts, Errors};
use siskin::statistics::regression::least_squares::{self, Fit};
use siskin::statistics::regression::newey_west;
use siskin::statistics::regression::phases::phases;
use siskin::statistics::regression::segmented::{Effect, Series, segmented};
use siskin::statistics::{Interval, line as straight};

use super::Answers;

fn coefficients(to: &mut Answers<'_>, fit: &Fit) {
    for (i, value) in fit.coefficients.iter().enumerate() {
        to.say(&format!("b[{i}]"), *value);
        to.say(&format!("b[{i}] error"), fit.error(i));
    }
    to.say("residual sd", fit.residual_sd);
}

/// By both ways of fitting one.
pub(super) fn line(to: &mut Answers<'_>) {
    let points = to.pairs("x", "y");
    let found = straight::fit(&points).unwrap();
    to.say("slope", found.slope);
    to.between("slope", Some(found.slope_interval));
    let design = Design::of(vec![vec![1.0; points.len()], to.numbers("x")]).unwrap();
    coefficients(to, &least_squares::fit(&design, &to.numbers("y")).unwrap());
}

pub(super) fn columns(to: &mut Answers<'_>) {
    let y = to.numbers("y");
    let inputs = to.case["inputs"].as_object().unwrap();
    let mut names: Vec<&String> = inputs.keys().filter(|name| *name != "y").collect();
    names.sort();
    let mut columns = vec![vec![1.0; y.len()]];
    columns.extend(names.iter().map(|name| to.numbers(name)));
    coefficients(to, &least_squares::fit(&Design::of(columns).unwrap(), &y).unwrap());
}

fn generalised(to: &mut Answers<'_>, what: &str, columns: Vec<Vec<f64>>, counts: Counts<'_>) {
    let fit = generalised::fit(&Design::of(columns).unwrap(), counts).unwrap();
    to.say(&format!("{what}, dispersion"), fit.dispersion);
    for (i, value) in fit.coefficients.iter().enumerate() {
        to.say(&format!("{what}, b[{i}]"), *value);
        to.say(&format!("{what}, b[{i}] error"), fit.error(i, Errors::Model));
        to.between(&format!("{what}, b[{i}]"), fit.interval(i, Errors::Model));
        to.between(&format!("{what}, b[{i}] quasi"), fit.interval(i, Errors::Quasi));
    }
}

fn effects(to: &mut Answers<'_>, series: Series<'_>, change: usize) {
    let found = segmented(series, change).unwrap();
    let mut effect = |name: &str, of: Effect| {
        to.say(name, of.value);
        to.between(name, Some(of.interval));
    };
    effect("level", found.level);
    effect("slope change", found.slope_change);
}

pub(super) fn interrupted(to: &mut Answers<'_>) {
    let events = to.counts("aces");
    let months: Vec<(u64, f64)> = events.into_iter().zip(to.numbers("stdpop")).collect();
    let ban = to.numbers("smokban");
    let ones = vec![1.0; months.len()];
    generalised(
        to,
        "Poisson",
        vec![ones, ban.clone(), to.numbers("time")],
        Counts::Rates(&months),
    );
    let change = ban.iter().position(|ban| *ban == 1.0).unwrap();
    effects(to, Series::Rates(&months), change);
}

pub(super) fn segments_of_proportions(to: &mut Answers<'_>) {
    two_phases(to);
    let months = to.months("events", "trials");
    let change = to.count("change") as usize;
    effects(to, Series::Proportions(&months), change);
    let after = (0..months.len()).map(|t| if t < change { 0.0 } else { 1.0 });
    let time = (0..months.len()).map(|t| t as f64);
    let columns = vec![vec![1.0; months.len()], after.collect(), time.collect()];
    generalised(to, "logistic", columns, Counts::Proportions(&months));
}

pub(super) fn two_phases(to: &mut Answers<'_>) {
    let found = phases(&to.months("events", "trials"), to.count("change") as usize).unwrap();
    to.say("phases", found.difference.value);
    let interval = Interval {
        lower: found.difference.lower,
        upper: found.difference.upper,
    };
    to.between("phases", Some(interval));
    to.say("phases dispersion", found.dispersion);
}

pub(super) fn segments_of_values(to: &mut Answers<'_>) {
    let values = to.numbers("x");
    let change = to.count("change") as usize;
    let months: Vec<Option<f64>> = values.iter().copied().map(Some).collect();
    effects(to, Series::Values(&months), change);
    let after = (0..values.len()).map(|t| if t < change { 0.0 } else { 1.0 });
    let time = (0..values.len()).map(|t| t as f64);
    let design = Design::of(vec![vec![1.0; values.len()], after.collect(), time.collect()]).unwrap();
    let fit = least_squares::fit(&design, &values).unwrap();
    let places: Vec<usize> = (0..values.len()).collect();
    let errors = newey_west::errors(&design, &fit, &places, newey_west::lags(values.len())).unwrap();
    to.each("Newey-West error", errors);
}
