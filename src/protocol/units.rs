//! Hours, concentrations and gestations as the whole numbers that are compared.

/// Hours to whole seconds.
pub fn seconds(hours: f64) -> i64 {
    (hours * 3600.0).round() as i64
}

/// umol/L to whole micro-umol/L, the integer all comparisons use.
pub fn micro(umol_l: f64) -> i64 {
    (umol_l * 1e6).round() as i64
}

/// Gestation written as weeks+days (`35+0`) or completed weeks (`35`), in days.
///
/// Returns `None` for anything else, for 7 or more days, and outside 20 to 45 weeks.
pub fn gestation_days(text: &str) -> Option<i32> {
    let (weeks, days) = text.split_once('+').unwrap_or((text, "0"));
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    if weeks.len() > 2 || days.len() != 1 || !digits(weeks) || !digits(days) {
        return None;
    }
    let (weeks, days): (i32, i32) = (weeks.parse().ok()?, days.parse().ok()?);
    ((20..=45).contains(&weeks) && days <= 6).then_some(weeks * 7 + days)
}
