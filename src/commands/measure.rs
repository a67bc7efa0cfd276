//! `siskin measure`: the figures of one or more months.

use crate::cli::{By, Format, Measure};
use crate::engine::{Limits, Session};
use crate::error::Error;
use crate::month::Month;
use crate::protocol::Protocol;
use crate::queries::figures::{self, Figure, Quantity};
use crate::queries::measure::Measuring;
use crate::queries::split::Split;

use super::explain;
use super::open;
use super::output::Say;

/// Prints the figures of the months asked for, or explains one.
pub(super) async fn run(options: &Measure, say: &Say) -> Result<(), Error> {
    let (unit, split) = groups(&options.by)?;
    let snapshot = open::snapshot(&options.snapshot, say).await?;
    open::has_cases(&snapshot)?;
    let protocol = Protocol::parse(&snapshot.protocol_text()?)?;
    let limits = Limits::asked_for(options.limits.memory, options.limits.threads);
    let session = Session::of(&snapshot, &limits)?;
    let measuring = Measuring {
        session: &session,
        protocol: &protocol,
        load: snapshot.manifest().load,
    };
    let months = measuring.months().await?;
    if let Some(month) = options.month {
        open::within(&months, month)?;
    }
    if let Some(name) = &options.explain {
        return explain::run(&measuring, name, options, say).await;
    }
    let Some(month) = options.month else {
        return Err(Error::Usage("--month is needed".to_owned()));
    };
    let asked = month.plus(1 - i32::from(options.months));
    let first = months.first().map_or(asked, |loaded| asked.max(*loaded));
    if first > asked {
        say.remark(&format!("the warehouse begins with {first}"));
    }
    let splits: Vec<Option<Split>> = [None].into_iter().chain(split.map(Some)).collect();
    let work = say.work();
    work.part("counting cases", 0);
    let counted = measuring.count(Month::range(first, month), &splits).await?;
    drop(work);
    let mut figures = counted.figures((first, month), None, None).by_month;
    figures.retain(|f| f.split == "all" || (f.split == "unit" && unit && split.is_none()));
    if let Some(split) = split {
        let wanted = if unit {
            format!("unit_and_{}", split.word())
        } else {
            split.word().to_owned()
        };
        let groups = counted.figures((first, month), None, Some(split)).by_month;
        figures.extend(groups.into_iter().filter(|f| f.split == wanted));
    }
    say.result(&match options.format {
        Format::Json => figures::to_json(&figures)?,
        Format::Csv => figures::to_csv(&figures),
        Format::Table => table(&figures),
    })
}

/// Whether figures are printed by unit, and by what else.
fn groups(by: &[By]) -> Result<(bool, Option<Split>), Error> {
    for (i, one) in by.iter().enumerate() {
        if by[..i].contains(one) {
            let word = one.word();
            return Err(Error::Usage(format!(
                "--by names {word} twice\n  to do: name it once, as --by {word}"
            )));
        }
    }
    let mut splits = by.iter().filter_map(|by| by.split());
    let (first, second) = (splits.next(), splits.next());
    if second.is_some() {
        return Err(Error::Usage(
            "--by takes one column, or unit and one other, such as unit,skin_tone".to_owned(),
        ));
    }
    Ok((by.contains(&By::Unit), first))
}

fn table(figures: &[Figure]) -> String {
    let has_groups = figures.iter().any(|f| f.split != "all");
    let mut text = format!(
        "{:<45}  {:<7}  {:<24}  {:>13}  {:>10}  {:>15}  {}{:>5}  left out\n",
        "figure",
        "month",
        "group",
        "count",
        "value",
        "95 % interval",
        if has_groups { "against the rest         " } else { "" },
        "open"
    );
    for f in figures {
        let count = match (f.numerator, f.denominator) {
            (Some(n), Some(of)) => format!("{n} of {of}"),
            _ => "no data".to_owned(),
        };
        let quantity = Quantity::of(&f.measure);
        let (scale, unit) = match quantity {
            Quantity::Share => (100.0, "%"),
            Quantity::Hours => (1.0, "h"),
            Quantity::PerThousandBirths => (1.0, "/1000"),
            Quantity::Concentration => (1.0, "umol/L"),
        };
        let value = f.value.map_or_else(String::new, |v| format!("{:.1} {unit}", v * scale));
        let between = |lower: Option<f64>, upper: Option<f64>| match (lower, upper) {
            (Some(lower), Some(upper)) => format!("{:.1} to {:.1}", lower * scale, upper * scale),
            (Some(lower), None) => format!("from {:.1}", lower * scale),
            (None, Some(upper)) => format!("up to {:.1}", upper * scale),
            (None, None) => String::new(),
        };
        let interval = between(f.lower, f.upper);
        let difference = f.difference.map_or_else(String::new, |d| {
            let ends = between(f.difference_lower, f.difference_upper);
            format!("{:+.1} ({ends})", d * scale)
        });
        let difference = if has_groups {
            format!("{difference:<25}")
        } else {
            String::new()
        };
        let left_out: Vec<String> = f.left_out.iter().map(|(reason, n)| format!("{n} {reason}")).collect();
        text.push_str(&format!(
            "{:<45}  {:<7}  {:<24}  {count:>13}  {value:>10}  {interval:>15}  {difference}{:>5}  {}{}\n",
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
