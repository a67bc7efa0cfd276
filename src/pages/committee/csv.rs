//! The numbers of the committee's page as a file: those shown, and which are hidden.

use std::collections::BTreeSet;

use crate::month::Month;
use crate::privacy::shown::Shown;
use crate::queries::figures::{Quantity, quoted};

use super::charts::QUARTERS;
use super::data::CommitteeData;
use super::groups::GroupsTable;
use super::released::{Count, half_to, quarters_to, year_to};
use super::rows::CommitteeFigure;

const HEADER: &str = "measure,from_month,to_month,split,group,numerator,denominator,hidden\n";

/// A row for each number of the page: the month, twelve months, the quarters, and the groups of a
/// half-year. Births are left out, as other figures give them.
pub(super) fn csv(figures: &[CommitteeFigure<'_>], tables: &[GroupsTable], data: &CommitteeData<'_>) -> String {
    let mut text = HEADER.to_owned();
    let mut spans = vec![(data.month, data.month), year_to(data.month, data.first)];
    spans.extend(
        quarters_to(data.month, QUARTERS)
            .into_iter()
            .filter(|(first, _)| *first >= data.first),
    );
    // The first twelve months may be a quarter.
    let mut seen = BTreeSet::new();
    spans.retain(|span| seen.insert(*span));
    for one in figures
        .iter()
        .filter(|one| Quantity::of(one.measure) != Quantity::Hours)
    {
        for span in &spans {
            if let Some(shown) = one.released.shown(*span) {
                text.push_str(&line(one.measure, *span, ("all", "all"), shown));
            }
        }
    }
    for table in tables {
        for (group, shown) in &table.counts {
            let of = (table.split.as_str(), group.as_str());
            text.push_str(&line(&table.measure, half_to(data.month), of, *shown));
        }
    }
    text
}

fn line(measure: &str, (first, last): (Month, Month), (split, group): (&str, &str), shown: Shown<Count>) -> String {
    let is_rate = Quantity::of(measure) == Quantity::PerThousandBirths;
    let (n, of) = match shown {
        Shown::Hidden => (String::new(), String::new()),
        Shown::Value((n, _)) if is_rate => (n.to_string(), String::new()),
        Shown::Value((n, of)) => (n.to_string(), of.to_string()),
    };
    let is_hidden = matches!(shown, Shown::Hidden);
    format!(
        "{},{first},{last},{split},{},{n},{of},{is_hidden}\n",
        quoted(measure),
        quoted(group)
    )
}
