//! The treatment line.

/// Phototherapy line from 38 completed weeks, every 6 h from birth to 96 h, in umol/L.
const TERM_UMOL_L: [i64; 17] = [
    100, 125, 150, 175, 200, 212, 225, 237, 250, 262, 275, 287, 300, 312, 325, 337, 350,
];

const MICRO: i64 = 1_000_000;
const SIX_HOURS_S: i64 = 6 * 3600;
const THREE_DAYS_S: i64 = 72 * 3600;

/// The phototherapy line in micro-umol/L at an age, by gestation in completed weeks.
///
/// "By gestation in completed weeks; piecewise linear between tabled ages; flat after the
/// last", the straight formula below 38 weeks, none under 23 weeks. "Age below 0 reads the
/// line at 0" (choice 10).
pub fn line_umol_l_micro(gestation_weeks: i64, age_s: i64) -> Option<i64> {
    let age_s = age_s.max(0);
    if gestation_weeks < 23 {
        return None;
    }
    if gestation_weeks < 38 {
        let start = 40 * MICRO;
        let plateau = (gestation_weeks * 10 - 100) * MICRO;
        if age_s >= THREE_DAYS_S {
            return Some(plateau);
        }
        return Some(between(start, plateau, age_s, THREE_DAYS_S));
    }
    let step = (age_s / SIX_HOURS_S) as usize;
    if step >= TERM_UMOL_L.len() - 1 {
        return TERM_UMOL_L.last().map(|last| last * MICRO);
    }
    let (from, to) = (TERM_UMOL_L[step] * MICRO, TERM_UMOL_L[step + 1] * MICRO);
    Some(between(from, to, age_s % SIX_HOURS_S, SIX_HOURS_S))
}

/// "v0 + round_half_up((v1-v0)*(age-age0)/(age1-age0))" (choice 10); the line never falls.
fn between(v0: i64, v1: i64, since_s: i64, length_s: i64) -> i64 {
    let rise = i128::from(v1 - v0) * i128::from(since_s);
    let length = i128::from(length_s);
    v0 + ((2 * rise + length) / (2 * length)) as i64
}

#[cfg(test)]
mod tests {
    use super::line_umol_l_micro;

    #[test]
    fn tabled_points_formula_and_plateau() {
        let h = 3600;
        assert_eq!(line_umol_l_micro(40, 0), Some(100_000_000));
        assert_eq!(line_umol_l_micro(38, -60), Some(100_000_000));
        assert_eq!(line_umol_l_micro(38, 27 * h), Some(206_000_000));
        assert_eq!(line_umol_l_micro(38, 96 * h), Some(350_000_000));
        assert_eq!(line_umol_l_micro(45, 1000 * h), Some(350_000_000));
        // (25 umol/L in 6 h: 1 s is 1157.407 micro; 12 in 6 h: 1 s is 555.56 micro)
        assert_eq!(line_umol_l_micro(39, 1), Some(100_001_157));
        assert_eq!(line_umol_l_micro(39, 24 * h + 1), Some(200_000_556));
        // 37 weeks: 40 to 270 over 72 h.
        assert_eq!(line_umol_l_micro(37, 36 * h), Some(155_000_000));
        assert_eq!(line_umol_l_micro(37, 72 * h), Some(270_000_000));
        assert_eq!(line_umol_l_micro(23, 72 * h), Some(130_000_000));
        assert_eq!(line_umol_l_micro(24, 6 * h), Some(48_333_333));
        assert_eq!(line_umol_l_micro(22, 6 * h), None);
    }
}
