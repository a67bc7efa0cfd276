//! What a single key of `protocol.toml` cannot show.

use super::file::{ClauseKind, ProtocolFile, ReferralWindow, Trigger, Version};
use super::{ProtocolError, gestation_days, lines};

/// Four weeks: nothing an audit of the newborn period waits for is longer.
const MOST_HOURS: f64 = 672.0;

/// Checks what a single key cannot show.
pub(super) fn check(file: &ProtocolFile) -> Result<(), ProtocolError> {
    let refuse = |why: String| Err(ProtocolError::Meaning(why));
    if file.version.is_empty() {
        return refuse("it has no [[version]]".into());
    }
    let plausible = &file.plausible;
    if plausible.umol_l_at_least >= plausible.umol_l_at_most {
        return refuse("plausible.umol_l_at_least is not below umol_l_at_most".into());
    }
    for (i, version) in file.version.iter().enumerate() {
        if file.version[..i].iter().any(|before| before.name == version.name) {
            return refuse(format!("two versions are named '{}'", version.name));
        }
    }
    for pair in file.version.windows(2) {
        if pair[1].in_force_from <= pair[0].in_force_from {
            return refuse(format!(
                "version '{}' is in force from {}, not after '{}' before it",
                pair[1].name, pair[1].in_force_from, pair[0].name
            ));
        }
    }
    for version in &file.version {
        check_version(version).map_err(|why| ProtocolError::Meaning(format!("version '{}': {why}", version.name)))?;
    }
    Ok(())
}

fn check_version(version: &Version) -> Result<(), String> {
    check_hours(version)?;
    if version.readmission.codes.is_empty() {
        return Err("readmission codes are empty".into());
    }
    if !lines::is_built_in(&version.line.standard) {
        return Err(format!(
            "line standard '{}' is not built in; built in: {}",
            version.line.standard,
            lines::NICE_CG98
        ));
    }
    let gestations = [
        Some(&version.referral.gestation_at_least),
        Some(&version.readmission.gestation_at_least),
    ];
    let of_rules = version.recheck.rules.iter();
    for text in gestations
        .into_iter()
        .chain(of_rules.map(|r| r.gestation_at_least.as_ref()))
        .flatten()
    {
        if gestation_days(text).is_none() {
            return Err(format!("gestation '{text}' is not weeks+days such as 35+0"));
        }
    }
    for clause in &version.referral.clauses {
        if (clause.when == ClauseKind::AboveRange) == clause.limit().is_some() {
            return Err(format!(
                "clause {} {} umol_l",
                clause.when.word(),
                if clause.limit().is_some() { "takes no" } else { "needs" }
            ));
        }
    }
    check_windows(&version.referral.windows)?;
    for rule in &version.recheck.rules {
        if rule.latest_h < rule.earliest_h {
            return Err(format!("recheck rule {} closes before it opens", rule.rule));
        }
        if (rule.trigger == Trigger::SerumInCourse) != rule.into_course_h.is_some() {
            return Err(format!(
                "recheck rule {}: into_course_h goes with the trigger serum_in_course",
                rule.rule
            ));
        }
    }
    Ok(())
}

/// Hours must be hours: none below 0, none beyond what an audit follows.
fn check_hours(version: &Version) -> Result<(), String> {
    let (stays, referral, recheck) = (&version.stays, &version.referral, &version.recheck);
    let mut hours = vec![
        ("transfer_within_h", stays.transfer_within_h),
        ("course_gap_h", stays.course_gap_h),
        ("referral age_above_h", referral.age_above_h),
        ("not_after_phototherapy_h", referral.not_after_phototherapy_h),
        ("paired_before_h", referral.paired_before_h),
        ("same_referral_under_h", referral.same_referral_under_h),
        ("follow_up_h", referral.follow_up_h),
        ("accept_after_h", recheck.accept_after_h),
        ("late_until_h", recheck.late_until_h),
    ];
    hours.extend(referral.windows.iter().map(|w| ("within_h", w.within_h)));
    hours.extend(
        recheck
            .rules
            .iter()
            .flat_map(|r| [("earliest_h", r.earliest_h), ("latest_h", r.latest_h)]),
    );
    if let Some((key, value)) = hours.iter().find(|(_, h)| !(0.0..=MOST_HOURS).contains(h)) {
        return Err(format!("{key} = {value} is not between 0 and {MOST_HOURS} hours"));
    }
    match referral
        .windows
        .iter()
        .find(|w| w.within_h <= 0.0 || w.within_h > referral.follow_up_h)
    {
        Some(window) => Err(format!(
            "referral window within_h = {} must be more than 0 and no more than follow_up_h = {}",
            window.within_h, referral.follow_up_h
        )),
        None => Ok(()),
    }
}

/// Referral windows must cover every age from 0 once.
fn check_windows(windows: &[ReferralWindow]) -> Result<(), String> {
    let mut covered_to = Some(0.0);
    for window in windows {
        if covered_to != Some(window.age_from_h) {
            return Err(format!(
                "referral windows leave a gap or overlap at {} h of age",
                window.age_from_h
            ));
        }
        covered_to = window.age_below_h;
    }
    match covered_to {
        None => Ok(()),
        Some(age) => Err(format!(
            "referral windows end at {age} h of age; leave age_below_h out of the last"
        )),
    }
}
