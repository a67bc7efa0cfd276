//! Numbers that can decide nothing, or look like those of the other unit.

use crate::protocol::file::{ClauseKind, Plausible, Version};
use crate::protocol::lines::Piece;
use crate::protocol::{Concentration, micro};

/// About 3 mg/dL: no limit of bilirubin after birth is so low.
const LOW_UMOL_L: f64 = 50.0;

pub(super) fn doubts(version: &Version, plausible: &Plausible, pieces: &[Piece], found: &mut Vec<String>) {
    limits(version, plausible, found);
    distances(version, pieces, found);
    spans(version, found);
}

/// Distances below the line that are longer than the highest line is high: any value is within.
fn distances(version: &Version, pieces: &[Piece], found: &mut Vec<String>) {
    let of_line = pieces.iter().filter(|p| p.standard == version.line.standard);
    let ends = of_line.map(|p| p.phototherapy_micro.0.max(p.phototherapy_micro.1));
    let Some(highest_micro) = ends.max() else { return };
    let clauses = version.referral.clauses.iter();
    let margins = clauses.filter(|c| c.when == ClauseKind::LineMinus);
    let margins = margins.map(|c| (format!("clause {}", c.when.word()), c.limit()));
    let rules = version.recheck.rules.iter();
    let gaps = rules.map(|r| (format!("recheck rule {}", r.rule), r.gap_at_most()));
    for (what, distance) in margins.chain(gaps) {
        let Some(distance) = distance.filter(|d| d.micro() > highest_micro) else {
            continue;
        };
        found.push(format!(
            "{what}: {distance} below the line is further than the highest line, {} umol/L, is above 0: {}",
            highest_micro as f64 / 1e6,
            meant(distance)
        ));
    }
}

fn meant(limit: Concentration) -> &'static str {
    match limit {
        Concentration::UmolL(_) => "was mg_dl meant?",
        Concentration::MgDl(_) => "was umol_l meant?",
    }
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
        if is_low {
            found.push(format!("{what}: {limit} is a very low limit: {}", meant(limit)));
        }
        if is_high {
            found.push(format!(
                "{what}: no value is above {limit}, as those above {} umol/L are set aside: {}",
                plausible.umol_l_at_most,
                meant(limit)
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
    for rule in &version.recheck.rules {
        if rule.latest_h < version.recheck.accept_after_h {
            found.push(format!(
                "recheck rule {} closes after {} h, but a test sooner than accept_after_h = {} is none: nothing can answer it",
                rule.rule, rule.latest_h, version.recheck.accept_after_h
            ));
        }
    }
}
