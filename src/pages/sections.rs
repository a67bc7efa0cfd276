//! The sections of the dashboard: one for each measure, with its figures and its definition.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::queries::catalogue::{self, Query};
use crate::queries::figure_kinds::{Clusters, kind_of};
use crate::queries::figures::Figure;

use super::PageError;
use super::dashboard::data::DashboardData;
use super::figure_view::FigureView;
use super::records::half_delivered;
use super::series::Series;

/// A figure of the page, by name.
pub(super) struct Named {
    query: &'static Query,
    measure: String,
    /// Months of which only part was delivered.
    gaps: BTreeSet<String>,
}

/// One measure.
#[derive(Serialize)]
pub(super) struct Section {
    id: &'static str,
    title: String,
    what: String,
    left_out: String,
    source: String,
    choices: String,
    direction: String,
    /// Of figures whose cases are not independent: what the intervals allow for.
    clusters: Vec<String>,
    pub figures: Vec<FigureView>,
    shares: Vec<FigureView>,
    /// Shown in a table, without charts.
    pub rest: Vec<FigureView>,
    sql: &'static str,
    /// Derived tables it rests on: their definitions stand at the end of the page.
    rests_on: Vec<&'static str>,
}

/// A derived table that some measure on the page rests on.
#[derive(Serialize)]
pub(super) struct Definition {
    name: &'static str,
    title: &'static str,
    grain: &'static str,
    sql: &'static str,
}

/// The measures shown under Records, without charts.
const OF_RECORDS: [&str; 2] = ["record_quality", "records_in_time"];

/// Measures of many figures of one kind: only the first has a chart.
const FIRST_ALONE: [&str; 3] = ["severe_jaundice", "screens_outside_limits", "meter_bias"];

/// All figures of the page, in its order.
pub(super) fn named(data: &DashboardData<'_>) -> Vec<Named> {
    let of_query = |query: &'static Query| {
        let gaps = half_delivered(&data.records.findings, Some(query));
        let names = names(query, data.figures).into_iter();
        names.map(move |measure| Named {
            query,
            measure,
            gaps: gaps.clone(),
        })
    };
    catalogue::measures().iter().flat_map(of_query).collect()
}

/// A figure with all that is shown of it.
pub(super) fn series<'a>(named: &'a Named, data: &'a DashboardData<'_>) -> Series<'a> {
    let measure = named.measure.as_str();
    let mut flows = data.flows.get(named.query.name).into_iter().flatten();
    Series {
        measure,
        figures: data.figures,
        month: data.month,
        gaps: &named.gaps,
        signalled: data.signals.get(measure),
        target: data.about.targets.get(measure).copied(),
        units: data.units.get(measure),
        year: data.year,
        groups: data.groups,
        flow: flows.find(|flow| flow.figure == measure),
    }
}

/// The figures of the programme, not of its records.
pub(super) fn of_programme<'a>(named: &'a [Named], data: &'a DashboardData<'_>) -> Vec<Series<'a>> {
    let those = named.iter().filter(|one| {
        !OF_RECORDS.contains(&one.query.name) && !kind_of(&one.measure).is_some_and(|kind| kind.is_by_hour)
    });
    those.map(|one| series(one, data)).collect()
}

/// A section for each measure that the protocol asks for.
///
/// # Errors
/// When a chart cannot be drawn.
pub(super) fn sections(named: &[Named], data: &DashboardData<'_>) -> Result<Vec<Section>, PageError> {
    let shown = catalogue::measures()
        .iter()
        .filter(|query| !OF_RECORDS.contains(&query.name));
    let all: Vec<Section> = shown
        .map(|query| section(query, named, data))
        .collect::<Result<_, _>>()?;
    // A measure that the protocol does not ask for has no figures.
    Ok(all.into_iter().filter(|section| !section.figures.is_empty()).collect())
}

/// How complete the records of the month are.
///
/// # Errors
/// When a chart cannot be drawn.
pub(super) fn completeness(named: &[Named], data: &DashboardData<'_>) -> Result<Vec<FigureView>, PageError> {
    let mut figures = Vec::new();
    for query in catalogue::measures()
        .iter()
        .filter(|query| OF_RECORDS.contains(&query.name))
    {
        figures.extend(section(query, named, data)?.figures);
    }
    Ok(figures)
}

/// Each derived table that a section rests on or the page names, once, in the order in which they are built.
pub(super) fn definitions(sections: &[Section]) -> Vec<Definition> {
    let is_of_page = |name: &str| ["linked_back", "rises"].contains(&name);
    let is_wanted = |query: &&Query| {
        is_of_page(query.name) || sections.iter().any(|section| section.rests_on.contains(&query.name))
    };
    let wanted = catalogue::derived().iter().filter(is_wanted);
    let definition = |query: &'static Query| Definition {
        name: query.name,
        title: query.header.get("title"),
        grain: query.header.get("grain"),
        sql: query.sql,
    };
    wanted.map(definition).collect()
}

fn section(query: &'static Query, named: &[Named], data: &DashboardData<'_>) -> Result<Section, PageError> {
    let mut figures = Vec::new();
    let mut shares = Vec::new();
    let mut rest = Vec::new();
    for one in named.iter().filter(|one| one.query.name == query.name) {
        let Some(view) = series(one, data).view()? else {
            continue;
        };
        if kind_of(&one.measure).is_some_and(|kind| kind.is_by_hour) {
            shares.push(view);
        } else if !figures.is_empty() && FIRST_ALONE.contains(&query.name) {
            rest.push(view);
        } else {
            figures.push(view);
        }
    }
    let header = &query.header;
    Ok(Section {
        id: query.name,
        title: header.get("title").to_owned(),
        what: header.get("what").to_owned(),
        left_out: header.get("left out").trim_end_matches('.').to_owned(),
        source: header.get("source").trim_end_matches('.').to_owned(),
        direction: header.get("direction").to_owned(),
        choices: header.get("choices").to_owned(),
        clusters: clusters(query),
        figures,
        shares,
        rest,
        sql: query.sql,
        rests_on: catalogue::rests_on(query).iter().map(|table| table.name).collect(),
    })
}

/// What the intervals of a measure's figures allow for, a sentence for each kind of case.
fn clusters(query: &Query) -> Vec<String> {
    let mut sentences = Vec::new();
    for formula in query.header.figures() {
        let Some(kind) = kind_of(formula.name) else { continue };
        let sentence = match kind.clusters {
            // Where each case is a baby there is one of each.
            Some(Clusters::Babies) if kind.cases != "babies" => {
                format!(
                    "One baby may have several {}; the intervals allow for this.",
                    kind.cases
                )
            }
            Some(Clusters::MeterDays) => format!(
                "The {} of one meter on one day share its check; their interval allows for this.",
                kind.cases
            ),
            _ => continue,
        };
        if !sentences.contains(&sentence) {
            sentences.push(sentence);
        }
    }
    sentences
}

/// Names of the figures that a measure gave, in the order of the results.
fn names(query: &Query, figures: &[Figure]) -> Vec<String> {
    let formulas = query.header.figures();
    let mut names: Vec<String> = Vec::new();
    for figure in figures {
        if formulas.iter().any(|f| f.is_of(&figure.measure)) && !names.contains(&figure.measure) {
            names.push(figure.measure.clone());
        }
    }
    names
}
