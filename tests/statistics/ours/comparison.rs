//! Units and groups against each other.

use serde_json::Value;
use siskin::statistics::comparison::exact_limits::{Level, limits};
use siskin::statistics::comparison::funnel::Funnel;
use siskin::statistics::comparison::indirect::Figure;
use siskin::statistics::comparison::mantel_haenszel::{Common, MantelHaenszel, Stratum};
use siskin::statistics::comparison::overdispersion::{Spread, phi, tau_squared};
use siskin::statistics::comparison::{ChiSquare, direct as standard, indirect as expected};

use super::Answers;

fn test(to: &mut Answers<'_>, what: &str, of: Option<ChiSquare>) {
    to.say(what, of.map(|of| of.value));
    to.say(&format!("{what} p"), of.map(|of| of.p));
}

pub(super) fn funnel(to: &mut Answers<'_>) {
    let units = to.months("r", "n");
    let found = Funnel::of(&units).unwrap();
    let centre = found.centre;
    to.say("centre", centre);
    test(to, "heterogeneity", Some(found.heterogeneity));
    to.say("phi", found.phi);
    to.say("tau squared", found.tau_squared);
    let error = |n: u64| (centre * (1.0 - centre) / n as f64).sqrt();
    let z: Vec<f64> = found.units.iter().flatten().map(|unit| unit.z).collect();
    let errors: Vec<f64> = units.iter().map(|unit| error(unit.1)).collect();
    to.say("phi of all", phi(&z));
    let has_spread = errors.iter().all(|error| *error > 0.0);
    let of_all = phi(&z).filter(|_| has_spread).and_then(|phi| tau_squared(phi, &errors));
    to.say("tau squared of all", of_all);
    for (i, unit) in found.units.iter().enumerate() {
        let unit = unit.unwrap();
        to.say(&format!("z[{i}]"), unit.z);
        to.say(&format!("as many[{i}]"), unit.as_many);
        to.say(&format!("as few[{i}]"), unit.as_few);
        to.between(&format!("95 %[{i}]"), Some(unit.warning));
        to.between(&format!("99.8 %[{i}]"), limits(centre, unit.cases, Level::Action));
        let side = |beyond: Option<_>| beyond.map_or("within".into(), |of| format!("{of:?}"));
        to.exactly(&format!("place[{i}]"), side(unit.beyond.map(|of| (of.level, of.side))));
        let widened = Spread::Added(found.tau_squared.unwrap_or(0.0));
        to.between(
            &format!("widened[{i}]"),
            Some(widened.limits(centre, error(unit.cases), Level::Warning.z())),
        );
    }
}

pub(super) fn mantel_haenszel(to: &mut Answers<'_>) {
    let stratum = |of: &Value| {
        let cell = |name: &str| of[name].as_u64().unwrap();
        Stratum {
            first: (cell("a"), cell("b")),
            second: (cell("c"), cell("d")),
        }
    };
    let strata: Vec<Stratum> = to
        .input("strata_abcd")
        .as_array()
        .unwrap()
        .iter()
        .map(stratum)
        .collect();
    let found = MantelHaenszel::of(&strata);
    let mut common = |what: &str, of: Option<Common>| {
        to.say(what, of.map(|of| of.value));
        to.between(what, of.and_then(|of| of.interval));
    };
    common("odds ratio", found.odds_ratio);
    common("risk ratio", found.risk_ratio);
    common("risk difference", found.risk_difference);
    test(to, "chi-square", found.test);
    test(to, "corrected chi-square", found.corrected_test);
}

/// Rows are strata, columns groups.
pub(super) fn direct(to: &mut Answers<'_>) {
    let events: Vec<Vec<u64>> = serde_json::from_value(to.input("count").clone()).unwrap();
    let exposures: Vec<Vec<f64>> = serde_json::from_value(to.input("pop").clone()).unwrap();
    let weights = to.numbers("std");
    for group in 0..events[0].len() {
        let stratum = |i: usize| standard::Stratum {
            events: events[i][group],
            exposure: exposures[i][group],
            standard: weights[i],
        };
        let strata: Vec<standard::Stratum> = (0..weights.len()).map(stratum).collect();
        let found = standard::standardise(&strata).unwrap();
        to.say(&format!("crude[{group}]"), found.crude);
        to.say(&format!("rate[{group}]"), found.rate);
        to.between(&format!("rate[{group}]"), Some(found.interval));
    }
}

pub(super) fn indirect(to: &mut Answers<'_>) {
    let (events, standard_events) = (to.counts("events"), to.counts("standard_events"));
    let exposures = to.pairs("exposure", "standard_exposure");
    let stratum = |i: usize| expected::Stratum {
        events: events[i],
        exposure: exposures[i].0,
        standard_events: standard_events[i],
        standard_exposure: exposures[i].1,
    };
    let found = expected::standardise(&(0..events.len()).map(stratum).collect::<Vec<_>>()).unwrap();
    to.say("expected", found.expected);
    let mut figure = |what: &str, of: Figure| {
        to.say(what, of.value);
        to.between(what, Some(of.interval));
    };
    figure("ratio", found.ratio);
    figure("rate", found.rate);
}
