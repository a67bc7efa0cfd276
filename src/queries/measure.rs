//! Counts the cases of a span of months; `cell_figures.rs` makes figures of the counts.
//!
//! A measure is a query with one row per case: figure, month, unit, baby, key, moment, kind and
//! name. A load stores the rows of all measures as the table `cases`; `grouped_cases` gives each
//! its group by a split, and what is read are counts. So every measure is split, counted and
//! explained in one way, and none is run twice.

use std::borrow::Cow;

use crate::engine::{Sql, Value, next_batch};
use crate::month::Month;

use super::QueryError;
use super::cases;
use super::catalogue::{self, Query, listings};
use super::cell::{ByCell, Placed, taken_together};
use super::cell_figures::OfName;
use super::covered::Covered;
use super::figure_names::figure_names;
use super::figures::Figure;
use super::header;
use super::split::{OF_NO_BABY, Split};

pub use super::measuring::Measuring;

/// Figures of months, and of months taken together.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MonthlyFigures {
    /// Of each month.
    pub by_month: Vec<Figure>,
    /// Of all of them as if they were one, with the last month as its month: each case and each
    /// baby counts once. Months without data are left out; with none left, the network's figure is
    /// without data.
    pub together: Vec<Figure>,
}

/// The cases of some months, counted: by splits, or without one.
pub struct Counted<'a> {
    pub(super) measuring: &'a Measuring<'a>,
    covered: Covered<'a>,
    placed: Placed,
}

impl Counted<'_> {
    /// The figures of each of the months, and of other months up to the same last one taken
    /// together: without a split the network first, then each unit with anything to count; with
    /// one those of its groups, in the network and in each unit, of the measures of babies. The
    /// months and the split must be among those counted.
    pub fn figures(
        &self,
        (first, last): (Month, Month),
        together_from: Option<Month>,
        split: Option<Split>,
    ) -> MonthlyFigures {
        self.figures_of((first, last), together_from, split, |_| true)
    }

    /// Those figures of them that are wanted by their name.
    pub fn figures_of(
        &self,
        (first, last): (Month, Month),
        together_from: Option<Month>,
        split: Option<Split>,
        is_wanted: impl Fn(&str) -> bool,
    ) -> MonthlyFigures {
        let mut figures = MonthlyFigures::default();
        for query in catalogue::measures() {
            if split.is_some() && OF_NO_BABY.contains(&query.name) {
                continue;
            }
            for formula in query.header.figures() {
                let needs = query.header.list("needs").into_iter();
                let of_tables: Vec<&str> = needs.chain(formula.of.clone()).collect();
                let with_data = |from: Month| -> Vec<(String, bool)> {
                    let names = Month::range(from, last).into_iter().map(|month| month.to_string());
                    let has_data = |month: &str| of_tables.iter().all(|table| self.covered.has_data(table, month));
                    names.map(|month| (month.clone(), has_data(&month))).collect()
                };
                let names = figure_names(query, &formula, self.measuring.protocol.versions());
                for name in names.into_iter().filter(|name| is_wanted(name)) {
                    let counts = self.counts(query, &formula, &name, split);
                    let of_name = OfName {
                        name: &name,
                        formula: &formula,
                        query,
                        split,
                    };
                    let months = with_data(first);
                    figures
                        .by_month
                        .extend(self.measuring.by_cell(&of_name, &months, &counts));
                    if let Some(from) = together_from {
                        let mut months = with_data(from);
                        months.retain(|(_, has_data)| *has_data);
                        let as_one = [(last.to_string(), !months.is_empty())];
                        let counts = taken_together(&counts, &months, &as_one[0].0);
                        figures
                            .together
                            .extend(self.measuring.by_cell(&of_name, &as_one, &counts));
                    }
                }
            }
        }
        figures
    }

    /// The counts of a figure by a split, or without one.
    pub(super) fn counts(
        &self,
        query: &Query,
        formula: &header::Figure<'_>,
        name: &str,
        split: Option<Split>,
    ) -> Cow<'_, ByCell> {
        self.placed.figure(split, query.name, formula, name)
    }
}

impl Measuring<'_> {
    /// All figures of all measures for the months `first` to `last`, the network
    /// first, then each unit with anything to count, in a fixed order.
    ///
    /// # Errors
    /// When a query fails or a case is of no kind.
    pub async fn figures(&self, first: Month, last: Month) -> Result<Vec<Figure>, QueryError> {
        let counted = self.count(Month::range(first, last), &[None]).await?;
        Ok(counted.figures((first, last), None, None).by_month)
    }

    /// Counts the cases of months by each of several splits, or without one.
    ///
    /// # Errors
    /// When a query fails or a case is of no kind.
    pub async fn count(
        &self,
        months: impl IntoIterator<Item = Month>,
        splits: &[Option<Split>],
    ) -> Result<Counted<'_>, QueryError> {
        let mut placed = Placed::default();
        let names: Vec<String> = months.into_iter().map(|month| month.to_string()).collect();
        let months = ("months", Value::from(names.join(" ")));
        if splits.contains(&None) {
            self.place(&mut placed, listings::ungrouped, std::slice::from_ref(&months))
                .await?;
        }
        let words: Vec<&str> = splits.iter().flatten().map(|split| split.word()).collect();
        if !words.is_empty() {
            let by = [
                months,
                ("splits", words.join(" ").into()),
                ("of_no_baby", OF_NO_BABY.join(" ").into()),
            ];
            self.place(&mut placed, listings::grouped, &by).await?;
        }
        placed.number_in_order();
        Ok(Counted {
            measuring: self,
            covered: Covered::read(self.session, self.protocol.zone()).await?,
            placed,
        })
    }

    /// Counts the cases that a listing groups.
    async fn place(&self, placed: &mut Placed, grouped: Sql<'_>, by: &[(&str, Value)]) -> Result<(), QueryError> {
        let view = "grouped_cases";
        self.session.add_view(view, grouped, by).await?;
        let clustered = catalogue::measures()
            .iter()
            .filter(|query| !query.header.get("clusters").is_empty());
        let clustered: Vec<&str> = clustered.map(|query| query.name).collect();
        let clustered = [("clustered", clustered.join(" ").into())];
        let mut rows = self.session.stream(listings::counted, &clustered).await?;
        while let Some(batch) = next_batch(listings::counted.name, &mut rows).await? {
            placed.place(&batch).map_err(|source| QueryError::Shape {
                measure: cases::TABLE.to_owned(),
                why: source.to_string(),
            })?;
        }
        self.session.remove(view)?;
        Ok(())
    }

    /// Months that have rows, of any source table.
    ///
    /// # Errors
    /// When the snapshot cannot be read.
    pub async fn months(&self) -> Result<Vec<Month>, QueryError> {
        Ok(Covered::read(self.session, self.protocol.zone()).await?.months())
    }
}
