//! The trade's words for figures, outcomes and reasons.

/// A figure's name in words.
pub fn figure(measure: &str) -> String {
    let known = match measure {
        "missed_referral" => "Missed referral",
        "referral_in_time" => "Serum in time",
        "referral_failed_attempts" => "Referral with a failed specimen",
        "time_to_serum_median" => "Median time to serum",
        "time_to_result_median" => "Median time to result",
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
    plain(measure.strip_prefix("recheck_adherence_").unwrap_or(measure))
}

/// An outcome or reason in words.
pub fn outcome(name: &str) -> String {
    let known = match name {
        "in_time" => "in time",
        "left" => "died or transferred out first",
        "open" => "not yet decidable",
        "early_only" => "only before the window",
        "none" => "no test",
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
        "incomplete" => "no record says when",
        "absent_reference" => "waits for the resource it refers to",
        _ => "",
    };
    if known.is_empty() {
        plain(name)
    } else {
        known.to_owned()
    }
}

fn plain(name: &str) -> String {
    name.replace('_', " ")
}
