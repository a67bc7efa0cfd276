//! Numbers that can decide nothing, or look like those of the other unit.

use crate::protocol::file::{ClauseKind, Plausible, Version};
use crate::protocol::{Concentration, micro};

/// About 3 mg/dL: no limit of bilirubin after birth is so low.
const LOW_UMOL_L: f64 = 50.0;

pub(super) fn doubts(version: &Version, plausible: &Plausible, found: &mut Vec<String>) {
    limits(version, plausible, found);
    spans(version, found);
}

fn limits(version: &Version, plausible: &Plausible, found: &mut Vec<String>) {
    if version.referral.clauses.is_empty() {
        found.push("referral.clauses is empty: no screen ever calls for a serum".into());
    }
    let clauses = version.referral.clauses.iter();
    let compared = clauses.filter(|c| matches!(c.when, ClauseKind::ValueAbove | ClauseKind::ValueAtLeast));
    let clauses = compared.map(|c| (format!("clause {}", c.when.word()), c.limit()));
    let bands = version.severe.bands.iter();
    let bands = bands.map(|b| (format!("severe band {}", b.name), b.limit()));
    for (what, limit) in clauses.chain(bands) {
        let Some(limit) = limit else { continue };
        let (is_low, is_high) = (
            limit.micro() < micro(LOW_UMOL_L),
            limit.micro() > micro(plausible.umol_l_at_most),
        );
        let other = match limit {
            Concentration::UmolL(_) => "mg_dl",
            Concentration::MgDl(_) => "umol_l",
        };
        if is_low {
            found.push(format!("{what}: {limit} is a very low limit: was {other} meant?"));
        }
        if is_high {
            found.push(format!(
                "{what}: no value is above {limit}, as those above {} umol/L are set aside: was {other} meant?",
                plausible.umol_l_at_most
            ));
        }
    }
}

fn spans(version: &Version, found: &mut Vec<String>) {
    let (referral, treatment) = (&version.referral, &version.treatment);
    if treatment.in_time_h > treatment.follow_up_h {
        found.push(format!(
            "treatment in_time_h = {} is longer than follow_up_h = {}: a start after the follow-up would be in time",
            treatment.in_time_h, treatment.follow_up_h
        ));
    }
    let shares = version.time_to_serum.shares_at_h.iter();
    for hour in shares.filter(|hour| f64::from(**hour) > referral.follow_up_h) {
        found.push(format!(
            "time_to_serum.shares_at_h has {hour}, but a referral is followed for {} h only",
            referral.follow_up_h
        ));
    }
    let readmission = &version.readmission;
    let longest = readmission.within_days.iter().max();
    if let Some(days) = longest.filter(|days| **days > readmission.provisional_days) {
        found.push(format!(
            "readmission.provisional_days = {} is less than the {days} days that are counted: figures would be told as final too early",
            readmission.provisional_days
        ));
    }
    for rule in &version.recheck.rules {
        if rule.latest_h < version.recheck.accept_after_h {
            found.push(format!(
                "recheck rule {} closes after {} h, but a test sooner than accept_after_h = {} is none: nothing can answer it",
                rule.rule, rule.latest_h, version.recheck.accept_after_h
            ));
        }
    }
}
