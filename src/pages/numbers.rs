//! The only rounding of numbers on a page.

use crate::statistics::Interval;

/// A share as a percentage: whole numbers under 200 cases, else one decimal.
pub(super) fn percent(share: f64, cases: u64) -> String {
    if cases < 200 {
        format!("{:.0} %", share * 100.0)
    } else {
        format!("{:.1} %", share * 100.0)
    }
}

/// Both ends of an interval, in the same rounding.
pub(super) fn percent_interval(interval: Interval, cases: u64) -> String {
    let end = |share| percent(share, cases);
    format!(
        "{} to {}",
        end(interval.lower).trim_end_matches(" %"),
        end(interval.upper)
    )
}

/// A rate for each thousand births, to one decimal.
pub(super) fn per_thousand(rate: f64) -> String {
    format!("{rate:.1} per 1\u{202f}000")
}

/// Hours to one decimal.
pub(super) fn hours(hours: f64) -> String {
    format!("{hours:.1} h")
}

/// A number to one decimal; no `-0.0`, and a minus sign as wide as a plus.
pub(super) fn one_decimal(number: f64) -> String {
    let text = format!("{:.1}", number.abs());
    match number < 0.0 && text != "0.0" {
        true => format!("\u{2212}{text}"),
        false => text,
    }
}

/// A concentration in umol/L, whole.
pub(super) fn concentration(umol_l: f64) -> String {
    format!("{} umol/L", whole(umol_l))
}

/// A p value: two decimals, three below 0.1, `< 0.001` below that.
pub(super) fn p_value(p: f64) -> String {
    if p < 0.001 {
        "< 0.001".to_owned()
    } else if p < 0.1 {
        format!("{p:.3}")
    } else {
        format!("{p:.2}")
    }
}

/// A number to two decimals, with a minus sign as wide as a plus.
pub(super) fn two_decimals(number: f64) -> String {
    let text = format!("{:.2}", number.abs());
    match number < 0.0 && text != "0.00" {
        true => format!("\u{2212}{text}"),
        false => text,
    }
}

/// A number to one decimal with its sign; no `-0.0`.
pub(super) fn signed(number: f64) -> String {
    let text = format!("{:.1}", number.abs());
    match (text.as_str(), number < 0.0) {
        ("0.0", _) => text,
        (_, true) => format!("\u{2212}{text}"),
        (_, false) => format!("+{text}"),
    }
}

/// A number to whole ones; no `-0`, and a minus sign that is as wide as a plus.
pub(super) fn whole(number: f64) -> String {
    let rounded = number.round();
    match rounded < 0.0 {
        true => format!("\u{2212}{:.0}", -rounded),
        false => format!("{:.0}", rounded.abs()),
    }
}

/// A count with thin spaces between thousands.
pub(super) fn count(n: u64) -> String {
    let digits = n.to_string();
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push('\u{202f}');
        }
        text.push(digit);
    }
    text
}
