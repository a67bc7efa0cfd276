//! Numbers as a source writes them, said with a decimal point: `>20,0` is `>20.0`
//! and `1.204,5` is `1204.5`, where the source declares these signs.

/// The signs of a source.
#[derive(Clone, Copy, Debug)]
pub(super) struct Signs {
    pub(super) decimal: char,
    pub(super) thousands: Option<char>,
}

impl Signs {
    pub(super) fn remedy(self) -> String {
        let thousands = self.thousands.map_or("none".to_owned(), |sign| format!("'{sign}'"));
        format!(
            "the source declares decimal '{}' and thousands {thousands}; correct the cell, or these in sources.toml",
            self.decimal
        )
    }
}

/// The number with a decimal point, its bound before it; `None` when it is none.
pub(super) fn read(text: &str, signs: Signs) -> Option<String> {
    let text = text.trim();
    let bound = text.chars().next().filter(|sign| matches!(sign, '>' | '<'));
    let rest = text.strip_prefix(['>', '<']).unwrap_or(text).trim_start();
    let sign = rest.chars().next().filter(|sign| matches!(sign, '+' | '-'));
    let digits = rest.strip_prefix(['+', '-']).unwrap_or(rest);
    let (whole, fraction) = match digits.split_once(signs.decimal) {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (digits, None),
    };
    let whole = match signs.thousands {
        Some(sign) if whole.contains(sign) => ungrouped(whole, sign)?,
        _ => whole.to_owned(),
    };
    let fraction = fraction.unwrap_or_default();
    let only_digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
    if !only_digits(&whole) || !only_digits(fraction) || (whole.is_empty() && fraction.is_empty()) {
        return None;
    }
    let point = if fraction.is_empty() { "" } else { "." };
    let signs: String = bound.into_iter().chain(sign).collect();
    Some(format!("{signs}{whole}{point}{fraction}"))
}

/// The digits of groups of three, of which the first may be shorter.
fn ungrouped(whole: &str, sign: char) -> Option<String> {
    let mut groups = whole.split(sign);
    let first = groups.next().filter(|group| (1..=3).contains(&group.len()))?;
    let mut all = first.to_owned();
    for group in groups {
        all.push_str(Some(group).filter(|group| group.len() == 3)?);
    }
    Some(all)
}
