//! Every section of a version but its line and its rechecks.

use super::phrases::{days, hours, list, minutes, source};
use crate::protocol::file::{BandWhen, Clause, ClauseKind, FlaggedWhen, Referral, Rise, Severe, Target, Version};

/// What comes before the rechecks, after the line: serum, stays, screening, referral, treatment.
pub(super) fn before_rechecks(version: &Version) -> Vec<String> {
    let mut all = serum_and_stays(version);
    all.extend(screening(version));
    all.extend(referral(&version.referral));
    let hours: Vec<String> = version.time_to_serum.shares_at_h.iter().map(u32::to_string).collect();
    if !hours.is_empty() {
        all.push(format!(
            "Time to serum: the share with a serum is told at {} hours after the screen{}",
            list(&hours, "and"),
            source(&version.time_to_serum.source)
        ));
    }
    all.extend(treatment(version));
    all
}

/// What comes after them: rise, readmission, severe jaundice, targets.
pub(super) fn after_rechecks(version: &Version) -> Vec<String> {
    let mut all = rise(version.rise.as_ref());
    all.extend(readmission(version));
    all.extend(severe(&version.severe));
    let near = &version.near_exchange;
    all.push(format!(
        "Near the exchange line: a serum above the line counts when it is no more than {} below the exchange line, from {} of age{}",
        near.margin().map_or_else(String::new, |margin| margin.to_string()),
        hours(near.age_at_least_h),
        source(&near.source)
    ));
    all.extend(version.targets.iter().map(target));
    all
}

fn serum_and_stays(version: &Version) -> Vec<String> {
    let specimens = version.serum.specimens.iter().map(|specimen| match specimen.as_str() {
        "" => "not stated",
        word => word,
    });
    let specimens: Vec<&str> = specimens.collect();
    let of_stays = source(&version.stays.source);
    vec![
        format!(
            "Serum: a result counts as total bilirubin in serum when its analyte is {} and its specimen is {}{}",
            list(&version.serum.total_bilirubin, "or"),
            list(&specimens, "or"),
            source(&version.serum.source)
        ),
        format!(
            "Serum: after a specimen that failed the next valid one is looked for within {}{}",
            hours(version.serum.redraw_follow_up_h),
            source(&version.serum.source)
        ),
        format!(
            "Stays: an admission within {} after a transfer continues the stay{of_stays}",
            hours(version.stays.transfer_within_h)
        ),
        format!(
            "Courses: phototherapy episodes no more than {} apart are one course{of_stays}",
            hours(version.stays.course_gap_h)
        ),
        format!(
            "Courses: an episode without a stop is taken to end with its stay, or {} after its start if that is sooner; when the lamps went off is then not known, so no recheck is owed for it{of_stays}",
            hours(version.stays.assumed_stop_h)
        ),
    ]
}

fn screening(version: &Version) -> Vec<String> {
    let meter = &version.meter;
    let coverage = match &version.coverage {
        None => "Coverage: only visible jaundice is tested, so screening coverage is not measured.".to_owned(),
        Some(coverage) => format!(
            "Coverage: a baby of {} weeks or more is to have a screen or a serum at {} to {} of age; for one that goes home before {} of age any screen or serum from {} of age to going home counts{}",
            coverage.gestation_at_least,
            coverage.from_age_h,
            hours(coverage.to_age_h),
            hours(coverage.to_age_h),
            hours(coverage.earliest_age_h),
            source(&coverage.source)
        ),
    };
    let of_meter = source(&meter.source);
    vec![
        coverage,
        format!(
            "Meter: a screen of fewer than {} reading{} is flagged{of_meter}",
            meter.readings_at_least,
            if meter.readings_at_least == 1 { "" } else { "s" },
        ),
        format!(
            "Meter: an outpatient screen at {} of age or more is flagged{of_meter}",
            days(meter.outpatient_age_at_least_d),
        ),
        format!(
            "Meter: an outpatient screen at any age is flagged when its body site is another than {}; one without a body site is left out{of_meter}",
            meter.outpatient_body_site
        ),
        format!(
            "Meter: a screen during phototherapy or within {} after it is flagged{}",
            hours(version.referral.not_after_phototherapy_h),
            source(&version.referral.source)
        ),
        match meter.check_holds_h {
            Some(holds) => format!(
                "Meter: a reading is verified when the meter's last check, no more than {} before it, was passed{of_meter}",
                hours(holds)
            ),
            None => format!(
                "Meter: a reading is verified when the meter's last check before it, on the same local day, was passed{of_meter}"
            ),
        },
        format!(
            "Meter: a screen and a serum no more than {} apart are compared as a pair{of_meter}",
            minutes(meter.paired_within_min)
        ),
    ]
}

fn referral(referral: &Referral) -> Vec<String> {
    let age = match referral.age_above_h {
        0.0 => "after birth".to_owned(),
        above => format!("at an age above {}", hours(above)),
    };
    let from = source(&referral.source);
    let mut all = vec![format!(
        "Referral: a screen can call for a serum from {} weeks of gestation, {age}, and neither during phototherapy nor within {} after it{from}",
        referral.gestation_at_least,
        hours(referral.not_after_phototherapy_h)
    )];
    all.extend(referral.clauses.iter().map(clause));
    for window in &referral.windows {
        let ages = match (window.age_from_h, window.age_below_h) {
            (0.0, None) => String::new(),
            (0.0, Some(below)) => format!(" of a baby under {} old", hours(below)),
            (from, None) => format!(" of a baby {} old or more", hours(from)),
            (from, Some(below)) => format!(" of a baby from {from} to under {} old", hours(below)),
        };
        let is_never = window.age_below_h.is_some_and(|below| below <= referral.age_above_h);
        let never = match is_never {
            true => " (this never applies: no screen so early can call for a serum)",
            false => "",
        };
        all.push(format!(
            "Referral: after such a screen{ages} the serum is in time within {}{never}{}",
            hours(window.within_h),
            source(&window.source)
        ));
    }
    let off_limit = &referral.off_limit;
    all.push(format!(
        "Off-limit referral: a screen too early, of too low a gestation, or soon after phototherapy, that is at or above the line or meets a clause that needs none, calls for a serum within {} at up to {} of age and within {} later{}",
        hours(off_limit.first_day_within_h),
        hours(off_limit.first_day_h),
        hours(off_limit.within_h),
        source(&off_limit.source)
    ));
    all.push(format!(
        "Referral: a serum up to {} before the screen answers it too, as drawn with it{from}",
        hours(referral.paired_before_h)
    ));
    all.push(format!(
        "Referral: such screens less than {} apart, with no serum between, are one referral{from}",
        hours(referral.same_referral_under_h)
    ));
    all.push(format!(
        "Referral: it is missed when no serum is collected within {}{from}",
        hours(referral.follow_up_h)
    ));
    all.push(format!(
        "Referral: one that would be missed is left out when a serum up to {} before the screen was below the line{from}",
        hours(referral.recent_serum_h)
    ));
    all
}

fn clause(clause: &Clause) -> String {
    let limit = clause.limit().map_or_else(String::new, |limit| limit.to_string());
    let is_zero = clause.limit().is_some_and(|limit| limit.micro() == 0);
    let when = match clause.when {
        ClauseKind::ValueAbove => format!("its value is above {limit}"),
        ClauseKind::ValueAtLeast => format!("its value is {limit} or more"),
        ClauseKind::LineMinus if is_zero => "its value is at or above the line".to_owned(),
        ClauseKind::LineMinus => format!("its value is no more than {limit} below the line, or above it"),
        ClauseKind::AboveRange => "the meter reported it as above its range".to_owned(),
    };
    format!(
        "Referral: a screen calls for a serum when {when}{}",
        source(&clause.source)
    )
}

fn treatment(version: &Version) -> Vec<String> {
    let treatment = &version.treatment;
    let from = source(&treatment.source);
    vec![
        format!(
            "Treatment: after a serum above the line of a baby without phototherapy, at up to {} of age, phototherapy that starts within {} of the result is in time, within {} late, and otherwise there was none; further serum above the line before it belongs to the same wait{from}",
            days(treatment.age_at_most_d),
            hours(treatment.in_time_h),
            hours(treatment.follow_up_h)
        ),
        format!(
            "Treatment: where lamps came first, and the first serum above the line was drawn within {} of their start, treatment began at once{from}",
            hours(treatment.beside_lamps_h)
        ),
        format!(
            "Treatment: a course is below the line when no serum from {} before its start to {} after it was above it, and just below when one was by no more than {}{from}",
            hours(treatment.below_line_within_h),
            hours(treatment.below_line_after_h),
            treatment
                .near_below()
                .map_or_else(String::new, |margin| margin.to_string())
        ),
    ]
}

fn rise(rise: Option<&Rise>) -> Vec<String> {
    let Some(rise) = rise else {
        return vec!["Rise: no rise between two tests is flagged.".to_owned()];
    };
    let mut all = Vec::new();
    let mut above = None;
    for rate in &rise.rates {
        let rise_of = rate
            .per_hour()
            .map_or_else(String::new, |rate| format!("{rate} per hour"));
        let age = match (above, rate.age_at_most_h) {
            (None, None) => "at any age".to_owned(),
            (None, Some(most)) => format!("at up to {} of age", hours(most)),
            (Some(above), None) => format!("above {} of age", hours(above)),
            (Some(above), Some(most)) => format!("above {above} and up to {} of age", hours(most)),
        };
        let or_more = match rise.flagged_when {
            FlaggedWhen::Above => format!("more than {rise_of}"),
            FlaggedWhen::AtLeast => format!("{rise_of} or more"),
        };
        all.push(format!(
            "Rise: a test is compared with the latest of its kind from {} to {} before it, and a rise of {or_more} is flagged when the second is {age}, and the baby no more than {} old{}",
            rise.apart_at_least_h,
            hours(rise.apart_at_most_h),
            days(rise.age_at_most_d),
            source(&rise.source)
        ));
        above = rate.age_at_most_h;
    }
    all
}

fn readmission(version: &Version) -> Vec<String> {
    let readmission = &version.readmission;
    let within: Vec<String> = readmission.within_days.iter().map(u32::to_string).collect();
    let except = match readmission.except_codes.as_slice() {
        [] => String::new(),
        codes => format!(" (but not {})", list(codes, "or")),
    };
    let from = source(&readmission.source);
    vec![
        format!(
            "Readmission: of babies of {} weeks or more sent home from the birth stay, a later stay that begins by {} days of age counts when its primary diagnosis begins with {}{except}, or phototherapy starts during it{from}",
            readmission.gestation_at_least,
            list(&within, "or"),
            list(&readmission.codes, "or")
        ),
        format!(
            "Readmission: a month's figure is provisional until the last baby born in it could be readmitted by that age{from}"
        ),
        format!(
            "Going home: a baby goes home at risk with a referral unanswered, or within {} after a test by no more than {} below the line{from}",
            hours(readmission.home_at_risk_within_h),
            readmission
                .home_at_risk_gap()
                .map_or_else(String::new, |gap| gap.to_string())
        ),
    ]
}

fn severe(severe: &Severe) -> Vec<String> {
    let age = days(severe.age_at_most_d);
    let mut all = Vec::new();
    for band in &severe.bands {
        let limit = band.limit().map_or_else(String::new, |limit| limit.to_string());
        let when = match band.when {
            BandWhen::Above => format!("above {limit}"),
            BandWhen::AtLeast => format!("of {limit} or more"),
        };
        all.push(format!(
            "Severe jaundice: {} is a serum {when} at up to {age} of age{}",
            band.name,
            source(&band.source)
        ));
    }
    all.push(format!(
        "Severe jaundice: kernicterus is any diagnosis that begins with {}{}",
        list(&severe.kernicterus_codes, "or"),
        source(&severe.source)
    ));
    all
}

fn target(target: &Target) -> String {
    let wanted = match (target.at_most_percent, target.at_least_percent) {
        (Some(percent), _) => format!("at most {percent} percent"),
        (None, Some(percent)) => format!("at least {percent} percent"),
        (None, None) => "nothing".to_owned(),
    };
    format!("Target: {} is to be {wanted}{}", target.figure, source(&target.source))
}
