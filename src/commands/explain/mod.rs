//! `siskin measure --explain`: what a measure is, how its counts came about, and its SQL.

use jiff::Timestamp;
use serde_json::json;

use crate::cli::{Format, Measure};
use crate::error::Error;
use crate::pages::words;
use crate::protocol::Protocol;
use crate::queries::catalogue::{self, Query};
use crate::queries::explain::{Case, Flow, measure_of};
use crate::queries::figures::quoted;
use crate::queries::measure::Measuring;

use super::output::Say;

/// Parts of a header that define a measure, and what they are called.
const PARTS: [(&str, &str); 6] = [
    ("what", "What"),
    ("figures", "Figures"),
    ("left out", "Left out"),
    ("choices", "Choices"),
    ("direction", "Direction"),
    ("source", "Source"),
];

/// Explains the measure or figure of that name.
pub(super) async fn run(measuring: &Measuring<'_>, name: &str, options: &Measure, say: &Say) -> Result<(), Error> {
    let query = measure_of(name).ok_or_else(|| no_such(name))?;
    let Some(month) = options.month else {
        return say.result(&format!("{}{}", definition(query), sql(query)));
    };
    if options.rows && options.format != Format::Table {
        let cases = measuring.cases(query, name, month).await?;
        return say.result(&match options.format {
            Format::Json => to_json(&cases, measuring.protocol)?,
            _ => to_csv(&cases, measuring.protocol),
        });
    }
    let flows = measuring.flows(query, name, month).await?;
    if options.format == Format::Json {
        let steps = flows.iter().map(flow_json).collect::<Vec<_>>();
        return say.result(&format!("{}\n", serde_json::to_string_pretty(&steps)?));
    }
    let mut text = definition(query);
    text.push_str(&format!("\nHow the figures of {} came about\n", month.in_words()));
    text.extend(flows.iter().map(flow_text));
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

/// What the header says, and the choices of the derived tables it rests on.
fn definition(query: &Query) -> String {
    let mut text = format!("{} ({})\n", query.header.get("title"), query.name);
    for (key, title) in PARTS {
        let told = query.header.get(key);
        if !told.is_empty() {
            text.push_str(&paragraph(title, told));
        }
    }
    for derived in catalogue::rests_on(query) {
        let title = format!("Table {}", derived.name);
        let told = format!(
            "{}: {}. {}",
            derived.header.get("title"),
            derived.header.get("grain"),
            derived.header.get("choices")
        );
        text.push_str(&paragraph(&title, told.trim()));
    }
    text
}

/// Widest line of prose.
const LINE: usize = 96;

fn paragraph(title: &str, told: &str) -> String {
    let mut text = format!("\n{title}\n ");
    let mut width = 1;
    for word in told.split_whitespace() {
        let length = word.chars().count();
        if width + 1 + length > LINE {
            text.push_str("\n ");
            width = 1;
        }
        text.push(' ');
        text.push_str(word);
        width += 1 + length;
    }
    text.push('\n');
    text
}

/// The SQL of the measure and of the derived tables it rests on.
fn sql(query: &Query) -> String {
    let mut text = format!("\nSQL of the measure\n\n{}", query.sql);
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
    let at = case.at_s.and_then(|at_s| Timestamp::from_second(at_s).ok());
    at.map_or_else(String::new, |at| {
        let zone = protocol.zone();
        let local = zone.to_datetime(at).strftime("%Y-%m-%dT%H:%M:%S").to_string();
        format!("{local}{}", offset(zone.to_offset(at).seconds()))
    })
}

/// An offset from UTC as ISO 8601 writes it: `+01:00`.
fn offset(seconds: i32) -> String {
    let (sign, minutes) = (if seconds < 0 { '-' } else { '+' }, seconds.abs() / 60);
    format!("{sign}{:02}:{:02}", minutes / 60, minutes % 60)
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
