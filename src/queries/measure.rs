//! Runs the measures for a span of months and counts their cases; `cell_figures.rs` makes figures of the counts.
//!
//! A measure is a query with one row per case: figure, month, unit, baby, key, moment, kind and
//! name. It becomes the view `cases`; `grouped_cases` gives each case its group; what is read
//! are counts. So every measure is split, counted and explained in one way.

use crate::engine::Session;
use crate::engine::values::Cells;
use crate::month::Month;
use crate::protocol::Protocol;

use super::QueryError;
use super::catalogue::{self, Query};
use super::cell::{CountedBy, add_babies, placed, taken_together, word_of};
use super::cell_figures::OfName;
use super::covered::Covered;
use super::figure_names::figure_names;
use super::figures::Figure;
use super::split::{OF_NO_BABY, Split};

/// Figures of months, and of months taken together.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Told {
    /// Of each month.
    pub by_month: Vec<Figure>,
    /// Of all of them as if they were one, with the last month as its month: each case and each
    /// baby counts once. Months without data are left out; with none left, the network's figure is
    /// without data.
    pub together: Vec<Figure>,
}

/// What a span of months is measured from.
pub struct Measuring<'a> {
    /// Tables of the snapshot.
    pub session: &'a Session,
    /// The protocol it was derived by.
    pub protocol: &'a Protocol,
    /// Number of its load.
    pub load: i64,
}

impl Measuring<'_> {
    /// All figures of all measures for the months `first` to `last`, the network
    /// first, then each unit with anything to count, in a fixed order.
    ///
    /// # Errors
    /// When a query fails or returns what its header does not describe.
    pub async fn figures(&self, first: Month, last: Month) -> Result<Vec<Figure>, QueryError> {
        Ok(self.told((first, last), None, None).await?.by_month)
    }

    /// All figures of the measures of babies, by the groups of a split: in the network, then in
    /// each unit, for each that has anything to count.
    ///
    /// # Errors
    /// As [`Measuring::figures`].
    pub async fn split(&self, first: Month, last: Month, split: Split) -> Result<Vec<Figure>, QueryError> {
        Ok(self.told((first, last), None, Some(split)).await?.by_month)
    }

    /// The figures of each of the months, and of other months up to the same last one taken
    /// together; without a split of network and units, else of its groups.
    ///
    /// # Errors
    /// As [`Measuring::figures`].
    pub async fn told(
        &self,
        months: (Month, Month),
        together_from: Option<Month>,
        split: Option<Split>,
    ) -> Result<Told, QueryError> {
        let mut told = self.tell(months, together_from, &[split]).await?;
        Ok(told.pop().unwrap_or_default())
    }

    /// As [`Measuring::told`] by each of several splits, in their order, from one reading of the
    /// cases.
    ///
    /// # Errors
    /// As [`Measuring::figures`].
    pub async fn told_by(
        &self,
        months: (Month, Month),
        together_from: Option<Month>,
        splits: &[Split],
    ) -> Result<Vec<Told>, QueryError> {
        let splits: Vec<Option<Split>> = splits.iter().copied().map(Some).collect();
        self.tell(months, together_from, &splits).await
    }

    /// By each of several splits, or without one.
    async fn tell(
        &self,
        (first, last): (Month, Month),
        together_from: Option<Month>,
        splits: &[Option<Split>],
    ) -> Result<Vec<Told>, QueryError> {
        let covered = Covered::read(self.session, self.protocol.zone()).await?;
        let span = (together_from.map_or(first, |from| from.min(first)), last);
        let mut all = vec![Told::default(); splits.len()];
        for query in catalogue::measures() {
            if splits.iter().all(Option::is_some) && OF_NO_BABY.contains(&query.name) {
                continue;
            }
            let counted = self.count(query, span, splits).await?;
            for formula in query.header.figures() {
                let of_tables: Vec<&str> = query
                    .header
                    .list("needs")
                    .into_iter()
                    .chain(formula.of.clone())
                    .collect();
                let has_data = |month: &str| of_tables.iter().all(|table| covered.has_data(table, month));
                let with_data = |from: Month| -> Vec<(String, bool)> {
                    let months = Month::range(from, last);
                    let names = months.iter().map(Month::to_string);
                    names.map(|month| (month.clone(), has_data(&month))).collect()
                };
                for name in figure_names(query, &formula, self.protocol.versions()) {
                    for (split, told) in splits.iter().zip(&mut all) {
                        let counts = counted.get(word_of(*split));
                        let counts = counts.and_then(|counts| counts.get(self.counted_as(query, &name)));
                        let of_name = OfName {
                            name: &name,
                            formula: &formula,
                            query,
                            split: *split,
                        };
                        let months = with_data(first);
                        told.by_month.extend(self.by_cell(&of_name, &months, counts));
                        if let Some(from) = together_from {
                            let mut months = with_data(from);
                            months.retain(|(_, has_data)| *has_data);
                            let as_one = [(last.to_string(), !months.is_empty())];
                            let counts = counts.map(|counts| taken_together(counts, &months, &as_one[0].0));
                            told.together.extend(self.by_cell(&of_name, &as_one, counts.as_ref()));
                        }
                    }
                }
            }
        }
        Ok(all)
    }

    /// Runs a measure and counts its cases by each of several splits, or without one.
    pub(super) async fn count(
        &self,
        query: &Query,
        span: (Month, Month),
        splits: &[Option<Split>],
    ) -> Result<CountedBy, QueryError> {
        self.show_cases(query, span).await?;
        let words: Vec<&str> = splits.iter().flatten().map(|split| split.word()).collect();
        let (grouped, by) = match words.is_empty() {
            true => ("ungrouped", Vec::new()),
            false => ("grouped", vec![("splits", words.join(" "))]),
        };
        let view = "grouped_cases";
        self.session.add_view(view, catalogue::listing(grouped), &by).await?;
        let listing = match query.header.get("kind") {
            "time" | "median" => "timed",
            "difference" => "differed",
            _ => "counted",
        };
        let rows = self.session.rows(query.name, catalogue::listing(listing), &[]).await?;
        let mut counted = placed(&Cells::new(rows)).map_err(|word| QueryError::Shape {
            measure: query.name.to_owned(),
            why: format!("'{word}' is no kind of row"),
        })?;
        if !query.header.get("clusters").is_empty() {
            let by_baby = catalogue::listing("clustered");
            let rows = self.session.rows(query.name, by_baby, &[]).await?;
            add_babies(&mut counted, &Cells::new(rows));
        }
        self.session.remove(view)?;
        self.session.remove("cases")?;
        Ok(counted)
    }

    /// Makes the cases of a measure known to the session as `cases`.
    pub(super) async fn show_cases(&self, query: &Query, (first, last): (Month, Month)) -> Result<(), QueryError> {
        let months = [("first_month", first.to_string()), ("last_month", last.to_string())];
        Ok(self.session.add_view("cases", query.sql, &months).await?)
    }

    /// Months that have rows, of any source table.
    ///
    /// # Errors
    /// When the snapshot cannot be read.
    pub async fn months(&self) -> Result<Vec<Month>, QueryError> {
        Ok(Covered::read(self.session, self.protocol.zone()).await?.months())
    }

    /// The versions in force in a month by name: `first`, or `first; second from 2026-05-15`.
    pub fn protocol_of(&self, month: Month) -> String {
        let versions = self.protocol.versions_of(month);
        let mut told = versions[0].name.clone();
        for version in &versions[1..] {
            told.push_str(&format!("; {} from {}", version.name, version.in_force_from));
        }
        told
    }

    /// Under which name the query counts a figure: those of time share the rows of a clock,
    /// those of differences all rows.
    pub(super) fn counted_as<'n>(&self, query: &Query, name: &'n str) -> &'n str {
        match query.header.get("kind") {
            "time" if name.starts_with("time_to_result") => "result",
            "time" => "serum",
            "difference" => "meter_bias",
            _ => name,
        }
    }
}
