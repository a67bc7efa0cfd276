//! Patterns of file names: `*` is any text, `?` any one letter, the rest itself
//! in any case.

/// Whether a file name fits a pattern.
pub(super) fn fits(pattern: &str, name: &str) -> bool {
    let pattern: Vec<char> = pattern.to_lowercase().chars().collect();
    let name: Vec<char> = name.to_lowercase().chars().collect();
    // ends[i]: the pattern so far can end before letter i of the name.
    let mut ends: Vec<bool> = std::iter::once(true).chain(name.iter().map(|_| false)).collect();
    for sign in pattern {
        ends = step(sign, &ends, &name);
    }
    ends.last() == Some(&true)
}

fn step(sign: char, ends: &[bool], name: &[char]) -> Vec<bool> {
    let mut is_after = false;
    if sign == '*' {
        return ends
            .iter()
            .map(|end| {
                is_after |= *end;
                is_after
            })
            .collect();
    }
    let fits = |(end, letter): (&bool, &char)| *end && (sign == '?' || sign == *letter);
    std::iter::once(false).chain(ends.iter().zip(name).map(fits)).collect()
}
