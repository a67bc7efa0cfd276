//! The numbers of the two manners.

use super::line::{Standard, table};
use super::rules::{
    Band, Clause, Coverage, DischargeGap, GapBand, NearLine, Rebound, Rise, TreatmentFirst, UnknownRisk, Version,
};

fn words(list: &[&str]) -> Vec<String> {
    list.iter().map(|word| (*word).to_string()).collect()
}

/// One umol/L.
const UMOL_L: i64 = 1_000_000;

/// A tenth of a mg/dL: 1.71 umol/L.
const TENTH_MG_DL: i64 = 1_710_000;

fn band(name: &str, is_at_least: bool, limit_umol_l: i64) -> Band {
    Band {
        name: name.to_string(),
        is_at_least,
        limit_micro: limit_umol_l * UMOL_L,
    }
}

/// The manner of NICE CG98, with universal screening.
pub fn nice() -> Version {
    Version {
        standard: Standard::NiceCg98,
        above_is_at_least: false,
        line_risk_factors: Vec::new(),
        unknown_line_risk: UnknownRisk::Absent,
        coverage: Some(Coverage {
            gestation_days: 35 * 7,
            from_h: 24,
            to_h: 48,
            earliest_h: 12,
        }),
        readings_at_least: 2,
        outpatient_age_d: 14,
        outpatient_body_site: "sternum".to_string(),
        check_holds_h: Some(24),
        pair_within_min: 60,
        redraw_follow_up_h: 24,
        clauses: vec![
            Clause::ValueAbove(250 * UMOL_L),
            Clause::LineMinus(0),
            Clause::AboveRange,
        ],
        meter_gestation_days: 35 * 7,
        meter_age_above_h: 24,
        after_phototherapy_h: 24,
        referral_window_h: 6,
        referral_window_first_day_h: Some(2),
        off_limit_first_day_h: 24,
        off_limit_first_day_within_h: 2,
        off_limit_within_h: 6,
        referral_late_h: 24,
        paired_draw_h: 1,
        recent_serum_h: 6,
        episode_gap_h: 24,
        treatment_age_d: 28,
        treatment_in_time_h: 6,
        treatment_late_h: 24,
        below_line_within_h: 12,
        beside_lamps_h: 2,
        near_below_micro: 34_200_000,
        tolerance_min: 0,
        same_assessment_h: 1,
        recheck_late_h: 24,
        near_line: Some(NearLine {
            gap_micro: 50 * UMOL_L,
            gestation_days: 38 * 7,
            age_above_h: 24,
            latest_at_risk_h: 18,
            latest_h: 24,
            risk_factors: words(&["sibling_phototherapy"]),
            feeding: words(&["breast"]),
            unknown_risk: UnknownRisk::Absent,
        }),
        treatment_first: Some(TreatmentFirst {
            earliest_h: 4,
            latest_h: 6,
            excused_before_h: Some(4),
        }),
        treatment_next_h: Some((4, 12)),
        rebound: Some(Rebound {
            earliest_h: 12,
            latest_h: 18,
            screens_from_h: None,
        }),
        first_day_h: Some((24, 6)),
        discharge_gap: None,
        rise: Some(Rise {
            apart_h: 3,
            apart_at_most_h: 24,
            is_above_only: true,
            early_age_h: 24,
            early_micro_per_h: 8_500_000,
            later_micro_per_h: 8_500_000,
        }),
        readmission_gestation_days: 35 * 7,
        jaundice_codes: words(&["P55", "P57", "P58", "P59"]),
        not_jaundice_codes: words(&["P59.1", "P59.2"]),
        near_exchange_micro: 50 * UMOL_L,
        near_exchange_from_h: 72,
        severe_age_d: 28,
        bands: vec![
            band("above_340", false, 340),
            band("above_425", false, 425),
            band("at_least_510", true, 510),
        ],
        kernicterus_codes: words(&["P57"]),
    }
}

/// The manner of the AAP 2022 rules (hours from memory), with the invented table of lines.
pub fn aap() -> Version {
    let gap_band = |at_least_steps, at_most_steps, latest_h, accepts_screens| GapBand {
        at_least_steps,
        at_most_steps,
        latest_h,
        accepts_screens,
    };
    Version {
        standard: Standard::Table(table(include_str!("../protocols/invented_lines.csv"))),
        above_is_at_least: true,
        line_risk_factors: words(&["isoimmune_haemolysis", "g6pd", "sepsis", "instability", "low_albumin"]),
        clauses: vec![
            Clause::LineMinus(30 * TENTH_MG_DL),
            Clause::ValueAtLeast(150 * TENTH_MG_DL),
            Clause::AboveRange,
        ],
        meter_age_above_h: 0,
        near_line: None,
        treatment_first: Some(TreatmentFirst {
            earliest_h: 0,
            latest_h: 12,
            excused_before_h: None,
        }),
        treatment_next_h: None,
        rebound: Some(Rebound {
            earliest_h: 12,
            latest_h: 36,
            screens_from_h: Some(24),
        }),
        first_day_h: None,
        discharge_gap: Some(DischargeGap {
            age_at_least_h: 12,
            rounded_to_micro: TENTH_MG_DL,
            bands: vec![
                gap_band(1, 19, 24, false),
                gap_band(20, 34, 24, true),
                gap_band(35, 54, 48, true),
            ],
        }),
        rise: Some(Rise {
            apart_h: 3,
            apart_at_most_h: 24,
            is_above_only: false,
            early_age_h: 24,
            early_micro_per_h: 3 * TENTH_MG_DL,
            later_micro_per_h: 2 * TENTH_MG_DL,
        }),
        near_exchange_micro: 20 * TENTH_MG_DL,
        near_exchange_from_h: 0,
        ..nice()
    }
}
