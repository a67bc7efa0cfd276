//! How a figure came about: from all rows of the month to its numerator, step by step.

use std::collections::BTreeMap;

use crate::engine::Session;
use crate::engine::values::Cells;
use crate::month::Month;

use super::QueryError;
use super::catalogue::{self, Query};
use super::figure_names::figure_names;
use super::header;
use super::measure::Measuring;

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

/// A case behind a count.
#[derive(Clone, Debug, PartialEq, Eq)]
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

impl Measuring<'_> {
    /// The flows of a measure's figures in a month, of one unit or, where that is empty, of all; of
    /// one figure when `name` is one's.
    ///
    /// # Errors
    /// When the measure fails.
    pub async fn flows(&self, query: &Query, name: &str, month: Month, unit: &str) -> Result<Vec<Flow>, QueryError> {
        self.show_cases(query, (month, month)).await?;
        let rows = rows_of(self.session, "flow", &[("unit", unit.to_owned())]).await?;
        let [figures, kinds, names] = ["figure", "kind", "name"].map(|column| rows.texts(column));
        let mut counts: BTreeMap<String, BTreeMap<(String, String), u64>> = BTreeMap::new();
        for (i, n) in rows.ints("n").into_iter().enumerate() {
            let text = |of: &[Option<String>]| of[i].clone().unwrap_or_default();
            let key = (text(&kinds), text(&names));
            let of_figure = counts.entry(text(&figures)).or_default();
            of_figure.insert(key, n.unwrap_or(0) as u64);
        }
        let mut flows = Vec::new();
        for formula in query.header.figures() {
            for figure in figure_names(query, &formula, self.protocol.versions()) {
                if figure != name && query.name != name {
                    continue;
                }
                let of_figure = counts.get(self.counted_as(query, &figure));
                let empty = BTreeMap::new();
                let steps = steps(query, &formula, of_figure.unwrap_or(&empty));
                flows.push(Flow { figure, steps });
            }
        }
        Ok(flows)
    }

    /// The cases behind the counts of a measure in a month; of one figure when `name` is one's.
    ///
    /// # Errors
    /// When the measure fails.
    pub async fn cases(&self, query: &Query, name: &str, month: Month) -> Result<Vec<Case>, QueryError> {
        self.show_cases(query, (month, month)).await?;
        let rows = rows_of(self.session, "case_keys", &[]).await?;
        let columns = ["figure", "kind", "name", "unit", "infant_id", "case_id"].map(|column| rows.texts(column));
        let cases = rows.ints("at_s").into_iter().enumerate().map(|(i, at_s)| {
            let text = |column: usize| columns[column][i].clone().unwrap_or_default();
            Case {
                figure: text(0),
                kind: text(1),
                name: text(2),
                unit: text(3),
                infant_id: text(4),
                case_id: text(5),
                at_s,
            }
        });
        let wanted = self.counted_as(query, name);
        Ok(cases
            .filter(|case| query.name == name || case.figure == wanted)
            .collect())
    }
}

async fn rows_of(session: &Session, listing: &str, parameters: &[(&str, String)]) -> Result<Cells, QueryError> {
    let rows = session.rows(listing, catalogue::listing(listing), parameters).await?;
    session.remove("cases")?;
    Ok(Cells::new(rows))
}

fn steps(query: &Query, formula: &header::Figure<'_>, counts: &BTreeMap<(String, String), u64>) -> Vec<Step> {
    let of_kind = |kind: &str| -> Vec<(String, u64)> {
        let those = counts.iter().filter(|((k, _), _)| k == kind);
        those.map(|((_, name), n)| (name.clone(), *n)).collect()
    };
    let sum = |those: &[(String, u64)]| those.iter().map(|(_, n)| n).sum::<u64>();
    let outcomes = of_kind("outcome");
    let (left_out, dropped) = (of_kind("left_out"), of_kind("dropped"));
    if query.header.get("kind") == "rate" {
        return rate_steps(formula, &outcomes, left_out);
    }
    let mut left = sum(&outcomes) + sum(&left_out) + sum(&dropped);
    let mut steps = vec![Step {
        what: match query.header.get("starts with") {
            "" => "all cases of the month".to_owned(),
            told => told.to_owned(),
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
