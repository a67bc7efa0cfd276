//! A calendar month in the warehouse's zone, written `YYYY-MM`.

use std::fmt;
use std::str::FromStr;

use jiff::civil::Date;
use serde::Deserialize;

/// A calendar month; ordered by time; prints as `2026-09`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(try_from = "String")]
pub struct Month {
    year: i16,
    month: i8,
}

impl Month {
    /// The month of a local day.
    pub fn of(day: Date) -> Self {
        Self {
            year: day.year(),
            month: day.month(),
        }
    }

    /// The calendar year.
    pub fn year(self) -> i16 {
        self.year
    }

    /// The month of the year, 1 to 12.
    pub fn number(self) -> i8 {
        self.month
    }

    /// The month `by` months later, or earlier when `by` is negative.
    pub fn plus(self, by: i32) -> Self {
        let months = i32::from(self.year) * 12 + i32::from(self.month) - 1 + by;
        Self {
            year: i16::try_from(months.div_euclid(12)).unwrap_or(self.year),
            month: i8::try_from(months.rem_euclid(12) + 1).unwrap_or(self.month),
        }
    }

    /// All months from `first` to `last`, both included; empty when `last` is earlier.
    pub fn range(first: Self, last: Self) -> Vec<Self> {
        let mut months = Vec::new();
        let mut at = first;
        while at <= last {
            months.push(at);
            at = at.plus(1);
        }
        months
    }

    /// The first day of the month.
    pub fn first_day(self) -> Date {
        Date::constant(self.year, self.month, 1)
    }

    /// In words: `September 2026`.
    pub fn in_words(self) -> String {
        self.first_day().strftime("%B %Y").to_string()
    }

    /// Short: `Sep`.
    pub fn short(self) -> String {
        self.first_day().strftime("%b").to_string()
    }

    /// Short: `Sep 26`.
    pub fn short_with_year(self) -> String {
        self.first_day().strftime("%b %y").to_string()
    }
}

impl fmt::Display for Month {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}", self.year, self.month)
    }
}

/// Why a text is not a month.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("'{0}' is not a month: write it as YYYY-MM, for example 2026-09")]
pub struct NotAMonth(String);

impl TryFrom<String> for Month {
    type Error = NotAMonth;

    fn try_from(text: String) -> Result<Self, NotAMonth> {
        text.parse()
    }
}

impl FromStr for Month {
    type Err = NotAMonth;

    fn from_str(text: &str) -> Result<Self, NotAMonth> {
        let wrong = || NotAMonth(text.to_owned());
        let (year, month) = text.split_once('-').ok_or_else(wrong)?;
        let digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
        if year.len() != 4 || month.len() != 2 || !digits(year) || !digits(month) {
            return Err(wrong());
        }
        let day = Date::new(
            year.parse().map_err(|_| wrong())?,
            month.parse().map_err(|_| wrong())?,
            1,
        )
        .map_err(|_| wrong())?;
        Ok(Self::of(day))
    }
}
