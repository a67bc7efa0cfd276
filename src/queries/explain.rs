//! How a figure came about: from all rows of the month to its numerator, step by step.

use std::collections::BTreeMap;

use serde::Deserialize;
use serde::de::DeserializeOwned;

use crate::engine::rows::or_none;
use crate::engine::{Session, Sql, Value};
use crate::month::Month;
use crate::protocol::Protocol;

use super::QueryError;
use super::catalogue::{self, Query, listings};
use super::cell::{Cell, Counts};
use super::figure_names::figure_names;
use super::header;
use super::measure::{Counted, Measuring};

/// One step: what is left, after what dropped out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// What is left.
    pub what: String,
    /// How many that are.
    pub left: u64,
    /// What dropped out before it, by reason.
    pub dropped: Vec<(String, u64)>,
}

/// The steps of one figure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flow {
    /// Name of the figure.
    pub figure: String,
    /// From all rows to the numerator. What is left of a step and what dropped out before the
    /// next one add up, as each row is counted once.
    pub steps: Vec<Step>,
}

/// A case behind a count, or a row that was none.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Case {
    /// Name of the figure.
    pub figure: String,
    /// `outcome`, `left_out`, or `dropped`.
    pub kind: String,
    /// Which outcome or reason.
    pub name: String,
    /// Unit.
    pub unit: String,
    /// The baby; empty where there is none.
    pub infant_id: String,
    /// Key of the screen, specimen, course or stay; of a birth the baby.
    pub case_id: String,
    /// Its moment, epoch seconds, where it has one.
    pub at_s: Option<i64>,
}

/// The measure of that name, or the one that gives the figure of that name.
pub fn measure_of(name: &str) -> Option<&'static Query> {
    let mut measures = catalogue::measures().iter();
    let own = measures.clone().find(|query| query.name == name);
    own.or_else(|| measures.find(|query| query.header.figures().iter().any(|f| f.is_of(name))))
}

/// How many rows of a month were no case, by measure, name of the cases, and reason.
#[derive(Debug, Default)]
pub struct Dropped(BTreeMap<(String, String), Vec<(String, u64)>>);

impl Dropped {
    fn of(&self, measure: &str, sets: &[&str]) -> Vec<(String, u64)> {
        let of_set = |set: &&str| self.0.get(&(measure.to_owned(), (*set).to_owned()));
        sets.iter().filter_map(of_set).flatten().cloned().collect()
    }
}

impl Counted<'_> {
    /// The flows of a measure's figures in a month, of one unit or, where that is empty, of all; of
    /// one figure when `name` is one's. The month must be among those counted, and `dropped` be
    /// of it and of the unit.
    pub fn flows(&self, query: &Query, name: &str, month: Month, unit: &str, dropped: &Dropped) -> Vec<Flow> {
        let cell = Cell {
            unit: (!unit.is_empty()).then(|| unit.to_owned()),
            ..Cell::network(&month.to_string())
        };
        let mut flows = Vec::new();
        for (formula, figure) in wanted(query, name, self.measuring.protocol) {
            let counts = self.counts(query, &formula, &figure, None);
            let counts = counts.get(&cell).cloned().unwrap_or_default();
            let dropped = dropped.of(query.name, &formula.sets(&figure));
            let steps = steps(query, &formula, counts, dropped);
            flows.push(Flow { figure, steps });
        }
        flows
    }
}

impl Measuring<'_> {
    /// The rows of a month that were no case, counted: of one unit or, where that is empty, of all.
    ///
    /// # Errors
    /// When the snapshot cannot be read.
    pub async fn dropped(&self, month: Month, unit: &str) -> Result<Dropped, QueryError> {
        self.show_dropped(month).await?;
        let rows: Vec<DroppedRows> = rows_of(self.session, listings::flow, &[("unit", unit.into())]).await?;
        let mut dropped = Dropped::default();
        for row in rows {
            let of_figure = dropped.0.entry((row.measure, row.figure)).or_default();
            of_figure.push((row.name, row.n));
        }
        Ok(dropped)
    }

    /// The cases behind the counts of a measure's figures in a month, or of one of them, with the
    /// rows that were no case.
    ///
    /// # Errors
    /// When the snapshot cannot be read.
    pub async fn cases(&self, query: &Query, name: &str, month: Month) -> Result<Vec<Case>, QueryError> {
        self.show_dropped(month).await?;
        let of = [("measure", query.name.into()), ("month", month.to_string().into())];
        let rows: Vec<CaseKey> = rows_of(self.session, listings::case_keys, &of).await?;
        let mut cases = Vec::new();
        for (formula, figure) in wanted(query, name, self.protocol) {
            let sets = formula.sets(&figure);
            for row in rows.iter().filter(|row| sets.contains(&row.figure.as_str())) {
                let (kind, name) = match row.kind.as_str() {
                    "outcome" => match formula.counts(&row.name, &row.also) {
                        Some(header::Counts::As(outcome)) => ("outcome", outcome),
                        Some(header::Counts::LeftOut(reason)) => ("left_out", reason),
                        None => continue,
                    },
                    other => (other, row.name.as_str()),
                };
                cases.push(Case {
                    figure: figure.clone(),
                    kind: kind.to_owned(),
                    name: name.to_owned(),
                    unit: row.unit.clone(),
                    infant_id: row.infant_id.clone(),
                    case_id: row.case_id.clone(),
                    at_s: row.at_s,
                });
            }
        }
        cases.sort();
        Ok(cases)
    }

    /// Makes the rows of a month that were no case known to the session.
    async fn show_dropped(&self, month: Month) -> Result<(), QueryError> {
        let view = listings::dropped_rows;
        let of = [("month", month.to_string().into())];
        Ok(self.session.add_view(view.name, view, &of).await?)
    }
}

/// The figures of a measure, or the one of that name, each with what it is made by.
fn wanted<'q>(query: &'q Query, name: &str, protocol: &Protocol) -> Vec<(header::Figure<'q>, String)> {
    let mut all = Vec::new();
    for formula in query.header.figures() {
        for figure in figure_names(query, &formula, protocol.versions()) {
            if figure == name || query.name == name {
                all.push((formula.clone(), figure));
            }
        }
    }
    all
}

/// A row of the listing `flow`.
#[derive(Deserialize)]
struct DroppedRows {
    measure: String,
    figure: String,
    name: String,
    n: u64,
}

/// A row of the listing `case_keys`.
#[derive(Deserialize)]
struct CaseKey {
    figure: String,
    kind: String,
    name: String,
    #[serde(deserialize_with = "or_none")]
    also: String,
    #[serde(deserialize_with = "or_none")]
    unit: String,
    #[serde(deserialize_with = "or_none")]
    infant_id: String,
    case_id: String,
    at_s: Option<i64>,
}

/// The rows of a listing that reads the rows that were no case, which the session then forgets.
async fn rows_of<T: DeserializeOwned>(
    session: &Session,
    listing: Sql<'_>,
    parameters: &[(&str, Value)],
) -> Result<Vec<T>, QueryError> {
    let rows = session.rows(listing, parameters).await?;
    session.remove(listings::dropped_rows.name)?;
    Ok(rows)
}

fn steps(query: &Query, formula: &header::Figure<'_>, counts: Counts, dropped: Vec<(String, u64)>) -> Vec<Step> {
    let sum = |those: &[(String, u64)]| those.iter().map(|(_, n)| n).sum::<u64>();
    let outcomes: Vec<(String, u64)> = counts.outcomes.into_iter().collect();
    let left_out: Vec<(String, u64)> = counts.left_out.into_iter().collect();
    if query.header.get("kind") == "rate" {
        return rate_steps(formula, &outcomes, left_out);
    }
    let mut left = sum(&outcomes) + sum(&left_out) + sum(&dropped);
    let mut steps = vec![Step {
        what: match query.header.get("starts with") {
            "" => "all cases of the month".to_owned(),
            stated => stated.to_owned(),
        },
        left,
        dropped: Vec::new(),
    }];
    let mut next = |what: &str, gone: Vec<(String, u64)>| {
        left -= sum(&gone);
        steps.push(Step {
            what: what.to_owned(),
            left,
            dropped: gone,
        });
    };
    // In the order of the header; a reason it does not name would be a fault, and is shown last.
    let named: Vec<(&str, &str)> = query
        .header
        .list("dropped")
        .iter()
        .filter_map(|d| d.split_once(" then "))
        .collect();
    let place = |name: &str| {
        named
            .iter()
            .position(|(reason, _)| *reason == name)
            .unwrap_or(named.len())
    };
    let mut in_order = dropped;
    in_order.sort_by_key(|(name, _)| place(name));
    for one in in_order {
        let what = named.get(place(&one.0)).map_or("others", |(_, left)| left);
        next(what, vec![one]);
    }
    next("could be judged", left_out);
    let (of, beside): (Vec<_>, Vec<_>) = outcomes
        .into_iter()
        .partition(|(name, _)| formula.denominator.contains(&name.as_str()));
    next("denominator", beside);
    let (_, others): (Vec<_>, Vec<_>) = of
        .into_iter()
        .partition(|(name, _)| formula.numerator.contains(&name.as_str()));
    // A share by an hour counts those of them drawn by then.
    next(
        if query.header.get("kind") == "time" {
            "serum drawn in the stay while followed; the figure tells when"
        } else {
            "numerator"
        },
        others,
    );
    steps
}

/// Of a rate: the births, and apart from them the babies with a case.
fn rate_steps(formula: &header::Figure<'_>, outcomes: &[(String, u64)], left_out: Vec<(String, u64)>) -> Vec<Step> {
    let count = |names: &[&str]| {
        let those = outcomes.iter().filter(|(name, _)| names.contains(&name.as_str()));
        those.map(|(_, n)| n).sum::<u64>()
    };
    let cases = count(&formula.numerator);
    let aside: u64 = left_out.iter().map(|(_, n)| n).sum();
    let step = |what: &str, left: u64, dropped: Vec<(String, u64)>| Step {
        what: what.to_owned(),
        left,
        dropped,
    };
    vec![
        step(
            "denominator: births of the month",
            count(&formula.denominator),
            Vec::new(),
        ),
        step(
            "babies with a case in the month, or who may have one",
            cases + aside,
            Vec::new(),
        ),
        step("numerator", cases, left_out),
    ]
}
