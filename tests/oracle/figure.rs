//! One row of the results.

use std::collections::BTreeMap;

/// One figure: a measure, a month and a group.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Name of the measure.
    pub measure: String,
    /// Local month, `YYYY-MM`.
    pub month: String,
    /// `all`, `unit`, `gestation` and so on, or `unit_and_gestation` and so on.
    pub split: String,
    /// `all`, the unit, the group, or `unit: group`.
    pub group: String,
    /// `None` in a month without data.
    pub numerator: Option<u64>,
    /// `None` in a month without data.
    pub denominator: Option<u64>,
    /// Share, cases per 1000 births, or hours for a median; `None` when there is none.
    pub value: Option<f64>,
    /// Every outcome of the measure, zeros too; empty for rows by time and without data.
    pub outcomes: BTreeMap<String, u64>,
    /// Left out by reason; only what occurs.
    pub left_out: BTreeMap<String, u64>,
    /// Not yet decidable at data end.
    pub open: u64,
    /// Readmission only: the month's babies are not yet all 28 days old.
    pub provisional: bool,
}

/// The month asked for.
pub struct Asked<'a> {
    /// Local month, `YYYY-MM`.
    pub month: &'a str,
    /// Whether every table the measure reads has something in it.
    pub has_data: bool,
}

/// The groups that something belongs to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Groups {
    /// Its unit.
    pub unit: String,
    /// The other splits with the group in each; empty for measures split by unit only.
    pub others: Vec<(&'static str, String)>,
}

impl Groups {
    /// Of a measure that is split by unit only.
    pub fn unit_only(unit: &str) -> Self {
        Self {
            unit: unit.to_string(),
            others: Vec::new(),
        }
    }

    /// Every row of the results it is counted in, as (split, group).
    pub fn rows(&self) -> Vec<(String, String)> {
        let mut rows = vec![
            ("all".to_string(), "all".to_string()),
            ("unit".to_string(), self.unit.clone()),
        ];
        for (split, group) in &self.others {
            rows.push(((*split).to_string(), group.clone()));
            rows.push((format!("unit_and_{split}"), format!("{}: {group}", self.unit)));
        }
        rows
    }
}

/// One thing of the month that a measure judged.
#[derive(Clone, Debug)]
pub struct Judged<T> {
    /// Its groups.
    pub groups: Groups,
    /// What it came to, or the reason it is left out.
    pub verdict: Result<T, &'static str>,
}

/// "Numerator, denominator, value are null, no outcomes" (choice 4); only the network's row.
pub fn no_data(measure: &str, month: &str) -> Figure {
    Figure {
        measure: measure.to_string(),
        month: month.to_string(),
        split: "all".to_string(),
        group: "all".to_string(),
        numerator: None,
        denominator: None,
        value: None,
        outcomes: BTreeMap::new(),
        left_out: BTreeMap::new(),
        open: 0,
        provisional: false,
    }
}

/// The network always, and each group that has anything counted, left out or not.
///
/// Gives for each the name of the split, of the group, and the things in it.
pub fn groups<T: Clone>(judged: &[Judged<T>]) -> Vec<(String, String, Vec<Judged<T>>)> {
    let mut groups: BTreeMap<(String, String), Vec<Judged<T>>> = BTreeMap::new();
    groups.insert(("all".to_string(), "all".to_string()), Vec::new());
    for one in judged {
        for row in one.groups.rows() {
            groups.entry(row).or_default().push(one.clone());
        }
    }
    let groups = groups.into_iter();
    groups.map(|((split, group), things)| (split, group, things)).collect()
}

/// "Left-outs are counted once, by the first reason that holds."
pub fn left_out<T>(judged: &[Judged<T>]) -> BTreeMap<String, u64> {
    let mut counts = BTreeMap::new();
    for one in judged {
        if let Err(reason) = one.verdict {
            *counts.entry(reason.to_string()).or_insert(0) += 1;
        }
    }
    counts
}

/// How a proportion is made of outcomes.
pub struct Proportion {
    /// Name of the measure.
    pub measure: String,
    /// Every outcome it can have.
    pub outcomes: &'static [&'static str],
    /// The outcomes of the numerator.
    pub numerator: &'static [&'static str],
    /// The outcomes of the denominator.
    pub denominator: &'static [&'static str],
}

impl Proportion {
    /// The rows of this proportion: "open is shown, and in no rate".
    pub fn figures(&self, judged: &[Judged<&'static str>], asked: &Asked) -> Vec<Figure> {
        if !asked.has_data {
            return vec![no_data(&self.measure, asked.month)];
        }
        let mut figures = Vec::new();
        for (split, group, things) in groups(judged) {
            let count = |names: &[&str]| {
                let of_names = things.iter().filter(|one| match one.verdict {
                    Ok(outcome) => names.contains(&outcome),
                    Err(_) => false,
                });
                of_names.count() as u64
            };
            let numerator = count(self.numerator);
            let denominator = count(self.denominator);
            let outcomes = self.outcomes.iter();
            figures.push(Figure {
                split,
                group,
                numerator: Some(numerator),
                denominator: Some(denominator),
                value: share(numerator, denominator),
                outcomes: outcomes.map(|name| ((*name).to_string(), count(&[*name]))).collect(),
                left_out: left_out(&things),
                open: count(&["open"]),
                ..no_data(&self.measure, asked.month)
            });
        }
        figures
    }
}

/// Numerator over denominator; nothing over nothing is no value.
pub fn share(numerator: u64, denominator: u64) -> Option<f64> {
    (denominator > 0).then(|| numerator as f64 / denominator as f64)
}

/// What a row of a rate counts: a case, or a birth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counted {
    /// A case.
    Case,
    /// A birth of the month.
    Birth,
}

/// The rows of a rate: cases for each thousand births.
pub fn per_thousand(measure: &str, judged: &[Judged<Counted>], asked: &Asked) -> Vec<Figure> {
    let mut figures = Vec::new();
    for (split, group, things) in groups(judged) {
        let count = |wanted: Counted| things.iter().filter(|one| one.verdict == Ok(wanted)).count() as u64;
        let (cases, births) = (count(Counted::Case), count(Counted::Birth));
        figures.push(Figure {
            split,
            group,
            numerator: Some(cases),
            denominator: Some(births),
            value: (births > 0).then(|| 1000.0 * cases as f64 / births as f64),
            outcomes: BTreeMap::from([("cases".to_string(), cases), ("births".to_string(), births)]),
            left_out: left_out(&things),
            ..no_data(measure, asked.month)
        });
    }
    figures
}
