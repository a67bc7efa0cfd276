//! The trade's words for figures, outcomes and reasons.

use crate::queries::figure_kinds::kind_of;

/// Whether a figure is meant by a name in a list of a page. A name that ends in `_` stands for the
/// figures of each age that the protocol asks for; whoever looks takes the last of them.
pub(super) fn is_named(measure: &str, name: &str) -> bool {
    match name.ends_with('_') {
        true => measure.starts_with(name),
        false => measure == name,
    }
}

/// A figure's name in words; as it stands of one that this siskin does not give.
pub fn figure(measure: &str) -> String {
    kind_of(measure).map_or_else(|| plain(measure), |kind| kind.label_of(measure))
}

/// A finding of a case review, in words.
pub fn finding(name: &str) -> String {
    match name {
        "late_referral" => "Late referral".to_owned(),
        "unanswered_referral" => "Referral without an answer, in no rate".to_owned(),
        "missed_off_limit_referral" => "Missed off-limit referral".to_owned(),
        "late_off_limit_referral" => "Late off-limit referral".to_owned(),
        "unanswered_off_limit_referral" => "Off-limit referral without an answer, in no rate".to_owned(),
        "untreated" => "Above the line and untreated, in no rate".to_owned(),
        "treated_late_after_collection" => "Treated late after collection".to_owned(),
        "possibly_above_line" => "Possibly above the line".to_owned(),
        "rapid_rise" => "Rapid rise".to_owned(),
        "home_at_risk" => "Went home at risk".to_owned(),
        "recheck_not_done" => "Recheck not done in its window".to_owned(),
        "died" => "Died".to_owned(),
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
    kind_of(measure).map_or("cases", |kind| &kind.cases)
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
        "good" => "every reading after a passed check",
        "failed" => "failed",
        "unchecked" => "a reading without a check that still held",
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
        "which_result" => "does not say which result of the specimen is withdrawn",
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

fn plain(name: &str) -> String {
    name.replace('_', " ")
}
