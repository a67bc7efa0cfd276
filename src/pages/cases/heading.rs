//! Who a baby is, in two lines.

use crate::queries::review::Baby;

use super::wording::Wording;

/// `harbour, 38+4, born 9 September 2026, 08:10`.
pub(super) fn facts(wording: &Wording<'_>) -> String {
    let baby = wording.baby;
    let born = match (baby.born_s, baby.born_day_s) {
        (Some(born_s), _) => format!("born {}", wording.clock.long(born_s)),
        (None, Some(day_s)) => format!("born on {}, at a time unknown", wording.clock.day(day_s)),
        (None, None) => "time of birth unknown".to_owned(),
    };
    format!("{}, {}, {born}", baby.unit, gestation(baby))
}

/// `38+4 weeks`; completed weeks where no days were written.
pub(super) fn gestation(baby: &Baby) -> String {
    match baby.gestation_days {
        None => "gestation unknown".to_owned(),
        Some(days) if baby.gestation_precision == "weeks" => format!("{} weeks", days / 7),
        Some(days) => format!("{}+{} weeks", days / 7, days % 7),
    }
}

/// What the birth register says of risk.
pub(super) fn risk(baby: &Baby) -> String {
    let mut parts: Vec<String> = baby
        .risk_factors
        .split(';')
        .map(|factor| match factor.trim() {
            "none" => "no risk factor".to_owned(),
            known => known.replace('_', " "),
        })
        .filter(|factor| !factor.is_empty())
        .collect();
    if parts.is_empty() {
        parts.push("risk factors not recorded".to_owned());
    }
    if !baby.feeding.is_empty() {
        parts.push(format!("feeding {}", baby.feeding));
    }
    parts.extend(baby.weight_g.map(|grams| format!("{grams} g")));
    parts.join(", ")
}
