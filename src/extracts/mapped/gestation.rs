//! Gestation in the notations that wards use, said as weeks+days or weeks.
//!
//! Read: `35+4`, `35 4/7`, `35+4/7`, `35w4d`, `35 weeks 4 days`, `35w`, `35`, `249 d`.
//! Refused, as they can be read in two ways: `35.4`, `249`, `4/7`; and 7 days or more.

#[derive(Debug, PartialEq)]
enum Token<'a> {
    Number(u32),
    Weeks,
    Days,
    Sign(&'a str),
}

/// The gestation as weeks+days or weeks; empty when nothing is written.
///
/// # Errors
/// What to do.
pub(super) fn read(text: &str) -> Result<String, String> {
    use Token::{Days, Number, Sign, Weeks};
    let text = text.to_lowercase();
    let tokens = tokens(&text);
    match tokens.as_slice() {
        [] => Ok(String::new()),
        [Number(weeks)] if *weeks > 99 => Err(format!(
            "write '{weeks} d' if these are days, or weeks+days such as 35+4"
        )),
        [Number(weeks)] | [Number(weeks), Weeks] => Ok(weeks.to_string()),
        [Number(weeks), Sign("+"), Number(days)]
        | [Number(weeks), Sign("+"), Number(days), Sign("/"), Number(7)]
        | [Number(weeks), Number(days), Sign("/"), Number(7)]
        | [Number(weeks), Weeks, Number(days), Sign("/"), Number(7)]
        | [Number(weeks), Weeks, Number(days), Days]
        | [Number(weeks), Weeks, Sign("+"), Number(days), Days] => weeks_and_days(*weeks, *days),
        [Number(days), Days] => Ok(format!("{}+{}", days / 7, days % 7)),
        [Number(_), Sign("." | ","), Number(_)] => {
            Err("it may be weeks and days or a decimal number of weeks; write weeks+days such as 35+4".to_owned())
        }
        [Number(_), Sign("/"), Number(_)] => Err("the weeks are missing; write weeks+days such as 35+4".to_owned()),
        _ => Err("write weeks+days such as 35+4, weeks alone, or days such as 249 d".to_owned()),
    }
}

/// Weeks and days that stand in two columns.
///
/// # Errors
/// What to do.
pub(super) fn of_two(weeks: &str, days: &str) -> Result<String, String> {
    match (tokens(weeks).as_slice(), tokens(days).as_slice()) {
        ([], []) => Ok(String::new()),
        ([Token::Number(weeks)], []) if *weeks <= 99 => Ok(weeks.to_string()),
        ([Token::Number(weeks)], [Token::Number(days)]) => weeks_and_days(*weeks, *days),
        ([], _) => Err("the weeks are missing; fill their column".to_owned()),
        _ => Err("write whole weeks in one column and whole days in the other".to_owned()),
    }
}

fn weeks_and_days(weeks: u32, days: u32) -> Result<String, String> {
    match (weeks, days) {
        (..=99, ..=6) => Ok(format!("{weeks}+{days}")),
        (..=99, _) => Err("7 days or more are another week; write 0 to 6 days".to_owned()),
        _ => Err("write weeks+days such as 35+4".to_owned()),
    }
}

fn tokens(text: &str) -> Vec<Token<'_>> {
    let kind = |letter: char| match letter {
        letter if letter.is_ascii_digit() => 0,
        letter if letter.is_alphabetic() => 1,
        _ => 2,
    };
    let mut tokens = Vec::new();
    let mut rest = text.trim_start();
    while let Some(first) = rest.chars().next() {
        let is_run = kind(first) < 2;
        let end = rest
            .char_indices()
            .skip(1)
            .find(|(_, letter)| !is_run || kind(*letter) != kind(first))
            .map_or(rest.len(), |(at, _)| at);
        let (token, after) = rest.split_at(end);
        tokens.push(match token {
            "w" | "wk" | "wks" | "week" | "weeks" => Token::Weeks,
            "d" | "day" | "days" => Token::Days,
            other => other.parse().map_or(Token::Sign(other), Token::Number),
        });
        rest = after.trim_start();
    }
    tokens
}
