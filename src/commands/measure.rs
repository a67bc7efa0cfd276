//! `siskin measure`: the figures of one or more months.

use crate::cli::{Format, Measure};
use crate::engine::{Limits, Session};
use crate::error::Error;
use crate::month::Month;
use crate::protocol::Protocol;
use crate::queries::figures::{self, Figure};
use crate::queries::measure::Measuring;

use super::open;
use super::output::Say;

/// Prints the figures of the months asked for.
pub(super) async fn run(options: &Measure, say: &Say) -> Result<(), Error> {
    let snapshot = open::snapshot(&options.snapshot, say).await?;
    let protocol = Protocol::parse(&snapshot.protocol_text()?)?;
    let session = Session::of(&snapshot, &Limits::default())?;
    let measuring = Measuring {
        session: &session,
        protocol: &protocol,
        load: snapshot.manifest().load,
    };
    let months = measuring.months().await?;
    within(&months, options.month)?;
    let asked = options.month.plus(1 - i32::from(options.months));
    let first = months.first().map_or(asked, |loaded| asked.max(*loaded));
    if first > asked {
        say.remark(&format!("the warehouse begins with {first}"));
    }
    let mut figures = measuring.figures(first, options.month).await?;
    if options.by.is_none() {
        figures.retain(|f| f.split == "all");
    }
    say.result(&match options.format {
        Format::Json => figures::to_json(&figures)?,
        Format::Csv => figures::to_csv(&figures),
        Format::Table => table(&figures),
    })
}

/// Refuses a month outside those loaded.
pub(super) fn within(months: &[Month], month: Month) -> Result<(), Error> {
    match (months.first(), months.last()) {
        (Some(first), Some(last)) if month < *first || month > *last => Err(Error::NoSuchMonth {
            month,
            first: *first,
            last: *last,
        }),
        _ => Ok(()),
    }
}

fn table(figures: &[Figure]) -> String {
    let mut text = format!(
        "{:<33}  {:<7}  {:<12}  {:>11}  {:>8}  {:>15}  {:>5}  left out\n",
        "figure", "month", "group", "count", "value", "95 % interval", "open"
    );
    for f in figures {
        let count = match (f.numerator, f.denominator) {
            (Some(n), Some(of)) => format!("{n} of {of}"),
            _ => "no data".to_owned(),
        };
        let is_hours = f.measure.ends_with("_median");
        let value = f.value.map_or_else(String::new, |v| {
            if is_hours {
                format!("{v:.1} h")
            } else {
                format!("{:.1} %", v * 100.0)
            }
        });
        let interval = match (f.lower, f.upper) {
            (Some(lower), Some(upper)) => format!("{:.1} to {:.1}", lower * 100.0, upper * 100.0),
            _ => String::new(),
        };
        let left_out: Vec<String> = f.left_out.iter().map(|(reason, n)| format!("{n} {reason}")).collect();
        text.push_str(&format!(
            "{:<33}  {:<7}  {:<12}  {count:>11}  {value:>8}  {interval:>15}  {:>5}  {}{}\n",
            f.measure,
            f.month,
            printable(&f.group),
            f.open,
            left_out.join(", "),
            if f.provisional { " (provisional)" } else { "" },
        ));
    }
    text
}

/// A unit's name without line breaks, cut where it would break the table.
fn printable(name: &str) -> String {
    let plain = name.chars().map(|c| if c.is_control() { ' ' } else { c });
    plain.take(24).collect()
}
