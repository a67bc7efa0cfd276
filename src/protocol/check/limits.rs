//! Values that are compared: each written once, in umol/L or in mg/dL, and none negative.

use super::refusal::Refusal;
use crate::protocol::file::{Clause, ClauseKind, Target, Version};

/// The highest value a limit may have, umol/L or mg/dL.
const MOST: f64 = 1000.0;

pub(super) fn check(version: &Version) -> Result<(), Refusal> {
    for clause in &version.referral.clauses {
        let word = format!("\"{}\"", clause.when.word());
        self::clause(clause).map_err(|why| Refusal::from(why).at("when", word))?;
    }
    for band in &version.severe.bands {
        let what = format!("severe band {}", band.name);
        one(&what, ["umol_l", "mg_dl"], band.umol_l, band.mg_dl)
            .map_err(|why| Refusal::from(why).at("name", format!("\"{}\"", band.name)))?;
    }
    for rate in version.rise.iter().flat_map(|rise| &rise.rates) {
        one(
            "a rate of rise",
            ["umol_l_per_h", "mg_dl_per_h"],
            rate.umol_l_per_h,
            rate.mg_dl_per_h,
        )?;
        if rate.per_hour().is_some_and(|rate| rate.micro() == 0) {
            return Err("a rate of rise of 0 flags every pair of tests".into());
        }
    }
    let (readmission, near) = (&version.readmission, &version.near_exchange);
    one(
        "readmission home_at_risk_gap",
        ["home_at_risk_gap_umol_l", "home_at_risk_gap_mg_dl"],
        readmission.home_at_risk_gap_umol_l,
        readmission.home_at_risk_gap_mg_dl,
    )?;
    one(
        "near_exchange",
        ["margin_umol_l", "margin_mg_dl"],
        near.margin_umol_l,
        near.margin_mg_dl,
    )?;
    let treatment = &version.treatment;
    one(
        "treatment near_below",
        ["near_below_umol_l", "near_below_mg_dl"],
        treatment.near_below_umol_l,
        treatment.near_below_mg_dl,
    )?;
    if version.meter.readings_at_least == 0 {
        let why = "meter readings_at_least = 0: a screen is at least 1 reading";
        return Err(Refusal::from(why).at("meter readings_at_least", 0));
    }
    for (i, target) in version.targets.iter().enumerate() {
        self::target(target, &version.targets[..i])
            .map_err(|why| Refusal::from(why).at_row("[[version.targets]]", i))?;
    }
    Ok(())
}

fn clause(clause: &Clause) -> Result<(), String> {
    let what = format!("clause {}", clause.when.word());
    if clause.when != ClauseKind::AboveRange {
        return one(&what, ["umol_l", "mg_dl"], clause.umol_l, clause.mg_dl);
    }
    match (clause.umol_l, clause.mg_dl) {
        (None, None) => Ok(()),
        (Some(_), _) => Err(format!("{what} takes no umol_l")),
        (_, Some(_)) => Err(format!("{what} takes no mg_dl")),
    }
}

/// Exactly one of two keys must be given.
fn one(what: &str, keys: [&str; 2], umol_l: Option<f64>, mg_dl: Option<f64>) -> Result<(), String> {
    if umol_l.is_none() && mg_dl.is_none() {
        return Err(format!("{what} needs {} or {}", keys[0], keys[1]));
    }
    at_most_one(what, keys, umol_l, mg_dl)
}

/// At most one of two keys may be given; a value is 0 or more.
pub(super) fn at_most_one(what: &str, keys: [&str; 2], umol_l: Option<f64>, mg_dl: Option<f64>) -> Result<(), String> {
    if umol_l.is_some() && mg_dl.is_some() {
        return Err(format!("{what} has both {} and {}; give one of them", keys[0], keys[1]));
    }
    for (key, value) in keys.into_iter().zip([umol_l, mg_dl]) {
        if let Some(value) = value.filter(|value| !(0.0..=MOST).contains(value)) {
            return Err(format!("{what}: {key} = {value} is not between 0 and {MOST}"));
        }
    }
    Ok(())
}

fn target(target: &Target, before: &[Target]) -> Result<(), String> {
    let what = format!("target for {}", target.figure);
    let percent = match (target.at_most_percent, target.at_least_percent) {
        (Some(percent), None) | (None, Some(percent)) => percent,
        (Some(_), Some(_)) => {
            return Err(format!(
                "{what} has both at_most_percent and at_least_percent; give one of them"
            ));
        }
        (None, None) => return Err(format!("{what} needs at_most_percent or at_least_percent")),
    };
    if !(0.0..=100.0).contains(&percent) {
        return Err(format!("{what}: {percent} is not between 0 and 100 percent"));
    }
    match before.iter().any(|other| other.figure == target.figure) {
        true => Err(format!("there are two targets for {}", target.figure)),
        false => Ok(()),
    }
}
