//! Hours, days and ages: each one a span an audit can follow, and in order.

use super::refusal::Refusal;
use crate::protocol::file::{ReferralWindow, Version};

/// Four weeks: nothing an audit of the newborn period waits for is longer.
const MOST_HOURS: f64 = 672.0;
const MOST_DAYS: f64 = 28.0;
const MOST_MINUTES: i64 = 40_320;

pub(super) fn check(version: &Version) -> Result<(), Refusal> {
    hours(version)?;
    days(version)?;
    minutes(version)?;
    windows(&version.referral.windows)?;
    orders(version)
}

/// Hours must be hours: none below 0, none beyond what an audit follows.
fn hours(version: &Version) -> Result<(), Refusal> {
    let (stays, referral, recheck) = (&version.stays, &version.referral, &version.recheck);
    let mut hours = vec![
        ("transfer_within_h", stays.transfer_within_h),
        ("course_gap_h", stays.course_gap_h),
        ("assumed_stop_h", stays.assumed_stop_h),
        ("referral age_above_h", referral.age_above_h),
        ("not_after_phototherapy_h", referral.not_after_phototherapy_h),
        ("paired_before_h", referral.paired_before_h),
        ("same_referral_under_h", referral.same_referral_under_h),
        ("recent_serum_h", referral.recent_serum_h),
        ("referral follow_up_h", referral.follow_up_h),
        ("treatment follow_up_h", version.treatment.follow_up_h),
        ("first_day_h", referral.off_limit.first_day_h),
        ("home_at_risk_within_h", version.readmission.home_at_risk_within_h),
        ("near_exchange age_at_least_h", version.near_exchange.age_at_least_h),
        ("beside_lamps_h", version.treatment.beside_lamps_h),
        ("below_line_within_h", version.treatment.below_line_within_h),
        ("below_line_after_h", version.treatment.below_line_after_h),
        ("accept_after_h", recheck.accept_after_h),
    ];
    for window in &referral.windows {
        hours.push(("age_from_h", window.age_from_h));
        hours.extend(window.age_below_h.map(|age| ("age_below_h", age)));
    }
    for rule in &recheck.rules {
        hours.extend([
            ("earliest_h", rule.earliest_h),
            ("latest_h", rule.latest_h),
            ("screens_from_h", rule.screens_from_h),
        ]);
        let optional = [
            ("age_above_h", rule.age_above_h),
            ("age_at_least_h", rule.age_at_least_h),
            ("age_below_h", rule.age_below_h),
            ("into_course_h", rule.into_course_h),
            ("excused_within_h", rule.excused_within_h),
        ];
        hours.extend(optional.into_iter().filter_map(|(key, value)| Some((key, value?))));
    }
    if let Some(coverage) = &version.coverage {
        hours.extend([
            ("from_age_h", coverage.from_age_h),
            ("to_age_h", coverage.to_age_h),
            ("earliest_age_h", coverage.earliest_age_h),
        ]);
    }
    for rate in version.rise.iter().flat_map(|rise| &rise.rates) {
        hours.extend(rate.age_at_most_h.map(|age| ("rise age_at_most_h", age)));
    }
    if let Some((key, value)) = hours.iter().find(|(_, h)| !(0.0..=MOST_HOURS).contains(h)) {
        return Err(Refusal::from(format!("{key} = {value} is not between 0 and {MOST_HOURS} hours")).at(key, value));
    }
    let mut above_zero = vec![
        ("first_day_within_h", referral.off_limit.first_day_within_h),
        ("off_limit within_h", referral.off_limit.within_h),
        ("treatment in_time_h", version.treatment.in_time_h),
        ("redraw_follow_up_h", version.serum.redraw_follow_up_h),
        ("recheck late_until_h", recheck.late_until_h),
    ];
    above_zero.extend(version.rise.iter().flat_map(|rise| {
        [
            ("rise apart_at_least_h", rise.apart_at_least_h),
            ("rise apart_at_most_h", rise.apart_at_most_h),
        ]
    }));
    above_zero.extend(version.meter.check_holds_h.map(|hours| ("check_holds_h", hours)));
    if let Some((key, value)) = above_zero.iter().find(|(_, h)| !(*h > 0.0 && *h <= MOST_HOURS)) {
        let why = format!("{key} = {value} is not above 0 and up to {MOST_HOURS} hours");
        let to_do = "give the hours that are allowed; what is done after them is late, so 0 leaves no time at all";
        return Err(Refusal::from(why).at(key, value).remedy(to_do));
    }
    let is_followed = |w: &&ReferralWindow| w.within_h > 0.0 && w.within_h <= referral.follow_up_h;
    match referral.windows.iter().find(|w| !is_followed(w)) {
        Some(window) => Err(Refusal::from(format!(
            "referral window within_h = {} must be more than 0 and no more than follow_up_h = {}",
            window.within_h, referral.follow_up_h
        ))
        .at("within_h", window.within_h)),
        None => Ok(()),
    }
}

fn days(version: &Version) -> Result<(), Refusal> {
    let readmission = &version.readmission;
    let mut days = vec![
        ("treatment age_at_most_d", version.treatment.age_at_most_d),
        ("severe age_at_most_d", version.severe.age_at_most_d),
        ("outpatient_age_at_least_d", version.meter.outpatient_age_at_least_d),
    ];
    days.extend(
        version
            .rise
            .iter()
            .map(|rise| ("rise age_at_most_d", rise.age_at_most_d)),
    );
    days.extend(readmission.within_days.iter().map(|d| ("within_days", f64::from(*d))));
    match days.iter().find(|(_, d)| !(0.0..=MOST_DAYS).contains(d)) {
        Some((key, value)) => {
            Err(Refusal::from(format!("{key} = {value} is not between 0 and {MOST_DAYS} days")).at(key, value))
        }
        None => Ok(()),
    }
}

fn minutes(version: &Version) -> Result<(), Refusal> {
    let minutes = [
        ("tolerance_min", version.recheck.tolerance_min),
        ("paired_within_min", version.meter.paired_within_min),
    ];
    match minutes.iter().find(|(_, m)| !(0..=MOST_MINUTES).contains(m)) {
        Some((key, value)) => {
            Err(Refusal::from(format!("{key} = {value} is not between 0 and {MOST_MINUTES} minutes")).at(key, value))
        }
        None => Ok(()),
    }
}

/// Referral windows must cover every age from 0 once.
fn windows(windows: &[ReferralWindow]) -> Result<(), Refusal> {
    let mut covered_to = Some(0.0);
    for window in windows {
        if covered_to != Some(window.age_from_h) {
            let why = format!(
                "referral windows leave a gap or overlap at {} h of age",
                window.age_from_h
            );
            return Err(Refusal::from(why).at("age_from_h", window.age_from_h));
        }
        if window.age_below_h.is_some_and(|below| below <= window.age_from_h) {
            let why = format!(
                "a referral window ends before it begins, at {} h of age",
                window.age_from_h
            );
            return Err(Refusal::from(why).at("age_from_h", window.age_from_h));
        }
        covered_to = window.age_below_h;
    }
    match covered_to {
        None => Ok(()),
        Some(age) => Err(Refusal::from(format!(
            "referral windows end at {age} h of age; leave age_below_h out of the last"
        ))
        .at("age_below_h", age)),
    }
}

/// Ages and hours that are listed one after the other must ascend.
fn orders(version: &Version) -> Result<(), Refusal> {
    if let Some(coverage) = version.coverage.as_ref().filter(|c| c.from_age_h >= c.to_age_h) {
        let why = format!(
            "coverage from_age_h = {} is not below to_age_h = {}",
            coverage.from_age_h, coverage.to_age_h
        );
        return Err(Refusal::from(why).at("coverage from_age_h", coverage.from_age_h));
    }
    if version.readmission.within_days.is_empty() {
        return Err(Refusal::from("within_days = [] counts no readmission at any age")
            .at("readmission within_days", "[]")
            .remedy("name the ages in days, such as within_days = [7, 14, 28]"));
    }
    for (key, list) in [
        ("shares_at_h", &version.time_to_serum.shares_at_h),
        ("within_days", &version.readmission.within_days),
    ] {
        if list.windows(2).any(|pair| pair[0] >= pair[1]) {
            return Err(Refusal::from(format!("{key} = {list:?} does not ascend")).at(key, "["));
        }
    }
    let Some(rise) = &version.rise else { return Ok(()) };
    let Some((last, earlier)) = rise.rates.split_last() else {
        return Err("rise.rates is empty; leave [version.rise] out where no rise is flagged".into());
    };
    if last.age_at_most_h.is_some() || earlier.iter().any(|rate| rate.age_at_most_h.is_none()) {
        return Err("rise.rates: each rate but the last needs age_at_most_h, and the last takes none".into());
    }
    match earlier
        .windows(2)
        .any(|pair| pair[0].age_at_most_h >= pair[1].age_at_most_h)
    {
        true => Err("rise.rates: age_at_most_h does not ascend".into()),
        false => Ok(()),
    }
}
