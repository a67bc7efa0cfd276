//! Runs the measures for a span of months and makes figures of their rows.

use std::collections::{BTreeMap, BTreeSet};

use crate::engine::Session;
use crate::engine::values::Cells;
use crate::month::Month;
use crate::protocol::Protocol;
use crate::statistics::aalen_johansen::{self, End};
use crate::statistics::proportion::wilson;

use super::QueryError;
use super::catalogue::{self, Query};
use super::figures::Figure;
use super::header;

/// What a span of months is measured from.
pub struct Measuring<'a> {
    /// Tables of the snapshot.
    pub session: &'a Session,
    /// The protocol it was derived by.
    pub protocol: &'a Protocol,
    /// Number of its load.
    pub load: i64,
}

/// Where one count belongs: month, then `None` for the network or a unit.
type Cell = (String, Option<String>);

/// Counts of one figure in one cell.
#[derive(Clone, Debug, Default)]
struct Counts {
    outcomes: BTreeMap<String, u64>,
    left_out: BTreeMap<String, u64>,
    provisional: bool,
}

/// One follow-up of a time measure.
struct FollowUp {
    time_s: i64,
    ended_by: String,
}

impl Measuring<'_> {
    /// All figures of all measures for the months `first` to `last`, the network
    /// first, then each unit with anything to count, in a fixed order.
    ///
    /// # Errors
    /// When a query fails or returns what its header does not describe.
    pub async fn figures(&self, first: Month, last: Month) -> Result<Vec<Figure>, QueryError> {
        let covered = self.table_months().await?;
        let months: Vec<String> = Month::range(first, last).iter().map(Month::to_string).collect();
        let mut all = Vec::new();
        for query in catalogue::measures() {
            let has_data = |month: &str| {
                let needs = query.header.list("needs");
                needs
                    .iter()
                    .all(|table| covered.contains(&((*table).to_owned(), month.to_owned())))
            };
            let span = [("first_month", first.to_string()), ("last_month", last.to_string())];
            let rows = self.session.rows(query.name, query.sql, &span).await?;
            let rows = Cells::new(rows);
            let figures = if query.header.get("kind") == "time" {
                self.times(&rows, &months, &has_data)
            } else {
                self.proportions(query, &rows, &months, &has_data)?
            };
            all.extend(figures);
        }
        Ok(all)
    }

    /// Months that have rows, of any source table.
    ///
    /// # Errors
    /// When the snapshot cannot be read.
    pub async fn months(&self) -> Result<Vec<Month>, QueryError> {
        let covered = self.table_months().await?;
        let months: BTreeSet<Month> = covered.iter().filter_map(|(_, month)| month.parse().ok()).collect();
        Ok(months.into_iter().collect())
    }

    async fn table_months(&self) -> Result<BTreeSet<(String, String)>, QueryError> {
        let sql = catalogue::listing("covered_months");
        let rows = Cells::new(self.session.rows("covered_months", sql, &[]).await?);
        let pairs = rows.texts("table_name").into_iter().zip(rows.texts("month"));
        Ok(pairs.filter_map(|(table, month)| Some((table?, month?))).collect())
    }

    fn proportions(
        &self,
        query: &Query,
        rows: &Cells,
        months: &[String],
        has_data: &dyn Fn(&str) -> bool,
    ) -> Result<Vec<Figure>, QueryError> {
        let counts = counted(query, rows)?;
        let outcomes = query.header.list("outcomes");
        let mut figures = Vec::new();
        for formula in query.header.figures() {
            for name in self.names(formula.name) {
                figures.extend(self.by_cell(&name, months, has_data, counts.get(&name), |cell, found| {
                    self.proportion(&name, &formula, &outcomes, cell, found.cloned().unwrap_or_default())
                }));
            }
        }
        Ok(figures)
    }

    /// One figure for each month: the network's, then each unit's that has anything;
    /// a month without data has the network's alone, which says so.
    fn by_cell<T>(
        &self,
        name: &str,
        months: &[String],
        has_data: &dyn Fn(&str) -> bool,
        found: Option<&BTreeMap<Cell, T>>,
        figure: impl Fn(Cell, Option<&T>) -> Figure,
    ) -> Vec<Figure> {
        let mut figures = Vec::new();
        for month in months {
            let network: Cell = (month.clone(), None);
            if !has_data(month) {
                figures.push(self.blank(name, network));
                continue;
            }
            figures.push(figure(network.clone(), found.and_then(|f| f.get(&network))));
            let units = found
                .into_iter()
                .flatten()
                .filter(|(cell, _)| cell.0 == *month && cell.1.is_some());
            figures.extend(units.map(|(cell, of)| figure(cell.clone(), Some(of))));
        }
        figures
    }

    fn proportion(
        &self,
        name: &str,
        formula: &header::Figure<'_>,
        outcomes: &[&str],
        cell: Cell,
        counts: Counts,
    ) -> Figure {
        let count = |outcome: &str| counts.outcomes.get(outcome).copied().unwrap_or(0);
        let numerator = count(formula.numerator);
        let denominator = formula.denominator.iter().map(|o| count(o)).sum();
        let listed = if outcomes.contains(&formula.numerator) {
            outcomes
        } else {
            &formula.denominator
        };
        let interval = wilson(numerator, denominator);
        Figure {
            numerator: Some(numerator),
            denominator: Some(denominator),
            value: (denominator > 0).then(|| numerator as f64 / denominator as f64),
            lower: interval.map(|i| i.lower),
            upper: interval.map(|i| i.upper),
            outcomes: listed.iter().map(|o| ((*o).to_owned(), count(o))).collect(),
            open: count("open"),
            left_out: counts.left_out,
            provisional: counts.provisional,
            ..self.blank(name, cell)
        }
    }

    fn times(&self, rows: &Cells, months: &[String], has_data: &dyn Fn(&str) -> bool) -> Vec<Figure> {
        let follow_ups = followed(rows);
        let hour_s = |h: u32| (format!("time_to_serum_{h}h"), "serum", Some(i64::from(h) * 3600));
        let mut told: Vec<(String, &str, Option<i64>)> = self.hours().into_iter().map(hour_s).collect();
        told.push(("time_to_serum_median".to_owned(), "serum", None));
        told.push(("time_to_result_median".to_owned(), "result", None));
        let mut figures = Vec::new();
        for (name, clock, until_s) in told {
            figures.extend(
                self.by_cell(&name, months, has_data, follow_ups.get(clock), |cell, found| {
                    self.time(&name, until_s, cell, found.map_or(&[], Vec::as_slice))
                }),
            );
        }
        figures
    }

    /// The share by `until_s`, or the median when `None`.
    fn time(&self, name: &str, until_s: Option<i64>, cell: Cell, follow_ups: &[FollowUp]) -> Figure {
        let counted: Vec<&FollowUp> = follow_ups
            .iter()
            .filter(|f| f.ended_by != "disposition_unknown")
            .collect();
        let ends: Vec<(i64, End)> = counted.iter().map(|f| (f.time_s, end(&f.ended_by))).collect();
        let steps = aalen_johansen::incidence(&ends);
        let within = |f: &&&FollowUp| until_s.is_none_or(|until| f.time_s <= until);
        let before = |f: &&&FollowUp| until_s.is_none_or(|until| f.time_s < until);
        let left_out = follow_ups.len() - counted.len();
        let value = match until_s {
            Some(until_s) => (!counted.is_empty()).then(|| aalen_johansen::by(&steps, until_s)),
            None => aalen_johansen::median(&steps).map(|s| s as f64 / 3600.0),
        };
        Figure {
            numerator: Some(counted.iter().filter(within).filter(|f| f.ended_by == "serum").count() as u64),
            denominator: Some(counted.len() as u64),
            value,
            left_out: (left_out > 0)
                .then(|| ("disposition_unknown".to_owned(), left_out as u64))
                .into_iter()
                .collect(),
            open: counted
                .iter()
                .filter(before)
                .filter(|f| f.ended_by == "data_end")
                .count() as u64,
            ..self.blank(name, cell)
        }
    }

    fn blank(&self, name: &str, (month, unit): Cell) -> Figure {
        Figure {
            measure: name.to_owned(),
            protocol: self.protocol_of(&month),
            month,
            split: if unit.is_some() { "unit" } else { "all" }.to_owned(),
            group: unit.unwrap_or_else(|| "all".to_owned()),
            numerator: None,
            denominator: None,
            value: None,
            lower: None,
            upper: None,
            outcomes: BTreeMap::new(),
            left_out: BTreeMap::new(),
            open: 0,
            provisional: false,
            load: self.load,
        }
    }

    /// The version in force on the month's last day.
    fn protocol_of(&self, month: &str) -> String {
        let versions = self.protocol.versions();
        let after = month.parse::<Month>().map(|m| m.plus(1).first_day());
        let in_force = versions
            .iter()
            .rev()
            .find(|v| after.as_ref().is_ok_and(|day| v.in_force_from < *day));
        in_force.unwrap_or(&versions[0]).name.clone()
    }

    /// The figures a name stands for: `recheck_adherence_*` is one per rule of the protocol.
    fn names(&self, name: &str) -> Vec<String> {
        let Some(stem) = name.strip_suffix('*') else {
            return vec![name.to_owned()];
        };
        let mut suffixes: Vec<String> = Vec::new();
        for version in self.protocol.versions() {
            if stem.starts_with("recheck") {
                suffixes.extend(version.recheck.rules.iter().map(|r| r.rule.clone()));
            } else {
                suffixes.extend(version.readmission.within_days.iter().map(|d| format!("{d}d")));
            }
        }
        let mut names: Vec<String> = Vec::new();
        for suffix in suffixes {
            let name = format!("{stem}{suffix}");
            if !names.contains(&name) {
                names.push(name);
            }
        }
        names
    }

    fn hours(&self) -> BTreeSet<u32> {
        let versions = self.protocol.versions().iter();
        versions
            .flat_map(|v| v.time_to_serum.shares_at_h.iter().copied())
            .collect()
    }
}

fn end(word: &str) -> End {
    match word {
        "serum" => End::Event,
        "competing" => End::Competing,
        _ => End::Censored,
    }
}

/// Sums the rows of a proportion by figure, then cell; each counts for its unit and the network.
fn counted(query: &Query, rows: &Cells) -> Result<BTreeMap<String, BTreeMap<Cell, Counts>>, QueryError> {
    let mut counts: BTreeMap<String, BTreeMap<Cell, Counts>> = BTreeMap::new();
    let texts = ["figure", "month", "unit", "kind", "name"].map(|column| rows.texts(column));
    for (i, n) in rows.ints("n").into_iter().enumerate() {
        let cell = |column: usize| texts[column].get(i).cloned().flatten().unwrap_or_default();
        let (figure, month, unit, kind, name) = (cell(0), cell(1), cell(2), cell(3), cell(4));
        let n = n.unwrap_or(0) as u64;
        for place in [None, Some(unit.clone())] {
            let of_figure = counts.entry(figure.clone()).or_default();
            let to = of_figure.entry((month.clone(), place)).or_default();
            match kind.as_str() {
                "outcome" => *to.outcomes.entry(name.clone()).or_default() += n,
                "left_out" => *to.left_out.entry(name.clone()).or_default() += n,
                "provisional" => to.provisional = true,
                other => {
                    return Err(QueryError::Shape {
                        measure: query.name.to_owned(),
                        why: format!("'{other}' is no kind of row"),
                    });
                }
            }
        }
    }
    Ok(counts)
}

/// Follow-ups by clock and cell; each counts for its unit and the network.
fn followed(rows: &Cells) -> BTreeMap<String, BTreeMap<Cell, Vec<FollowUp>>> {
    let mut all: BTreeMap<String, BTreeMap<Cell, Vec<FollowUp>>> = BTreeMap::new();
    let texts = ["month", "unit", "clock", "ended_by"].map(|column| rows.texts(column));
    for (i, time_s) in rows.ints("time_s").into_iter().enumerate() {
        let cell = |column: usize| texts[column].get(i).cloned().flatten().unwrap_or_default();
        for place in [None, Some(cell(1))] {
            let of_clock = all.entry(cell(2)).or_default();
            of_clock.entry((cell(0), place)).or_default().push(FollowUp {
                time_s: time_s.unwrap_or(0),
                ended_by: cell(3),
            });
        }
    }
    all
}
