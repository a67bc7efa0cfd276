//! Reads a bilirubin value and its unit, and converts to umol/L.

use crate::protocol::{Plausible, UMOL_L_PER_MG_DL};

use super::reason::SetAside;
use crate::extracts::reason::Reason;

/// A unit the program knows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// micromole per litre
    UmolL,
    /// milligram per decilitre
    MgDl,
}

impl Unit {
    /// Its UCUM spelling.
    pub fn ucum(self) -> &'static str {
        match self {
            Self::UmolL => "umol/L",
            Self::MgDl => "mg/dL",
        }
    }

    /// Reads `umol/L` or `mg/dL` in any case, micro sign or Greek mu for u.
    pub fn read(text: &str) -> Option<Self> {
        let plain: String = text
            .chars()
            .map(|c| {
                if matches!(c, '\u{b5}' | '\u{3bc}') {
                    'u'
                } else {
                    c.to_ascii_lowercase()
                }
            })
            .collect();
        match plain.as_str() {
            "umol/l" => Some(Self::UmolL),
            "mg/dl" => Some(Self::MgDl),
            _ => None,
        }
    }

    fn micro(self, value: f64) -> i64 {
        let umol_l = match self {
            Self::UmolL => value,
            Self::MgDl => value * UMOL_L_PER_MG_DL,
        };
        (umol_l * 1e6).round() as i64
    }
}

/// Whether the value is exact or a bound.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// The value itself.
    Exact,
    /// `>x`: more than it.
    Above,
    /// `<x`: less than it.
    Below,
}

impl Bound {
    /// The sign stored in `bound`, none for an exact value.
    pub fn sign(self) -> Option<&'static str> {
        match self {
            Self::Exact => None,
            Self::Above => Some(">"),
            Self::Below => Some("<"),
        }
    }
}

/// A value in its own unit and in umol/L.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bilirubin {
    /// As given.
    pub value: f64,
    /// Its unit.
    pub unit: Unit,
    /// Exact, or a bound.
    pub bound: Bound,
    /// In micro-umol/L, the integer that is compared and summed.
    pub micro: i64,
}

impl Bilirubin {
    /// In umol/L.
    pub fn umol_l(self) -> f64 {
        self.micro as f64 / 1e6
    }

    /// What a limit is compared with: `>x` is just more than x, `<x` just less.
    pub fn compare_micro(self) -> i64 {
        match self.bound {
            Bound::Exact => self.micro,
            Bound::Above => self.micro + 1,
            Bound::Below => self.micro - 1,
        }
    }
}

/// Reads value and unit; `Ok(None)` when there is no number (empty, or words).
///
/// # Errors
/// The reason to set the row aside: a number that cannot be read, without a
/// known unit, or outside the protocol's bounds.
pub fn read(value: &str, unit: &str, plausible: &Plausible) -> Result<Option<Bilirubin>, SetAside> {
    if !value.bytes().any(|b| b.is_ascii_digit()) {
        return Ok(None);
    }
    let (number, bound) = match value.as_bytes()[0] {
        b'>' => (&value[1..], Bound::Above),
        b'<' => (&value[1..], Bound::Below),
        _ => (value, Bound::Exact),
    };
    let Some(number) = decimal(number.trim()) else {
        return Err(SetAside::new(Reason::UnreadableValue, "value", value));
    };
    if unit.is_empty() {
        return Err(SetAside::new(Reason::MissingUnit, "unit_of_measure", unit));
    }
    let Some(known) = Unit::read(unit) else {
        return Err(SetAside::new(Reason::UnknownUnit, "unit_of_measure", unit));
    };
    let read = Bilirubin {
        value: number,
        unit: known,
        bound,
        micro: known.micro(number),
    };
    if is_plausible(read.umol_l(), plausible) {
        return Ok(Some(read));
    }
    let mut aside = SetAside::new(Reason::ImplausibleValue, "value", value);
    let other = match known {
        Unit::UmolL => Unit::MgDl,
        Unit::MgDl => Unit::UmolL,
    };
    if is_plausible(other.micro(number) as f64 / 1e6, plausible) {
        aside.remedy = format!(
            "{}; in {} it would be plausible, but nothing is converted by guess",
            aside.remedy,
            other.ucum()
        );
    }
    Err(aside)
}

fn is_plausible(umol_l: f64, plausible: &Plausible) -> bool {
    (plausible.umol_l_at_least..=plausible.umol_l_at_most).contains(&umol_l)
}

/// Digits with at most one decimal point and a sign; nothing else is a number.
fn decimal(text: &str) -> Option<f64> {
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    let only_digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
    if (whole.is_empty() && fraction.is_empty()) || !only_digits(whole) || !only_digits(fraction) {
        return None;
    }
    text.parse().ok().filter(|n: &f64| n.is_finite() && n.abs() < 1e9)
}
