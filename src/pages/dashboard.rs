//! `dashboard.html`: the quality lead's page. Full counts, no identifiers.

pub(super) mod data;

use std::collections::BTreeSet;

use serde::Serialize;

use crate::intake::ledger::FATES;
use crate::queries::figure_kinds::{is_given_by, kind_of};
use crate::queries::figures::Figure;
use crate::signals::Looked;
use crate::signals::between::Between;
use crate::statistics::control::chart::BASELINE;

use super::about::About;
use super::agreement_view::{self, AgreementView};
use super::attention::Attention;
use super::between_view::{self, BetweenView};
use super::figure_row::{Row, is_provisional};
use super::figure_view::FigureView;
use super::findings::{Finding, findings};
use super::looked_back::LookedBackRow;
use super::network_view::{self, NetworkView};
use super::records::Records;
use super::rendered::rendered;
use super::sections::{Definition, Section, completeness, definitions, named, of_programme, sections};
use super::time_view::{self, TimeView};
use super::{PageError, words};

pub use data::DashboardData;

const TEMPLATE: &str = include_str!("templates/dashboard.html");
const STYLE: &str = include_str!("templates/style.css");
const SCRIPT: &str = include_str!("templates/tables.js");

/// Everything the template shows.
#[derive(Serialize)]
struct View<'a> {
    style: &'static str,
    month: String,
    /// As `YYYY-MM`.
    month_key: String,
    /// `Sep 26`.
    month_short: String,
    is_provisional: bool,
    is_no_data: bool,
    /// Neither a birth nor a result: then nothing can be measured.
    is_empty: bool,
    about: &'a About,
    /// The unit it is of; empty for the network.
    unit: &'a str,
    /// Cases are listed on a page beside it.
    has_cases: bool,
    script: &'static str,
    findings: Vec<Finding>,
    /// A line about all figures that no finding names.
    rest: String,
    /// All figures with a chart, what needs attention first.
    strips: Vec<Strip<'a>>,
    has_targets: bool,
    network: NetworkView,
    /// `None`: cannot be known, as an extract is missing.
    missed: Option<u64>,
    no_test: Option<u64>,
    readmitted: Option<u64>,
    untreated: Option<u64>,
    severe: u64,
    dangerous: Option<u64>,
    rows_to_mend: u64,
    /// Charts looked at, and how many would signal by chance alone.
    charts: usize,
    expected_false: String,
    agreement: AgreementView,
    /// Births between cases of severe jaundice, the lowest band first; those with enough cases.
    between: Vec<BetweenView>,
    time: TimeView,
    sections: &'a [Section],
    definitions: Vec<Definition>,
    completeness: Vec<FigureView>,
    looked_back: &'a [LookedBackRow],
    records: &'a Records,
    fates: Vec<String>,
}

/// Renders the page.
///
/// # Errors
/// When a chart or the template fails, which would be a fault of the program.
pub fn render(data: &DashboardData<'_>) -> Result<String, PageError> {
    let month = data.month.to_string();
    let current = || data.figures.iter().filter(|f| f.split == "all" && f.month == month);
    let missed = current().find(|f| f.measure == "missed_referral");
    let rechecks = || current().filter(|f| is_given_by(&f.measure, "recheck_adherence"));
    let readmitted = current().rfind(|f| is_given_by(&f.measure, "jaundice_readmission"));
    let numerator = |measure: &str| current().find(|f| f.measure == measure).and_then(|f| f.numerator);
    let named = named(data);
    let series = of_programme(&named, data);
    let (findings, rest) = findings(data, &series);
    let sections = sections(&named, data)?;
    let looked = enough_cases(data)
        .iter()
        .fold(Looked::at(data.signals.values()), |looked, (_, between)| {
            looked.and(&between.chart)
        });
    let view = View {
        style: STYLE,
        month: data.month.in_words(),
        month_key: month.clone(),
        month_short: data.month.short_with_year(),
        is_provisional: current().any(is_provisional),
        is_empty: data.records.births == 0 && data.records.results == 0,
        is_no_data: current().any(|f| f.denominator.is_none()),
        about: data.about,
        unit: data.unit.unwrap_or(""),
        has_cases: data.has_cases,
        script: SCRIPT,
        findings,
        rest,
        strips: strips(&sections),
        has_targets: !data.about.targets.is_empty(),
        network: match data.unit {
            None => network_view::view(data.year, data.units),
            Some(_) => NetworkView::default(),
        },
        charts: looked.charts,
        expected_false: format!("{:.1}", looked.expected_false),
        agreement: agreement_view::view(data.agreed)?,
        between: between(data)?,
        time: time_view::view(data.curve, &hours(data.figures))?,
        missed: missed.and_then(|f| f.outcomes.get("missed").copied()),
        no_test: rechecks().map(|f| f.outcomes.get("none").copied()).sum(),
        readmitted: readmitted.and_then(|f| f.numerator),
        untreated: numerator("untreated_6h"),
        severe: data.severe,
        dangerous: numerator("dangerous_miss"),
        rows_to_mend: data.records.to_mend.iter().map(|r| r.n).sum(),
        definitions: definitions(&sections),
        sections: &sections,
        completeness: completeness(&named, data)?,
        looked_back: data.looked_back,
        records: &data.records,
        fates: FATES.map(words::outcome).to_vec(),
    };
    rendered("dashboard.html", TEMPLATE, &view)
}

/// One row of the table of all figures.
#[derive(Serialize)]
struct Strip<'a> {
    id: &'a str,
    name: &'a str,
    now: &'a Row,
    year: Option<&'a Row>,
    target: &'a str,
    verdict: &'a str,
    attention: Attention,
    line: &'a str,
}

/// The figures of the sections, what needs attention first.
fn strips(sections: &[Section]) -> Vec<Strip<'_>> {
    let all = sections
        .iter()
        .flat_map(|section| section.figures.iter().chain(&section.rest));
    let mut strips: Vec<Strip<'_>> = all
        .map(|figure| Strip {
            id: &figure.id,
            name: &figure.name,
            now: &figure.now,
            year: figure.year.as_ref(),
            target: &figure.target,
            verdict: &figure.verdict.short,
            attention: figure.attention(),
            line: &figure.strip,
        })
        .collect();
    strips.sort_by_key(|strip| strip.attention);
    strips
}

/// Figures with enough cases for a chart of the births between them, in order.
fn enough_cases<'a>(data: &DashboardData<'a>) -> Vec<(&'a str, &'a Between)> {
    let month = data.month.to_string();
    let current = data.figures.iter().filter(|f| f.split == "all" && f.month == month);
    let cases = current.filter_map(|f| Some((f.measure.as_str(), data.between.get(&f.measure)?)));
    cases.filter(|(_, between)| between.births.len() >= BASELINE).collect()
}

/// The charts of births between cases.
fn between(data: &DashboardData<'_>) -> Result<Vec<BetweenView>, PageError> {
    let views = enough_cases(data).into_iter();
    let views = views.map(|(measure, between)| between_view::view(measure, between));
    Ok(views.collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect())
}

/// Hours by which the share drawn is reported.
fn hours(figures: &[Figure]) -> Vec<u32> {
    let hour = |f: &Figure| kind_of(&f.measure)?.hour_of(&f.measure);
    let hours: BTreeSet<u32> = figures.iter().filter_map(hour).collect();
    hours.into_iter().collect()
}
