//! Figures from the counts of a measure's cells, and how far each group is from all others.

use std::collections::BTreeMap;

use crate::statistics::Interval;
use crate::statistics::proportion::difference;
use crate::statistics::survival::End;

use super::catalogue::Query;
use super::cell::{ByCell, Cell, Counts};
use super::figure_kinds::kind_of;
use super::figures::Figure;
use super::header;
use super::measuring::Measuring;
use super::split::Split;
use super::valued::{self, Agreement};

impl Measuring<'_> {
    /// One figure for each month: without a split the network's, then each unit's that has
    /// anything, and of a month without data the network's alone, which says so; with a split
    /// those of each group.
    pub(super) fn by_cell(&self, of: &OfName<'_>, months: &[(String, bool)], found: &ByCell) -> Vec<Figure> {
        let mut figures = Vec::new();
        for (month, has_data) in months {
            if of.split.is_none() {
                let network = Cell::network(month);
                if !has_data {
                    figures.push(self.blank(of, &network));
                    continue;
                }
                let counts = found.get(&network);
                figures.push(self.figure(of, &network, counts.unwrap_or(&Counts::default())));
            }
            let cells = found
                .iter()
                .filter(|(cell, _)| cell.month == *month && *has_data && (cell.unit.is_some() || cell.group.is_some()));
            let cells: Vec<(&Cell, &Counts)> = cells.collect();
            let mut of_month: Vec<Figure> = cells
                .iter()
                .map(|(cell, counts)| self.figure(of, cell, counts))
                .collect();
            if of.query.header.get("kind") == "proportion" {
                for (place, figure) in of_month.iter_mut().enumerate() {
                    compare(figure, cells[place].1, &others(&cells, place), of);
                }
            }
            figures.extend(of_month);
        }
        figures
    }

    fn figure(&self, of: &OfName<'_>, cell: &Cell, counts: &Counts) -> Figure {
        let kind = of.query.header.get("kind");
        let mut figure = match kind {
            "time" => self.timed(of, cell, counts),
            _ => self.counted(of, cell, counts),
        };
        let (numerator, denominator) = (figure.numerator.unwrap_or(0), figure.denominator.unwrap_or(0));
        let valued = match kind {
            "time" => match self.until_s(of.name) {
                Some(until_s) => valued::share_by(&follow_ups(counts), until_s),
                None => valued::half_by_h(&follow_ups(counts)),
            },
            "median" => valued::median_h(&amounts(counts)),
            "difference" => valued::agreement(&amounts(counts), number_of(of.name)),
            "rate" => valued::rate(numerator, denominator),
            _ if counts.babies.is_empty() => valued::share(numerator, denominator),
            _ => valued::clustered_share(&of.clusters(&[counts])),
        };
        (figure.value, figure.lower, figure.upper) = (valued.value, valued.lower, valued.upper);
        figure
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

    /// How many were drawn by the hour in the figure's name, or at all; no value.
    fn timed(&self, of: &OfName<'_>, cell: &Cell, counts: &Counts) -> Figure {
        let until_s = self.until_s(of.name);
        let count = |ended_by: &str, is_within: &dyn Fn(i64) -> bool| {
            let those = counts
                .amounts
                .iter()
                .filter(|(time_s, by, _)| **by == *ended_by && is_within(*time_s));
            those.map(|(_, _, n)| n).sum::<u64>()
        };
        Figure {
            numerator: Some(count("serum", &|time_s| until_s.is_none_or(|until| time_s <= until))),
            denominator: Some(counts.amounts.iter().map(|(_, _, n)| n).sum()),
            left_out: counts.left_out.clone(),
            open: count("data_end", &|time_s| until_s.is_none_or(|until| time_s < until)),
            ..self.blank(of, cell)
        }
    }

    /// The time in the name of a share by an hour; `None` of a median.
    fn until_s(&self, name: &str) -> Option<i64> {
        let hour = kind_of(name).and_then(|kind| kind.hour_of(name));
        hour.map(|hour| i64::from(hour) * 3600)
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
}

/// What a figure is made by.
pub(super) struct OfName<'a> {
    pub name: &'a str,
    pub formula: &'a header::Figure<'a>,
    pub query: &'a Query,
    pub split: Option<Split>,
}

impl OfName<'_> {
    /// How many of several cells have one of these outcomes.
    fn sum(&self, counts: &[&Counts], names: &[&str]) -> u64 {
        let of_names = |counts: &Counts| names.iter().filter_map(|name| counts.outcomes.get(*name)).sum::<u64>();
        counts.iter().map(|counts| of_names(counts)).sum()
    }

    /// Numerator and denominator of each baby that counts in any of several cells.
    fn clusters(&self, counts: &[&Counts]) -> Vec<(u64, u64)> {
        let mut of_baby: BTreeMap<u32, (u64, u64)> = BTreeMap::new();
        for cases in counts.iter().flat_map(|counts| &counts.babies) {
            let sum = of_baby.entry(cases.number).or_default();
            let times = |names: &[&str]| names.iter().filter(|name| **name == &*cases.outcome).count() as u64 * cases.n;
            sum.0 += times(&self.formula.numerator);
            sum.1 += times(&self.formula.denominator);
        }
        of_baby.into_values().filter(|(_, of)| *of > 0).collect()
    }
}

/// Counts of all other groups of the same split; of a group in a unit, of the same unit.
fn others<'a>(cells: &[(&Cell, &'a Counts)], place: usize) -> Vec<&'a Counts> {
    let own = cells[place].0;
    let is_other = |cell: &Cell| {
        let is_alike = cell.unit.is_some() == own.unit.is_some() && cell.group.is_some() == own.group.is_some();
        // Groups within a unit are compared with those of that unit.
        is_alike && (own.group.is_none() || cell.unit == own.unit)
    };
    let those = cells.iter().enumerate();
    let those = those.filter(|(i, (cell, _))| *i != place && is_other(cell));
    those.map(|(_, (_, counts))| *counts).collect()
}

/// Sets by how much a group differs from all others together.
fn compare(figure: &mut Figure, own: &Counts, others: &[&Counts], of: &OfName<'_>) {
    let share = |counts: &[&Counts]| -> Option<(f64, Interval)> {
        let clusters = of.clusters(counts);
        let valued = match clusters.is_empty() {
            true => valued::share(
                of.sum(counts, &of.formula.numerator),
                of.sum(counts, &of.formula.denominator),
            ),
            false => valued::clustered_share(&clusters),
        };
        let (lower, upper) = valued.lower.zip(valued.upper)?;
        Some((valued.value?, Interval { lower, upper }))
    };
    let found = share(&[own])
        .zip(share(others))
        .map(|(own, others)| difference(own, others));
    figure.difference = found.map(|d| d.value);
    figure.difference_lower = found.map(|d| d.lower);
    figure.difference_upper = found.map(|d| d.upper);
}

/// The amounts of all cases: times in seconds, or differences in millionths of umol/L.
fn amounts(counts: &Counts) -> Vec<i64> {
    let each = counts.amounts.iter();
    each.flat_map(|(amount, _, n)| std::iter::repeat_n(*amount, *n as usize))
        .collect()
}

/// How the follow-up of each case ended.
pub(super) fn follow_ups(counts: &Counts) -> Vec<(i64, End)> {
    let each = counts.amounts.iter();
    each.flat_map(|(time_s, ended_by, n)| std::iter::repeat_n((*time_s, end(ended_by)), *n as usize))
        .collect()
}

fn number_of(name: &str) -> Agreement {
    match name {
        "meter_bias_lower_limit" => Agreement::LowerLimit,
        "meter_bias_upper_limit" => Agreement::UpperLimit,
        _ => Agreement::Bias,
    }
}

fn end(word: &str) -> End {
    match word {
        "serum" => End::Event,
        "competing" => End::Competing,
        _ => End::Censored,
    }
}
