//! What of a figure may be shown to the committee, over all months and reports.
//!
//! The report of a month that ends a quarter hands over the last twelve months together (fewer at
//! the beginning), the quarter, and the half-year if it ends one; that of any month the month
//! alone. They are asked for in this order from the first month on, so that what an earlier report
//! showed decides what a later one may. Quarters and half-years are those of the calendar.
//!
//! Twelve months move on by quarters, not by months: two sums of twelve months, a month apart,
//! differ by the difference of two single months, and with few cases nearly all quarters would
//! have to be hidden to protect them.

use std::collections::BTreeMap;

use crate::month::Month;
use crate::privacy::series::{Span, release};
use crate::privacy::shown::Shown;
use crate::queries::figures::Figure;

/// Numerator and denominator.
pub(super) type Count = (u64, u64);

/// Months next to each other, both ends included.
pub(super) type Months = (Month, Month);

/// Months taken together beside the month.
const YEAR: i32 = 12;

/// One figure of the network, month by month.
pub(super) struct Released {
    months: Vec<Month>,
    /// Numerator and denominator by month; zero where there is no data.
    counts: Vec<Count>,
    /// Whether a month has data.
    has_data: Vec<bool>,
    /// Whether a month may still change.
    provisional: Vec<bool>,
    spans: BTreeMap<Span, bool>,
}

/// Outcomes of which two figures are reported: all of them are protected together.
const REPORTED_TOGETHER: [(&str, &[&str]); 2] = [
    ("missed_referral", &["in_time", "late", "missed"]),
    ("referral_in_time", &["in_time", "late", "missed"]),
];

impl Released {
    /// The network's figures of one name, which come in order of months; counts from 1 to below
    /// `hide_below` are hidden.
    pub(super) fn of(measure: &str, figures: &[Figure], hide_below: u32) -> Self {
        let own: Vec<&Figure> = figures
            .iter()
            .filter(|figure| figure.split == "all" && figure.measure == measure)
            .collect();
        let counts: Vec<Count> = own
            .iter()
            .map(|figure| figure.numerator.zip(figure.denominator).unwrap_or((0, 0)))
            .collect();
        let months: Vec<Month> = own.iter().filter_map(|figure| figure.month.parse().ok()).collect();
        let outcomes = outcomes(measure, &own, &counts);
        let asked: Vec<Span> = (0..months.len()).flat_map(|t| asked(&months, t)).collect();
        let released = release(&outcomes, &asked, hide_below);
        Self {
            has_data: own.iter().map(|figure| figure.denominator.is_some()).collect(),
            provisional: own.iter().map(|figure| figure.may_still_change()).collect(),
            spans: asked.into_iter().zip(released).collect(),
            months,
            counts,
        }
    }

    /// The counts of months together, when they may be shown; `None` where a month is missing or
    /// none has data. A span that no report asks for is hidden.
    pub(super) fn shown(&self, span: Months) -> Option<Shown<Count>> {
        let place = self.place(span)?;
        let range = place.first..=place.last;
        if !self.has_data[range.clone()].iter().any(|has_data| *has_data) {
            return None;
        }
        let sum = || {
            let add = |sum: Count, n: &Count| (sum.0 + n.0, sum.1 + n.1);
            self.counts[range.clone()].iter().fold((0, 0), add)
        };
        let is_released = self.spans.get(&place).copied().unwrap_or(false);
        Some(Shown::when(is_released, sum))
    }

    /// Whether all months of a span have data.
    pub(super) fn is_complete(&self, span: Months) -> bool {
        self.place(span)
            .is_some_and(|place| self.has_data[place.first..=place.last].iter().all(|has_data| *has_data))
    }

    /// Whether a month of a span may still change.
    pub(super) fn is_provisional(&self, span: Months) -> bool {
        self.place(span)
            .is_some_and(|place| self.provisional[place.first..=place.last].iter().any(|is| *is))
    }

    fn place(&self, (first, last): Months) -> Option<Span> {
        let at = |month: Month| self.months.iter().position(|one| *one == month);
        Some(Span {
            first: at(first)?,
            last: at(last)?,
        })
    }
}

/// The outcomes that split the cases of each month, by outcome, then month.
fn outcomes(measure: &str, own: &[&Figure], counts: &[Count]) -> Vec<Vec<u64>> {
    let together = REPORTED_TOGETHER.iter().find(|(name, _)| *name == measure);
    match together {
        Some((_, names)) => names
            .iter()
            .map(|name| {
                let of_month = own
                    .iter()
                    .map(|figure| figure.outcomes.get(*name).copied().unwrap_or(0));
                of_month.collect()
            })
            .collect(),
        None => vec![
            counts.iter().map(|(n, _)| *n).collect(),
            counts.iter().map(|(n, of)| of.saturating_sub(*n)).collect(),
        ],
    }
}

/// What the report of a month hands over, in the order of importance.
fn asked(months: &[Month], t: usize) -> Vec<Span> {
    let back = |by: i32| t.checked_sub(by as usize - 1);
    let span = |first: usize| Span { first, last: t };
    let ends = |length: i8| months[t].number() % length == 0;
    let year = Some(back(YEAR).unwrap_or(0)).filter(|_| ends(3));
    let quarter = back(3).filter(|_| ends(3));
    let half = back(6).filter(|_| ends(6));
    let all = [year, quarter, half, Some(t)];
    all.into_iter().flatten().map(span).collect()
}

/// The twelve months to the last quarter that was complete by a month, from the first month on.
pub fn year_to(month: Month, first: Month) -> Months {
    let end = quarter_end(month);
    (end.plus(1 - YEAR).max(first), end)
}

/// The last month that ends a quarter, by a month.
fn quarter_end(month: Month) -> Month {
    month.plus(-i32::from(month.number() % 3))
}

/// The last quarters that were complete by a month, oldest first.
pub fn quarters_to(month: Month, many: i32) -> Vec<Months> {
    let last = quarter_end(month);
    let each = (0..many).rev().map(|back| last.plus(-3 * back));
    each.map(|end| (end.plus(-2), end)).collect()
}

/// The last half-year that was complete by a month.
pub fn half_to(month: Month) -> Months {
    let end = month.plus(-i32::from(month.number() % 6));
    (end.plus(-5), end)
}
