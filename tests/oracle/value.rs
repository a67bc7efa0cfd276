//! Values as integers of 1e-6 umol/L.

/// Whether a value is the reading itself or only a side of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// A plain number.
    Exact,
    /// `>x`: above the range.
    Above,
    /// `<x`: below the range.
    Below,
}

/// A value with its bound.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Value {
    /// The number as written, in micro-umol/L.
    pub number_micro: i64,
    /// Its bound.
    pub bound: Bound,
}

impl Value {
    /// "Any comparison with a limit treats `>x` as just more than x": value + 1 for `>x`,
    /// value - 1 for `<x` (choice 10).
    pub fn compared_micro(self) -> i64 {
        match self.bound {
            Bound::Exact => self.number_micro,
            Bound::Above => self.number_micro + 1,
            Bound::Below => self.number_micro - 1,
        }
    }
}

/// What a value cell and its unit say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reading {
    /// Empty, or words.
    NoNumber,
    /// A number without a known unit, or outside the plausible range.
    Refused,
    /// A value.
    Value(Value),
}

/// "A value outside 0 to 855 umol/L" and "a missing or unknown unit is never guessed".
pub fn read(value: &str, unit: &str) -> Reading {
    let (bound, digits) = match value.strip_prefix('>') {
        Some(rest) => (Bound::Above, rest.trim()),
        None => match value.strip_prefix('<') {
            Some(rest) => (Bound::Below, rest.trim()),
            None => (Bound::Exact, value),
        },
    };
    let Some((whole, scale)) = decimal(digits) else {
        return Reading::NoNumber;
    };
    let Some(factor_micro) = unit_factor_micro(unit) else {
        return Reading::Refused;
    };
    let number_micro = divide_half_away(whole * factor_micro, scale);
    if !(0..=855_000_000).contains(&number_micro) {
        return Reading::Refused;
    }
    Reading::Value(Value {
        number_micro: number_micro as i64,
        bound,
    })
}

/// "`umol/L` and `mg/dL` in any case, micro sign or Greek mu for u"; 1 mg/dL = 17.1 umol/L.
fn unit_factor_micro(unit: &str) -> Option<i128> {
    let plain = unit.to_lowercase().replace(['\u{b5}', '\u{3bc}'], "u");
    match plain.as_str() {
        "umol/l" => Some(1_000_000),
        "mg/dl" => Some(17_100_000),
        _ => None,
    }
}

/// A decimal number as digits and the power of ten to divide them by.
fn decimal(text: &str) -> Option<(i128, i128)> {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(rest) => (-1, rest),
        None => (1, text),
    };
    let (before, after) = digits.split_once('.').unwrap_or((digits, ""));
    let all = format!("{before}{after}");
    let plain = all.bytes().all(|byte| byte.is_ascii_digit());
    if before.is_empty() || !plain || all.len() > 20 {
        return None;
    }
    Some((sign * all.parse::<i128>().ok()?, 10_i128.pow(after.len() as u32)))
}

/// "Rounded half away from zero" (choice 10).
fn divide_half_away(numerator: i128, denominator: i128) -> i128 {
    let size = (2 * numerator.abs() + denominator) / (2 * denominator);
    size * numerator.signum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn micro(value: &str, unit: &str) -> i64 {
        match read(value, unit) {
            Reading::Value(value) => value.compared_micro(),
            other => panic!("{value} {unit}: {other:?}"),
        }
    }

    #[test]
    fn values_are_rounded_half_away_at_the_sixth_place() {
        assert_eq!(micro("250", "umol/L"), 250_000_000);
        assert_eq!(micro("250.0000005", "\u{b5}mol/l"), 250_000_001);
        assert_eq!(micro("250.0000004", "\u{3bc}MOL/L"), 250_000_000);
        assert_eq!(micro("15", "mg/dL"), 256_500_000);
        assert_eq!(micro("50", "MG/DL"), 855_000_000);
        assert_eq!(micro(">340", "umol/L"), 340_000_001);
        assert_eq!(micro("< 10", "umol/L"), 9_999_999);
    }

    #[test]
    fn what_is_no_value() {
        assert_eq!(read("", ""), Reading::NoNumber);
        assert_eq!(read("haemolysed", "umol/L"), Reading::NoNumber);
        assert_eq!(read("200", ""), Reading::Refused);
        assert_eq!(read("200", "umol"), Reading::Refused);
        assert_eq!(read("855.000001", "umol/L"), Reading::Refused);
        assert_eq!(read("-1", "umol/L"), Reading::Refused);
        assert_eq!(read("50.01", "mg/dL"), Reading::Refused);
    }
}
