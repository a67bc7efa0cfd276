//! `siskin measure --explain`: what a measure is, how its counts came about, and its SQL.

mod definition;

use serde_json::json;

use crate::cli::{Format, Measure};
use crate::error::Error;
use crate::pages::{local_time, words};
use crate::protocol::{Protocol, Version};
use crate::queries::catalogue::{self, Query};
use crate::queries::explain::{Case, Flow, measure_of};
use crate::queries::figure_names::figure_names;
use crate::queries::figures::quoted;
use crate::queries::measure::Measuring;

use super::output::Say;
use definition::definition;

/// Explains the measure or figure of that name.
pub(super) async fn run(measuring: &Measuring<'_>, name: &str, options: &Measure, say: &Say) -> Result<(), Error> {
    let query = measure_of(name).ok_or_else(|| no_such(name))?;
    let protocol = measuring.protocol;
    let versions = options
        .month
        .map_or(protocol.versions(), |month| protocol.versions_of(month));
    if query.name != name && !figures_of(query, versions).iter().any(|figure| figure == name) {
        return Err(not_in_force(query, name, versions));
    }
    let Some(month) = options.month else {
        if options.format != Format::Table {
            return Err(Error::Usage(
                "without a month there are no counts to print so\n  to do: add --month, such as --month 2026-09"
                    .to_owned(),
            ));
        }
        return say.result(&format!("{}{}", definition(query), sql(query)));
    };
    if options.rows && options.format != Format::Table {
        let cases = measuring.cases(query, name, month).await?;
        return say.result(&match options.format {
            Format::Json => to_json(&cases, measuring.protocol)?,
            _ => to_csv(&cases, measuring.protocol),
        });
    }
    let counted = measuring.count([month], &[None]).await?;
    let flows = counted.flows(query, name, month, "", &measuring.dropped(month, "").await?);
    match options.format {
        Format::Json => {
            let steps = flows.iter().map(flow_json).collect::<Vec<_>>();
            return say.result(&format!("{}\n", serde_json::to_string_pretty(&steps)?));
        }
        Format::Csv => return say.result(&flows_csv(&flows)),
        Format::Table => {}
    }
    let mut text = definition(query);
    text.push_str(&format!("\nHow the figures of {} came about\n", month.in_words()));
    text.extend(flows.iter().map(flow_text));
    if flows.is_empty() {
        text.push_str("\n  the protocol in force has no rule that gives a figure\n");
    }
    if options.rows {
        let cases = measuring.cases(query, name, month).await?;
        text.push_str(&format!("\nThe {} cases behind them\n\n", cases.len()));
        text.push_str(&to_csv(&cases, measuring.protocol));
    }
    text.push_str(&sql(query));
    say.result(&text)
}

fn no_such(name: &str) -> Error {
    let names: Vec<&str> = catalogue::measures().iter().map(|query| query.name).collect();
    Error::Usage(format!(
        "there is no measure or figure '{name}'\n  to do: name one of: {}",
        names.join(", ")
    ))
}

/// The figures that a measure gives under versions of the protocol.
fn figures_of(query: &Query, versions: &[Version]) -> Vec<String> {
    let formulas = query.header.figures().into_iter();
    formulas
        .flat_map(|formula| figure_names(query, &formula, versions))
        .collect()
}

/// A figure that another protocol may give: its rule, band, day or hour is not in this one.
fn not_in_force(query: &Query, name: &str, versions: &[Version]) -> Error {
    let figures = figures_of(query, versions);
    let to_do = match figures.is_empty() {
        true => format!("it gives no figure of {}; `siskin check` tells its rules", query.name),
        false => format!("name one of: {}", figures.join(", ")),
    };
    Error::Usage(format!(
        "the protocol in force has no rule that gives '{name}'\n  to do: {to_do}"
    ))
}

/// The SQL of the measure, of the rows that were none of its cases, and of the derived tables it rests on.
fn sql(query: &Query) -> String {
    let mut text = format!("\nSQL of the measure\n\n{}", query.sql);
    if !query.header.get("dropped").is_empty() {
        let dropped = catalogue::listings::dropped_rows.text;
        text.push_str(&format!(
            "\nSQL of the rows that were no case, of all measures\n\n{dropped}"
        ));
    }
    for derived in catalogue::rests_on(query) {
        text.push_str(&format!("\nSQL of the table {}\n\n{}", derived.name, derived.sql));
    }
    text
}

fn flow_text(flow: &Flow) -> String {
    let mut text = format!("\n  {}\n", flow.figure);
    for step in &flow.steps {
        for (reason, n) in &step.dropped {
            text.push_str(&format!("    {:>9}  {}\n", format!("- {n}"), words::outcome(reason)));
        }
        text.push_str(&format!("    {:>9}  {}\n", step.left, step.what));
    }
    text
}

/// A row for what dropped out before a step and one for what is left of it, steps counted from 1.
fn flows_csv(flows: &[Flow]) -> String {
    let mut text = String::from("figure,step,kind,name,n\n");
    for flow in flows {
        for (number, step) in (1..).zip(&flow.steps) {
            let left = [("left", &step.what, step.left)];
            let dropped = step.dropped.iter().map(|(reason, n)| ("dropped", reason, *n));
            for (kind, name, n) in dropped.chain(left) {
                text.push_str(&format!(
                    "{},{number},{kind},{},{n}\n",
                    quoted(&flow.figure),
                    quoted(name)
                ));
            }
        }
    }
    text
}

fn flow_json(flow: &Flow) -> serde_json::Value {
    let step = |step: &crate::queries::explain::Step| {
        let dropped: serde_json::Map<String, serde_json::Value> = step
            .dropped
            .iter()
            .map(|(reason, n)| (reason.clone(), json!(n)))
            .collect();
        json!({ "what": step.what, "dropped": dropped, "left": step.left })
    };
    json!({ "figure": flow.figure, "steps": flow.steps.iter().map(step).collect::<Vec<_>>() })
}

/// The moment of a case on the warehouse's clock, with its offset.
fn moment(case: &Case, protocol: &Protocol) -> String {
    let at = case.at_s.map(|at_s| local_time::iso(at_s, protocol.zone()));
    at.unwrap_or_default()
}

fn to_csv(cases: &[Case], protocol: &Protocol) -> String {
    let mut text = String::from("figure,kind,name,unit,infant_id,case_id,at\n");
    for case in cases {
        let cells = [
            &case.figure,
            &case.kind,
            &case.name,
            &case.unit,
            &case.infant_id,
            &case.case_id,
        ];
        let cells: Vec<String> = cells.iter().map(|cell| quoted(cell)).collect();
        text.push_str(&format!("{},{}\n", cells.join(","), moment(case, protocol)));
    }
    text
}

fn to_json(cases: &[Case], protocol: &Protocol) -> Result<String, Error> {
    let rows: Vec<serde_json::Value> = cases
        .iter()
        .map(|case| {
            json!({
                "figure": case.figure, "kind": case.kind, "name": case.name, "unit": case.unit,
                "infant_id": case.infant_id, "case_id": case.case_id, "at": moment(case, protocol),
            })
        })
        .collect();
    Ok(format!("{}\n", serde_json::to_string_pretty(&rows)?))
}
