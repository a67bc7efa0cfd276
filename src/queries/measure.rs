//! Runs the measures for a span of months and makes figures of their rows.
//!
//! A measure is a query with one row per case: figure, month, unit, baby, key, moment, kind and
//! name. It becomes the view `cases`; `grouped_cases` gives each case its group; what is read
//! are counts. So every measure is split, counted and explained in one way.

use std::collections::{BTreeMap, BTreeSet};

use crate::engine::Session;
use crate::engine::values::Cells;
use crate::month::Month;
use crate::protocol::Protocol;
use crate::statistics::aalen_johansen::{self, End};
use crate::statistics::poisson;
use crate::statistics::proportion::{newcombe, wilson};

use super::QueryError;
use super::catalogue::{self, Query};
use super::cell::{Cell, Counted, Counts, placed};
use super::covered::Covered;
use super::figure_names::figure_names;
use super::figures::Figure;
use super::header;
use super::split::{OF_NO_BABY, Split};

/// Rates are told for so many births.
pub const RATE_PER_BIRTHS: f64 = 1000.0;

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
        self.figures_by(first, last, None).await
    }

    /// All figures of the measures of babies, by the groups of a split: in the network, then in
    /// each unit, for each that has anything to count.
    ///
    /// # Errors
    /// As [`Measuring::figures`].
    pub async fn split(&self, first: Month, last: Month, split: Split) -> Result<Vec<Figure>, QueryError> {
        self.figures_by(first, last, Some(split)).await
    }

    async fn figures_by(&self, first: Month, last: Month, split: Option<Split>) -> Result<Vec<Figure>, QueryError> {
        let covered = Covered::read(self.session, self.protocol.zone()).await?;
        let months: Vec<String> = Month::range(first, last).iter().map(Month::to_string).collect();
        let mut all = Vec::new();
        for query in catalogue::measures() {
            if split.is_some() && OF_NO_BABY.contains(&query.name) {
                continue;
            }
            let counted = self.count(query, (first, last), split).await?;
            for formula in query.header.figures() {
                let of_tables: Vec<&str> = query
                    .header
                    .list("needs")
                    .into_iter()
                    .chain(formula.of.clone())
                    .collect();
                let with_data: Vec<(&String, bool)> = months
                    .iter()
                    .map(|month| (month, of_tables.iter().all(|table| covered.has_data(table, month))))
                    .collect();
                for name in figure_names(query, &formula, self.protocol.versions()) {
                    let counts = counted.get(self.counted_as(query, &name));
                    let of_name = OfName {
                        name: &name,
                        formula: &formula,
                        query,
                        split,
                    };
                    all.extend(self.by_cell(&of_name, &with_data, counts));
                }
            }
        }
        Ok(all)
    }

    /// Runs a measure and counts its cases.
    async fn count(&self, query: &Query, span: (Month, Month), split: Option<Split>) -> Result<Counted, QueryError> {
        self.show_cases(query, span).await?;
        let (grouped, by) = match split {
            None => ("ungrouped", Vec::new()),
            Some(split) => ("grouped", vec![("split", split.word().to_owned())]),
        };
        let view = "grouped_cases";
        self.session.add_view(view, catalogue::listing(grouped), &by).await?;
        let listing = match query.header.get("kind") {
            "time" | "median" => "timed",
            _ => "counted",
        };
        let rows = self.session.rows(query.name, catalogue::listing(listing), &[]).await?;
        self.session.remove(view)?;
        self.session.remove("cases")?;
        placed(&Cells::new(rows), split).map_err(|word| QueryError::Shape {
            measure: query.name.to_owned(),
            why: format!("'{word}' is no kind of row"),
        })
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

    /// One figure for each month: without a split the network's, then each unit's that has
    /// anything, and of a month without data the network's alone, which says so; with a split
    /// those of each group.
    fn by_cell(
        &self,
        of: &OfName<'_>,
        months: &[(&String, bool)],
        found: Option<&BTreeMap<Cell, Counts>>,
    ) -> Vec<Figure> {
        let mut figures = Vec::new();
        for (month, has_data) in months {
            if of.split.is_none() {
                let network = Cell::network(month);
                if !has_data {
                    figures.push(self.blank(of, &network));
                    continue;
                }
                let counts = found.and_then(|f| f.get(&network));
                figures.push(self.figure(of, &network, counts.unwrap_or(&Counts::default())));
            }
            let cells = found.into_iter().flatten().filter(|(cell, _)| {
                cell.month == **month && *has_data && (cell.unit.is_some() || cell.group.is_some())
            });
            let cells: Vec<(&Cell, &Counts)> = cells.collect();
            let mut of_month: Vec<Figure> = cells
                .iter()
                .map(|(cell, counts)| self.figure(of, cell, counts))
                .collect();
            let rest: Vec<Option<(u64, u64)>> = (0..cells.len()).map(|i| rest(&cells, &of_month, i)).collect();
            for (figure, rest) in of_month.iter_mut().zip(rest) {
                if of.query.header.get("kind") == "proportion" {
                    compare(figure, rest);
                }
            }
            figures.extend(of_month);
        }
        figures
    }

    fn figure(&self, of: &OfName<'_>, cell: &Cell, counts: &Counts) -> Figure {
        match of.query.header.get("kind") {
            "time" => self.time(of, cell, counts),
            "median" => self.median(of, cell, counts),
            "rate" => self.rate(of, cell, counts),
            _ => self.proportion(of, cell, counts),
        }
    }

    /// Counts by outcome, and what they come to by the formula; no value.
    fn counted(&self, of: &OfName<'_>, cell: &Cell, counts: &Counts) -> Figure {
        let count = |outcome: &&str| counts.outcomes.get(*outcome).copied().unwrap_or(0);
        let formula = of.formula;
        let of_measure = of.query.header.list("outcomes");
        let listed: Vec<&str> = if formula.numerator.iter().all(|name| of_measure.contains(name)) {
            of_measure
        } else {
            formula.denominator.iter().chain(&formula.besides).copied().collect()
        };
        Figure {
            numerator: Some(formula.numerator.iter().map(count).sum()),
            denominator: Some(formula.denominator.iter().map(count).sum()),
            outcomes: listed.iter().map(|o| ((*o).to_owned(), count(o))).collect(),
            open: count(&"open"),
            left_out: counts.left_out.clone(),
            provisional: counts.provisional,
            ..self.blank(of, cell)
        }
    }

    fn proportion(&self, of: &OfName<'_>, cell: &Cell, counts: &Counts) -> Figure {
        let figure = self.counted(of, cell, counts);
        let (numerator, denominator) = (figure.numerator.unwrap_or(0), figure.denominator.unwrap_or(0));
        let interval = wilson(numerator, denominator);
        Figure {
            value: (denominator > 0).then(|| numerator as f64 / denominator as f64),
            lower: interval.map(|i| i.lower),
            upper: interval.map(|i| i.upper),
            ..figure
        }
    }

    /// Cases for each thousand births, with the interval of an exact Poisson count.
    fn rate(&self, of: &OfName<'_>, cell: &Cell, counts: &Counts) -> Figure {
        let figure = self.counted(of, cell, counts);
        let (cases, births) = (figure.numerator.unwrap_or(0), figure.denominator.unwrap_or(0));
        let per_births = |n: f64| (births > 0).then(|| RATE_PER_BIRTHS * n / births as f64);
        let interval = poisson::exact(cases);
        Figure {
            value: per_births(cases as f64),
            lower: per_births(interval.lower),
            upper: per_births(interval.upper),
            ..figure
        }
    }

    /// The median time of those that have one, hours.
    fn median(&self, of: &OfName<'_>, cell: &Cell, counts: &Counts) -> Figure {
        let mut times: Vec<i64> = Vec::new();
        for (time_s, _, n) in &counts.times {
            times.extend(std::iter::repeat_n(*time_s, *n as usize));
        }
        times.sort_unstable();
        let middle = times.len() / 2;
        let median_s = match times.len() {
            0 => None,
            n if n % 2 == 1 => Some(times[middle] as f64),
            _ => Some((times[middle - 1] + times[middle]) as f64 / 2.0),
        };
        Figure {
            value: median_s.map(|s| s / 3600.0),
            ..self.counted(of, cell, counts)
        }
    }

    /// The share by the hours in the figure's name, or the median.
    fn time(&self, of: &OfName<'_>, cell: &Cell, counts: &Counts) -> Figure {
        let until_s = self
            .hours()
            .into_iter()
            .find(|hour| of.name == format!("time_to_serum_{hour}h"))
            .map(|hour| i64::from(hour) * 3600);
        let mut ends: Vec<(i64, End)> = Vec::new();
        for (time_s, ended_by, n) in &counts.times {
            ends.extend(std::iter::repeat_n((*time_s, end(ended_by)), *n as usize));
        }
        let steps = aalen_johansen::incidence(&ends);
        let count = |ended_by: &str, is_within: &dyn Fn(i64) -> bool| {
            let those = counts
                .times
                .iter()
                .filter(|(time_s, by, _)| by == ended_by && is_within(*time_s));
            those.map(|(_, _, n)| n).sum::<u64>()
        };
        Figure {
            numerator: Some(count("serum", &|time_s| until_s.is_none_or(|until| time_s <= until))),
            denominator: Some(ends.len() as u64),
            value: match until_s {
                Some(until_s) => (!ends.is_empty()).then(|| aalen_johansen::by(&steps, until_s)),
                None => aalen_johansen::median(&steps).map(|s| s as f64 / 3600.0),
            },
            left_out: counts.left_out.clone(),
            open: count("data_end", &|time_s| until_s.is_none_or(|until| time_s < until)),
            ..self.blank(of, cell)
        }
    }

    fn blank(&self, of: &OfName<'_>, cell: &Cell) -> Figure {
        Figure {
            measure: of.name.to_owned(),
            protocol: cell
                .month
                .parse()
                .map_or_else(|_| String::new(), |month| self.protocol_of(month)),
            month: cell.month.clone(),
            split: cell.split_name(of.split),
            group: cell.group_name(),
            numerator: None,
            denominator: None,
            value: None,
            lower: None,
            upper: None,
            difference: None,
            difference_lower: None,
            difference_upper: None,
            outcomes: BTreeMap::new(),
            left_out: BTreeMap::new(),
            open: 0,
            provisional: false,
            load: self.load,
        }
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

    /// Under which name the query counts a figure: those of time share the rows of a clock.
    pub(super) fn counted_as<'n>(&self, query: &Query, name: &'n str) -> &'n str {
        match query.header.get("kind") {
            "time" if name.starts_with("time_to_result") => "result",
            "time" => "serum",
            _ => name,
        }
    }

    fn hours(&self) -> BTreeSet<u32> {
        let versions = self.protocol.versions().iter();
        versions
            .flat_map(|v| v.time_to_serum.shares_at_h.iter().copied())
            .collect()
    }
}

/// What a figure is made by.
struct OfName<'a> {
    name: &'a str,
    formula: &'a header::Figure<'a>,
    query: &'a Query,
    split: Option<Split>,
}

/// Numerator and denominator of all other groups of the same split (of a group in a unit: of
/// the same unit) together; `None` when there are none.
fn rest(cells: &[(&Cell, &Counts)], figures: &[Figure], place: usize) -> Option<(u64, u64)> {
    let own = cells[place].0;
    let is_other = |cell: &Cell| {
        let is_alike = cell.unit.is_some() == own.unit.is_some() && cell.group.is_some() == own.group.is_some();
        // Groups within a unit are compared with those of that unit.
        is_alike && (own.group.is_none() || cell.unit == own.unit)
    };
    let others = cells
        .iter()
        .zip(figures)
        .enumerate()
        .filter(|(i, ((cell, _), _))| *i != place && is_other(cell));
    let sum = others.fold((0, 0), |sum, (_, (_, figure))| {
        (
            sum.0 + figure.numerator.unwrap_or(0),
            sum.1 + figure.denominator.unwrap_or(0),
        )
    });
    (sum.1 > 0).then_some(sum)
}

/// Tells by how much a group differs from the rest.
fn compare(figure: &mut Figure, rest: Option<(u64, u64)>) {
    let own = figure.numerator.zip(figure.denominator);
    let difference = own.zip(rest).and_then(|(own, rest)| newcombe(own, rest));
    figure.difference = difference.map(|d| d.value);
    figure.difference_lower = difference.map(|d| d.lower);
    figure.difference_upper = difference.map(|d| d.upper);
}

fn end(word: &str) -> End {
    match word {
        "serum" => End::Event,
        "competing" => End::Competing,
        _ => End::Censored,
    }
}
