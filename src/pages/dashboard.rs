//! `dashboard.html`: the quality lead's page. Full counts, no identifiers.

use std::collections::{BTreeMap, BTreeSet};

use minijinja::value::Serde;
use minijinja::{AutoEscape, Environment, Value};
use serde::Serialize;

use crate::intake::ledger::FATES;
use crate::month::Month;
use crate::queries::catalogue::{self, Query};
use crate::queries::figures::Figure;

use crate::signals::agreement::Agreed;
use crate::signals::between::{AllBetween, Between};
use crate::signals::to_serum::Curve;
use crate::signals::units::AllUnits;
use crate::signals::{Looked, Signals};

use crate::statistics::control::chart::BASELINE;

use super::agreement_view::{self, AgreementView};
use super::between_view::{self, BetweenView};
use super::figure_view::{FigureView, Series, is_provisional};
use super::findings::{Finding, findings};
use super::looked_back::LookedBackRow;
use super::records::{Records, half_delivered};
use super::target::Target;
use super::time_view::{self, TimeView};
use super::{PageError, words};

const TEMPLATE: &str = include_str!("templates/dashboard.html");
const STYLE: &str = include_str!("templates/style.css");

/// What the page is made from.
pub struct DashboardData<'a> {
    /// Figures of the month and of the months before, as `siskin measure` gives them.
    pub figures: &'a [Figure],
    /// The month.
    pub month: Month,
    /// Facts for the first line and the footer.
    pub about: About,
    /// What the birth stays of readmitted and severe babies had missed.
    pub looked_back: Vec<LookedBackRow>,
    /// What became of the rows.
    pub records: Records,
    /// Charts and verdicts.
    pub signals: &'a Signals,
    /// How well the meters agree with the laboratory.
    pub agreed: &'a Agreed,
    /// Time to serum.
    pub curve: &'a Curve,
    /// Units against each other.
    pub units: &'a AllUnits,
    /// Births between cases of severe jaundice.
    pub between: &'a AllBetween,
}

/// Facts about network, load and protocol.
#[derive(Clone, Debug, Serialize)]
pub struct About {
    /// The network's name.
    pub network: String,
    /// Through when the data is complete, in words.
    pub complete_through: String,
    /// The data ends before the month does.
    pub ends_early: bool,
    /// Number of the load.
    pub load: i64,
    /// When it was loaded, in words.
    pub loaded_at: String,
    /// Protocol versions in force in the month.
    pub protocol: String,
    /// More than one.
    pub protocol_changed: bool,
    /// Zone of local times.
    pub zone: String,
    /// umol/L per mg/dL.
    pub factor: String,
    /// Version of the program.
    pub siskin: String,
    /// How long a referral is followed, in words.
    pub follow_up: String,
    /// What the protocol wants a figure to be, by the figure's name.
    pub targets: BTreeMap<String, Target>,
}

/// Everything the template shows.
#[derive(Serialize)]
struct View<'a> {
    style: &'static str,
    month: String,
    /// As `YYYY-MM`.
    month_key: String,
    months: usize,
    is_provisional: bool,
    is_no_data: bool,
    /// Neither a birth nor a result: then nothing can be measured.
    is_empty: bool,
    about: &'a About,
    findings: Vec<Finding>,
    /// `None`: cannot be told, as an extract is missing.
    missed: Option<u64>,
    no_test: Option<u64>,
    readmitted: Option<u64>,
    untreated: Option<u64>,
    severe: Option<u64>,
    dangerous: Option<u64>,
    rows_to_mend: u64,
    /// Charts looked at, and how many would signal by chance alone.
    charts: usize,
    expected_false: String,
    agreement: AgreementView,
    /// Births between cases of severe jaundice, the lowest band first; those with enough cases.
    between: Vec<BetweenView>,
    time: TimeView,
    sections: Vec<Section>,
    definitions: Vec<Definition>,
    completeness: Vec<FigureView>,
    looked_back: &'a [LookedBackRow],
    records: &'a Records,
    fates: Vec<String>,
}

#[derive(Serialize)]
struct Section {
    id: &'static str,
    title: String,
    what: String,
    left_out: String,
    source: String,
    choices: String,
    direction: String,
    figures: Vec<FigureView>,
    shares: Vec<FigureView>,
    /// Told in a table, without charts.
    rest: Vec<FigureView>,
    sql: &'static str,
    /// Derived tables it rests on: their definitions stand at the end of the page.
    rests_on: Vec<&'static str>,
}

/// A derived table that some measure on the page rests on.
#[derive(Serialize)]
struct Definition {
    name: &'static str,
    title: &'static str,
    grain: &'static str,
    sql: &'static str,
}

/// Renders the page.
///
/// # Errors
/// When a chart or the template fails, which would be a fault of the program.
pub fn render(data: &DashboardData<'_>) -> Result<String, PageError> {
    let month = data.month.to_string();
    let current = || data.figures.iter().filter(|f| f.split == "all" && f.month == month);
    let missed = current().find(|f| f.measure == "missed_referral");
    let rechecks = || current().filter(|f| f.measure.starts_with("recheck_adherence_"));
    let readmitted = current().rfind(|f| f.measure.starts_with("jaundice_readmission_"));
    let numerator = |measure: &str| current().find(|f| f.measure == measure).and_then(|f| f.numerator);
    let mut environment = Environment::new();
    environment.set_auto_escape_callback(|_| AutoEscape::Html);
    environment.add_template("dashboard.html", TEMPLATE)?;
    let page = environment.get_template("dashboard.html")?;
    let sections = sections(data)?;
    let looked = enough_cases(data)
        .iter()
        .fold(Looked::at(data.signals.values()), |looked, (_, between)| {
            looked.and(&between.chart)
        });
    let view = View {
        style: STYLE,
        month: data.month.in_words(),
        month_key: month.clone(),
        months: Month::range(first_month(data), data.month).len(),
        is_provisional: current().any(is_provisional),
        is_empty: data.records.births == 0 && data.records.results == 0,
        is_no_data: current().any(|f| f.denominator.is_none()),
        about: &data.about,
        findings: findings(
            data.figures,
            data.month,
            &half_delivered(&data.records.findings, None),
            data.signals,
            &data.about.follow_up,
        ),
        charts: looked.charts,
        expected_false: format!("{:.1}", looked.expected_false),
        agreement: agreement_view::view(data.agreed)?,
        between: between(data)?,
        time: time_view::view(data.curve, &hours(data.figures))?,
        missed: missed.and_then(|f| f.outcomes.get("missed").copied()),
        no_test: rechecks().map(|f| f.outcomes.get("none").copied()).sum(),
        readmitted: readmitted.and_then(|f| f.numerator),
        untreated: numerator("untreated_6h"),
        severe: current()
            .find(|f| f.measure.starts_with("severe_jaundice_"))
            .and_then(|f| f.numerator),
        dangerous: numerator("dangerous_miss"),
        rows_to_mend: data.records.to_mend.iter().map(|r| r.n).sum(),
        definitions: definitions(&sections),
        sections,
        completeness: completeness(data)?,
        looked_back: &data.looked_back,
        records: &data.records,
        fates: FATES.map(words::outcome).to_vec(),
    };
    Ok(page.render(Value::from(Serde(&view)))?)
}

fn first_month(data: &DashboardData<'_>) -> Month {
    let months = data.figures.iter().filter_map(|f| f.month.parse().ok());
    months.min().unwrap_or(data.month)
}

/// The measure told under Records, without charts.
const OF_RECORDS: &str = "record_quality";

/// Measures of many figures of one kind: only the first has a chart.
const FIRST_ALONE: [&str; 3] = ["severe_jaundice", "screens_outside_limits", "meter_bias"];

fn sections(data: &DashboardData<'_>) -> Result<Vec<Section>, PageError> {
    let shown = catalogue::measures().iter().filter(|query| query.name != OF_RECORDS);
    let all: Vec<Section> = shown.map(|query| section(query, data)).collect::<Result<_, _>>()?;
    // A measure that the protocol does not ask for has no figures.
    Ok(all.into_iter().filter(|section| !section.figures.is_empty()).collect())
}

/// Each derived table that a section rests on, once, in the order in which they are built.
fn definitions(sections: &[Section]) -> Vec<Definition> {
    let is_wanted = |query: &&Query| sections.iter().any(|section| section.rests_on.contains(&query.name));
    let wanted = catalogue::derived().iter().filter(is_wanted);
    let definition = |query: &'static Query| Definition {
        name: query.name,
        title: query.header.get("title"),
        grain: query.header.get("grain"),
        sql: query.sql,
    };
    wanted.map(definition).collect()
}

/// How complete the records of the month are.
fn completeness(data: &DashboardData<'_>) -> Result<Vec<FigureView>, PageError> {
    let query = catalogue::measures().iter().find(|query| query.name == OF_RECORDS);
    query.map_or_else(|| Ok(Vec::new()), |query| Ok(section(query, data)?.figures))
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

/// Hours by which the share drawn is told.
fn hours(figures: &[Figure]) -> Vec<u32> {
    let hour = |f: &Figure| {
        f.measure
            .strip_prefix("time_to_serum_")?
            .strip_suffix('h')?
            .parse()
            .ok()
    };
    let hours: BTreeSet<u32> = figures.iter().filter_map(hour).collect();
    hours.into_iter().collect()
}

fn section(query: &Query, data: &DashboardData<'_>) -> Result<Section, PageError> {
    let mut figures = Vec::new();
    let mut shares = Vec::new();
    let mut rest = Vec::new();
    let gaps = half_delivered(&data.records.findings, Some(query));
    for measure in names(query, data.figures) {
        let series = Series {
            measure: &measure,
            figures: data.figures,
            month: data.month,
            gaps: &gaps,
            signalled: data.signals.get(&measure),
            target: data.about.targets.get(&measure).copied(),
            units: data.units.get(&measure),
        };
        let Some(mut view) = series.view()? else { continue };
        let value = series.now().and_then(|figure| figure.value);
        view.target = data
            .about
            .targets
            .get(&measure)
            .map_or_else(String::new, |target| target.in_words(value));
        let is_share = measure.starts_with("time_to_serum_") && !measure.ends_with("_median");
        if is_share {
            shares.push(view)
        } else if !figures.is_empty() && FIRST_ALONE.contains(&query.name) {
            rest.push(view)
        } else {
            figures.push(view)
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
        figures,
        shares,
        rest,
        sql: query.sql,
        rests_on: catalogue::rests_on(query).iter().map(|table| table.name).collect(),
    })
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
