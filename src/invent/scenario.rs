//! The parameters of the simulation: `scenario.toml`, embedded, and its typed form.
//!
//! What each parameter means is said beside it in the file. Ranges are `[low, high]`.

use serde::{Deserialize, Serialize};

use super::error::InventError;

const TEXT: &str = include_str!("scenario.toml");

/// Lowest and highest.
pub(crate) type Range = [f64; 2];

impl Scenario {
    /// The embedded scenario.
    pub(crate) fn embedded() -> Result<Scenario, InventError> {
        let scenario: Scenario = toml::from_str(TEXT).map_err(|error| InventError::Scenario {
            reason: error.to_string(),
        })?;
        scenario.checked()
    }

    fn checked(self) -> Result<Scenario, InventError> {
        let mixes = [
            self.births.feeding.len(),
            self.births.skin_tone.len(),
            self.births.ethnicity.len(),
            self.births.gestation_weeks.len(),
            self.back.jaundice_diagnoses.len(),
            self.back.other_diagnoses.len(),
        ];
        let named = [
            self.drift.unit,
            self.weak_rebound.unit,
            self.wrong_unit.unit,
            self.unchecked.unit,
        ];
        let reason = if self.units.len() < 2 {
            "at least two units are needed, so that a baby can move"
        } else if mixes.contains(&0) {
            "a list to choose from is empty"
        } else if named.iter().any(|unit| *unit >= self.units.len()) {
            "effects name a unit by its place in the list, from 0"
        } else {
            return Ok(self);
        };
        Err(InventError::Scenario { reason: reason.into() })
    }
}

/// All parameters.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Scenario {
    pub(crate) units: Vec<Unit>,
    pub(crate) night: Night,
    pub(crate) births: Births,
    pub(crate) bilirubin: Bilirubin,
    pub(crate) meters: Meters,
    pub(crate) screening: Screening,
    pub(crate) referral: Referral,
    pub(crate) laboratory: Laboratory,
    pub(crate) near_line: NearLine,
    pub(crate) treatment: Treatment,
    pub(crate) preterm: Preterm,
    pub(crate) stay: Stay,
    pub(crate) back: Back,
    pub(crate) records: Records,
    pub(crate) improvement: Improvement,
    pub(crate) drift: Drift,
    pub(crate) weak_rebound: WeakRebound,
    pub(crate) wrong_unit: WrongUnit,
    pub(crate) late_corrections: LateCorrections,
    pub(crate) unchecked: Unchecked,
}

/// A unit of the network.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Unit {
    pub(crate) name: String,
    pub(crate) share: f64,
    pub(crate) delay: f64,
    pub(crate) lapse: f64,
    pub(crate) lab_unit: String,
    pub(crate) analyte: String,
    pub(crate) specimen: String,
}

/// A word and its part of the mix.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Weighted {
    pub(crate) word: String,
    pub(crate) share: f64,
}

/// A risk factor, how common it is, and what it does to the peak.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RiskFactor {
    pub(crate) word: String,
    pub(crate) share: f64,
    pub(crate) peak: f64,
}

/// When it is night and what that does.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Night {
    pub(crate) from_hour: i64,
    pub(crate) until_hour: i64,
    pub(crate) delay: f64,
    pub(crate) lapse: f64,
}

/// Who is born and how the register is kept.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Births {
    pub(crate) twin_pairs: f64,
    pub(crate) twins_earlier_d: Range,
    pub(crate) twins_apart_min: Range,
    pub(crate) boys: f64,
    pub(crate) gestation_weeks: Vec<(i64, f64)>,
    pub(crate) weight_at_40_weeks_g: f64,
    pub(crate) weight_per_week_g: f64,
    pub(crate) weight_spread_g: f64,
    pub(crate) lowest_weight_g: f64,
    pub(crate) day_only: f64,
    pub(crate) gestation_missing: f64,
    pub(crate) gestation_in_weeks_only: f64,
    pub(crate) feeding: Vec<Weighted>,
    pub(crate) skin_tone: Vec<Weighted>,
    pub(crate) ethnicity: Vec<Weighted>,
    pub(crate) risk_factors: Vec<RiskFactor>,
}

/// The true curve.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Bilirubin {
    pub(crate) cord_umol_l: f64,
    pub(crate) cord_spread_umol_l: f64,
    pub(crate) peak_umol_l: f64,
    pub(crate) peak_log_spread: f64,
    pub(crate) peak_age_h: Range,
    pub(crate) highest_peak_umol_l: f64,
    pub(crate) term_weeks: f64,
    pub(crate) preterm_peak_per_week: f64,
    pub(crate) preterm_peak_later_h: f64,
    pub(crate) preterm_weeks_at_most: f64,
    pub(crate) breast_peak: f64,
    pub(crate) breast_peak_later_h: f64,
    pub(crate) fast_riser_chance: f64,
    pub(crate) fast_riser_peak_umol_l: Range,
    pub(crate) fast_riser_peak_age_h: Range,
    pub(crate) fast_riser_seen_h: Range,
    pub(crate) fast_riser_seen_chance: f64,
    pub(crate) light_fall_per_h: f64,
    pub(crate) light_floor: f64,
    pub(crate) light_return_per_h: f64,
}

/// Skin meters, their errors and checks.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Meters {
    pub(crate) births_per_meter: f64,
    pub(crate) births_per_operator: f64,
    pub(crate) error_umol_l: f64,
    pub(crate) top_of_range_umol_l: i64,
    pub(crate) lowest_umol_l: i64,
    pub(crate) light_bias_umol_l: f64,
    pub(crate) medium_bias_umol_l: f64,
    pub(crate) dark_bias_umol_l: f64,
    pub(crate) sternum: f64,
    pub(crate) typed: f64,
    pub(crate) single_reading: f64,
    pub(crate) usual_readings: u32,
    pub(crate) check_chance: f64,
    pub(crate) check_at_h: Range,
    pub(crate) check_fails: f64,
    pub(crate) check_repeated: f64,
    pub(crate) check_repeated_after_min: Range,
}

/// When a baby is screened.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Screening {
    pub(crate) habit_from_weeks: i64,
    pub(crate) first_age_h: Range,
    pub(crate) early_chance: f64,
    pub(crate) early_age_h: Range,
    pub(crate) again_after_h: Range,
    pub(crate) skipped: f64,
    pub(crate) before_going_home_h: Range,
    pub(crate) before_going_home_unless_within_h: f64,
    pub(crate) concern_chance: f64,
    pub(crate) concern_age_h: Range,
    pub(crate) follow_up_chance: f64,
    pub(crate) follow_up_after_h: Range,
    pub(crate) at_home: f64,
    pub(crate) during_light_chance: f64,
    pub(crate) unsuitable_high_drawn: f64,
}

/// What becomes of a due screen.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Referral {
    pub(crate) never: f64,
    pub(crate) late: f64,
    pub(crate) paired: f64,
    pub(crate) paired_h: Range,
    pub(crate) in_window: Range,
    pub(crate) late_after_h: Range,
    pub(crate) held_for_blood: f64,
    pub(crate) drawn_after_going_home: f64,
    pub(crate) missed_then_home_review: f64,
}

/// What becomes of a specimen.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Laboratory {
    pub(crate) turnaround_h: Range,
    pub(crate) night_turnaround: f64,
    pub(crate) error_umol_l: f64,
    pub(crate) haemolysed: f64,
    pub(crate) cancelled: f64,
    pub(crate) haemolysed_word: String,
    pub(crate) redrawn: f64,
    pub(crate) redrawn_after_h: Range,
    pub(crate) corrected: f64,
    pub(crate) corrected_by_umol_l: Range,
    pub(crate) corrected_after_h: Range,
    pub(crate) direct_too: f64,
    pub(crate) direct_word: String,
    pub(crate) direct_part: f64,
    pub(crate) cord_for_haemolysis: f64,
    pub(crate) cord_risk_factor: String,
    pub(crate) cord_word: String,
}

/// What becomes of a value just below the line.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct NearLine {
    pub(crate) on_time: f64,
    pub(crate) on_time_part: Range,
    pub(crate) late: f64,
    pub(crate) late_part: Range,
    pub(crate) serum_after_serum: f64,
    pub(crate) kept_at_home: f64,
}

/// Phototherapy and its checks.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Treatment {
    pub(crate) started: f64,
    pub(crate) start_after_h: Range,
    pub(crate) start_late: f64,
    pub(crate) start_late_after_h: Range,
    pub(crate) multiple: f64,
    pub(crate) first_on_time: f64,
    pub(crate) first_early: f64,
    pub(crate) first_late: f64,
    pub(crate) first_on_time_h: Range,
    pub(crate) first_early_h: Range,
    pub(crate) first_late_h: Range,
    pub(crate) next_on_time: f64,
    pub(crate) next_on_time_h: Range,
    pub(crate) next_late_h: Range,
    pub(crate) stop_below_line_umol_l: f64,
    pub(crate) stop_after_h: Range,
    pub(crate) least_h: f64,
    pub(crate) longest_h: Range,
    pub(crate) rebound_on_time: f64,
    pub(crate) rebound_early: f64,
    pub(crate) rebound_late: f64,
    pub(crate) rebound_on_time_h: Range,
    pub(crate) rebound_early_h: Range,
    pub(crate) rebound_late_h: Range,
    pub(crate) exchange_above_line_umol_l: f64,
    pub(crate) exchange_chance: f64,
    pub(crate) exchange_after_h: Range,
}

/// Blood by habit where the meter is not used.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Preterm {
    pub(crate) first_blood_h: Range,
    pub(crate) blood_every_h: Range,
    pub(crate) times: u32,
}

/// Going home, moving, dying.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Stay {
    pub(crate) early_chance: f64,
    pub(crate) early_h: Range,
    pub(crate) usual_h: Range,
    pub(crate) long_chance: f64,
    pub(crate) long_h: Range,
    pub(crate) late_preterm_below_weeks: i64,
    pub(crate) late_preterm_h: Range,
    pub(crate) home_at_weeks: Range,
    pub(crate) longest_d: f64,
    pub(crate) goes_home_hours: [i64; 2],
    pub(crate) put_off_h: Range,
    pub(crate) kept_for_rebound: f64,
    pub(crate) kept_for_repeat: f64,
    pub(crate) moved: f64,
    pub(crate) moved_preterm: f64,
    pub(crate) moved_age_h: Range,
    pub(crate) travel_h: Range,
    pub(crate) out: f64,
    pub(crate) out_preterm: f64,
    pub(crate) died: f64,
    pub(crate) died_preterm: f64,
    pub(crate) end_age_h: Range,
    pub(crate) born_well: String,
    pub(crate) born_preterm: String,
    pub(crate) jaundice_second: String,
}

/// Coming back.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Back {
    pub(crate) jaundice: f64,
    pub(crate) after_missed_referral: f64,
    pub(crate) after_near_line: f64,
    pub(crate) after_h: Range,
    pub(crate) late_share: f64,
    pub(crate) late_after_h: Range,
    pub(crate) above_line_umol_l: Range,
    pub(crate) drawn_after_h: Range,
    pub(crate) stay_h: Range,
    pub(crate) other: f64,
    pub(crate) other_after_h: Range,
    pub(crate) other_stay_h: Range,
    pub(crate) jaundice_diagnoses: Vec<Weighted>,
    pub(crate) other_diagnoses: Vec<Weighted>,
}

/// How the charts are kept.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Records {
    pub(crate) duplicate: f64,
    pub(crate) unit_missing: f64,
    pub(crate) implausible: f64,
    pub(crate) stop_missing: f64,
    pub(crate) disposition_missing: f64,
    pub(crate) birth_stay_missing: f64,
}

/// A better follow-up of due screens from a month on.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Improvement {
    pub(crate) from_month: usize,
    pub(crate) delay: f64,
    pub(crate) lapse: f64,
}

/// A meter that reads higher and higher, until it is replaced.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Drift {
    pub(crate) unit: usize,
    pub(crate) from_month: usize,
    pub(crate) replaced_in_month: usize,
    pub(crate) per_month_umol_l: f64,
}

/// A unit that checks less often in time after phototherapy.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct WeakRebound {
    pub(crate) unit: usize,
    pub(crate) on_time: f64,
}

/// A batch labelled with the wrong unit.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct WrongUnit {
    pub(crate) unit: usize,
    pub(crate) month: usize,
    pub(crate) days: Range,
}

/// Results corrected weeks later.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct LateCorrections {
    pub(crate) share: f64,
    pub(crate) after_h: Range,
    pub(crate) by_umol_l: Range,
}

/// A meter without checks.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Unchecked {
    pub(crate) unit: usize,
    pub(crate) month: usize,
    pub(crate) days: Range,
}
