//! The trade's words for figures, outcomes and reasons.

/// A figure's name in words.
pub fn figure(measure: &str) -> String {
    let known = match measure {
        "screening_coverage" => "Screening coverage",
        "missed_referral" => "Missed referral",
        "referral_in_time" => "Serum in time",
        "referral_failed_attempts" => "Referral with a failed specimen",
        "time_to_serum_median" => "Median time to serum",
        "time_to_result_median" => "Median time to result",
        "time_to_treatment" => "Phototherapy in time",
        "untreated_6h" => "Not treated in time",
        "untreated_24h" => "Not treated while followed",
        "never_treated" => "Never treated",
        "treatment_below_line" => "Treatment below the line",
        "recheck_adherence_discharge_gap" => "Test after going home by the gap",
        "severe_jaundice_above_exchange_line" => "Serum above the exchange line",
        "severe_jaundice_exchange_transfusion" => "Exchange transfusion",
        "severe_jaundice_kernicterus_code" => "Kernicterus code",
        "dangerous_miss" => "Dangerous miss",
        "meter_bias" => "Bias of the meter",
        "meter_bias_lower_limit" => "Lower limit of agreement",
        "meter_bias_upper_limit" => "Upper limit of agreement",
        "meter_checks" => "Meter-days with a passing check first",
        "unverified_readings" => "Readings on other days",
        "screens_outside_limits" => "Screens outside any limit",
        "screens_outside_limits_gestation_below_limit" => "Gestation below the limit",
        "screens_outside_limits_age_below_limit" => "Age below the limit",
        "screens_outside_limits_outpatient_14_days" => "Outpatient from 14 days",
        "screens_outside_limits_outpatient_not_sternum" => "Outpatient, not on the sternum",
        "screens_outside_limits_few_readings" => "Too few readings averaged",
        "screens_outside_limits_typed_identity" => "Typed identity",
        "failed_specimens" => "Failed specimens",
        "specimen_delay_median" => "Median delay after a failed specimen",
        "recheck_adherence_near_line" => "Recheck near the line",
        "recheck_adherence_treatment_first" => "First serum in phototherapy",
        "recheck_adherence_treatment_next" => "Next serum in phototherapy",
        "recheck_adherence_rebound" => "Rebound check",
        "record_quality_birth_time" => "Births with a time of birth",
        "record_quality_gestation" => "Births with a gestation",
        "record_quality_birth_unit" => "Births with a unit",
        "record_quality_feeding" => "Births with the feeding",
        "record_quality_skin_tone" => "Births with the skin tone",
        "record_quality_result_time" => "Results with a time",
        "record_quality_births_in_time" => "Births told in time",
        "record_quality_stays_in_time" => "Stays told in time",
        "record_quality_screens_in_time" => "Screens told in time",
        "record_quality_serum_in_time" => "Specimens told in time",
        "recheck_adherence_first_day" => "Serum after a first-day value above the line",
        _ => "",
    };
    if !known.is_empty() {
        return known.to_owned();
    }
    let told = [
        ("time_to_serum_", "Serum drawn by", "h", "hours"),
        (
            "jaundice_readmission_",
            "Readmitted for jaundice by",
            "d",
            "days of age",
        ),
    ];
    for (stem, words, suffix, unit) in told {
        let number = measure.strip_prefix(stem).and_then(|rest| rest.strip_suffix(suffix));
        if let Some(number) = number {
            return format!("{words} {number} {unit}");
        }
    }
    if let Some(band) = measure.strip_prefix("severe_jaundice_") {
        return format!("Serum {}", band_in_words(band));
    }
    plain(measure.strip_prefix("recheck_adherence_").unwrap_or(measure))
}

/// A finding of a case review, in words.
pub fn finding(name: &str) -> String {
    match name {
        "late_referral" => "Late referral".to_owned(),
        "referral_before_death" => "Referral without a serum before death".to_owned(),
        "treated_after_follow_up" => "Treated after the follow-up".to_owned(),
        "treated_late" => "Treated late".to_owned(),
        "readmission" => "Readmission for jaundice".to_owned(),
        "missed_recheck" => "Missed recheck".to_owned(),
        other => figure(other),
    }
}

/// A test that a recheck accepts, in words.
pub fn accepted(accepts: &str) -> &'static str {
    match accepts {
        "serum_or_screen" => "a serum or screen",
        _ => "a serum",
    }
}

/// What pairs and cases are grouped by, in words.
pub fn column(name: &str) -> String {
    match name {
        "night" => "day or night".to_owned(),
        "weekend" => "weekday or weekend".to_owned(),
        other => plain(other),
    }
}

/// What the cases of a figure are, for the row of counts below its chart.
pub fn cases(measure: &str) -> &'static str {
    let known = [
        ("screening_coverage", "births"),
        ("missed_referral", "referrals"),
        ("referral_", "referrals"),
        ("time_to_serum", "referrals"),
        ("time_to_result", "referrals"),
        ("treatment_below_line", "courses"),
        ("recheck_", "rechecks"),
        ("jaundice_readmission", "sent home"),
        ("severe_jaundice", "births"),
        ("meter_checks", "meter-days"),
        ("meter_bias", "pairs"),
        ("dangerous_miss", "pairs"),
        ("unverified_readings", "readings"),
        ("screens_outside", "screens"),
        ("failed_specimens", "specimens"),
        ("specimen_delay", "failed"),
    ];
    let found = known.iter().find(|(stem, _)| measure.starts_with(stem));
    found.map_or("babies", |(_, cases)| cases)
}

/// A kind of case that is looked back from, in words.
pub fn case_kind(kind: &str) -> String {
    match kind {
        "readmission" => "Readmission for jaundice, by month of birth".to_owned(),
        other => figure(&format!("severe_jaundice_{other}")),
    }
}

/// An outcome or reason in words.
pub fn outcome(name: &str) -> String {
    let known = match name {
        "in_time" => "in time",
        "left" => "died or transferred out first",
        "open" => "not yet decidable",
        "not_tested" => "not tested",
        "above_line" => "above the line, none called for",
        "not_above_line" => "not above the line",
        "due" => "called for a serum",
        "not_redrawn" => "not drawn again",
        "good" => "with a passing check first",
        "failed" => "failed",
        "unchecked" => "without a check first",
        "meter_unknown" => "meter unknown",
        "pending" => "still pending",
        "cases" => "with a case",
        "after_data_end" => "after data end",
        "could_not_call" => "could not call for a serum",
        "not_due" => "called for none",
        "same_referral" => "of a referral already open",
        "not_asked_for" => "coverage not asked for by the protocol",
        "early_only" => "only before the window",
        "none" => "none while followed",
        "excused" => "excused by treatment",
        "not_readmitted" => "not readmitted",
        "birth_time_unknown" => "birth known by date only",
        "gestation_below_limit" => "gestation below the limit",
        "age_below_limit" => "age below the limit",
        "no_line" => "no line at this gestation",
        "phototherapy" => "during or after phototherapy",
        "disposition_unknown" => "discharged to where is unknown",
        "unknown_baby" => "baby not in the birth register",
        "before_birth" => "test before birth",
        "incomplete" => "not complete",
        "competing" => "went home or died without serum",
        "cut" => "transferred out, or follow-up over",
        "data_end" => "data ended first",
        "absent_reference" => "waits for the resource it refers to",
        _ => "",
    };
    if known.is_empty() {
        plain(name)
    } else {
        known.to_owned()
    }
}

/// Why a row is set aside or held, in words.
pub fn reason(name: &str) -> String {
    match name {
        "incomplete" => "no record says when".to_owned(),
        other => outcome(other),
    }
}

/// `above_340` as `above 340 umol/L`; a name of the site's own as it stands.
fn band_in_words(band: &str) -> String {
    let words = plain(band);
    if words.ends_with(|c: char| c.is_ascii_digit()) {
        format!("{words} umol/L")
    } else {
        words
    }
}

fn plain(name: &str) -> String {
    name.replace('_', " ")
}
