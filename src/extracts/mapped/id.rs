//! Ids as a source writes them, made the same for every source of a hospital.

use crate::extracts::sources::{CheckDigit, IdRule};

/// The id as the rule makes it: capitals, what stands before it taken off, zeros,
/// check digit, prefix, in this order. An empty one stays empty.
///
/// # Errors
/// Why it does not follow the rule.
pub(super) fn read(raw: &str, rule: &IdRule) -> Result<String, String> {
    if raw.is_empty() {
        return Ok(String::new());
    }
    let id = if rule.upper { raw.to_uppercase() } else { raw.to_owned() };
    let bare = rule.strip.iter().find_map(|start| id.strip_prefix(start.as_str()));
    let bare = bare.unwrap_or(&id).trim();
    if bare.is_empty() {
        return Err("nothing is left of the id without what stands before it".to_owned());
    }
    let zeros = rule.pad.unwrap_or(0).saturating_sub(bare.chars().count());
    let padded = "0".repeat(zeros) + bare;
    match rule.check {
        Some(CheckDigit::Mod11) if !mod_11_2(&padded) => {
            Err("its check digit (ISO 7064, MOD 11-2) is wrong; check the id at the source".to_owned())
        }
        Some(CheckDigit::Luhn) if !luhn(&padded) => {
            Err("its check digit (Luhn) is wrong; check the id at the source".to_owned())
        }
        _ => Ok(format!("{}{padded}", rule.prefix)),
    }
}

/// ISO 7064, MOD 11-2: read with base 2 the sum is 1 modulo 11; `X` is 10 and comes last only.
fn mod_11_2(id: &str) -> bool {
    let Some((last, before)) = digits_and_last(id) else {
        return false;
    };
    let last = match last {
        'X' | 'x' => 10,
        digit => match digit.to_digit(10) {
            Some(digit) => digit,
            None => return false,
        },
    };
    let sum = before.iter().fold(0, |sum, digit| (sum + digit) * 2 % 11);
    (sum + last) % 11 == 1
}

/// ISO/IEC 7812-1, annex B: every second digit from the right doubled.
fn luhn(id: &str) -> bool {
    let Some((last, mut digits)) = digits_and_last(id) else {
        return false;
    };
    let Some(last) = last.to_digit(10) else {
        return false;
    };
    digits.push(last);
    let doubled = |(place, digit): (usize, &u32)| match (place % 2, digit * 2) {
        (0, _) => *digit,
        (_, twice) if twice > 9 => twice - 9,
        (_, twice) => twice,
    };
    digits.iter().rev().enumerate().map(doubled).sum::<u32>() % 10 == 0
}

/// The last letter, and the digits before it; spaces and hyphens are left out.
fn digits_and_last(id: &str) -> Option<(char, Vec<u32>)> {
    let mut letters: Vec<char> = id.chars().filter(|letter| !matches!(letter, ' ' | '-')).collect();
    let last = letters.pop()?;
    let digits: Option<Vec<u32>> = letters.iter().map(|letter| letter.to_digit(10)).collect();
    digits.filter(|digits| !digits.is_empty()).map(|digits| (last, digits))
}
