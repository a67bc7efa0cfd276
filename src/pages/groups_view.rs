//! Groups of babies against each other, over twelve months.

use serde::Serialize;

use crate::charts::Format;
use crate::charts::axis::Start;
use crate::charts::groups::{Group, Groups, Reference};
use crate::queries::figures::{Figure, Quantity};

use super::figure_row::{row, write_of};
use super::{PageError, numbers, words};

/// The groups of one figure.
#[derive(Clone, Debug, Serialize)]
pub struct GroupsView {
    /// The chart, an SVG element.
    pub chart: String,
    /// Groups that differ from all others, a sentence each.
    pub differing: Vec<String>,
    /// How many groups were compared with all others.
    pub compared: usize,
    /// A row for each group.
    pub rows: Vec<GroupRow>,
}

/// One group.
#[derive(Clone, Debug, Serialize)]
pub struct GroupRow {
    /// What it is grouped by.
    pub by: String,
    /// Which group.
    pub name: String,
    /// `9 of 112`.
    pub count: String,
    /// Its figure.
    pub value: String,
    /// The interval.
    pub interval: String,
    /// Its figure minus that of all others, and the interval.
    pub difference: String,
}

/// Fewer cases are in the table, and make no sentence.
const FEWEST_CASES: u64 = 10;

/// The view of a figure's groups, of figures taken together over twelve months; `None` where
/// it has none, or is no share.
///
/// # Errors
/// When the chart cannot be drawn.
pub(super) fn view(network: &Figure, all: &[Figure]) -> Result<Option<GroupsView>, PageError> {
    let is_own = |f: &&Figure| f.measure == network.measure && f.denominator.is_some_and(|of| of > 0);
    let figures: Vec<&Figure> = all.iter().filter(is_own).collect();
    if figures.is_empty() || Quantity::of(&network.measure) != Quantity::Share {
        return Ok(None);
    }
    let name = words::figure(&network.measure);
    let groups: Vec<Group> = figures.iter().map(|figure| group(figure)).collect();
    let centre = network.value.unwrap_or(0.0);
    let label = format!("all {}", numbers::percent(centre, network.denominator.unwrap_or(0)));
    let chart = Groups {
        id: &format!("{}-groups", network.measure),
        title: &format!("{name} by group of babies, twelve months"),
        description: "A dot for each group with its 95 % interval; the dashed line is all together; the numbers are in the table below",
        groups: &groups,
        reference: network.value.map(|value| Reference { value, label: &label }),
        format: Format::Narrow,
        start: if centre > 0.5 { Start::Data } else { Start::Zero },
        write: write_of(&network.measure),
    };
    Ok(Some(GroupsView {
        chart: chart.svg()?,
        differing: figures
            .iter()
            .filter(|f| differs(f) && !is_mirrored(f, &figures))
            .map(|f| sentence(f))
            .collect(),
        compared: figures.iter().filter(|f| f.difference.is_some()).count(),
        rows: figures.iter().map(|f| group_row(f)).collect(),
    }))
}

/// Whether a group differs from all others by more than chance, taken alone.
fn differs(figure: &Figure) -> bool {
    let leaves_out_zero = |lower: f64, upper: f64| lower > 0.0 || upper < 0.0;
    let interval = figure.difference_lower.zip(figure.difference_upper);
    figure.group != UNKNOWN
        && figure.denominator >= Some(FEWEST_CASES)
        && interval.is_some_and(|(lower, upper)| leaves_out_zero(lower, upper))
}

/// Of two groups one says all: the second is the first turned round.
fn is_mirrored(figure: &Figure, figures: &[&Figure]) -> bool {
    let of_split: Vec<&str> = figures
        .iter()
        .filter(|other| other.split == figure.split && other.group != UNKNOWN)
        .map(|other| other.group.as_str())
        .collect();
    of_split.len() == 2 && of_split[1] == figure.group
}

/// The group of those of whom it is not known.
const UNKNOWN: &str = "unknown";

/// `skin tone: dark`; a group whose name says what it is one of stands alone.
fn named(figure: &Figure) -> String {
    match figure.split.as_str() {
        "weekend" | "night" if figure.group != UNKNOWN => figure.group.clone(),
        split => format!("{}: {}", words::column(split), figure.group),
    }
}

fn group(figure: &Figure) -> Group {
    let row = row(figure, "", false);
    Group {
        name: named(figure),
        value: figure.value,
        interval: figure.lower.zip(figure.upper),
        text: format!("{} of {}", row.value, numbers::count(figure.denominator.unwrap_or(0))),
        signal: differs(figure).then(|| "differs".to_owned()),
    }
}

/// `Skin tone: dark, 12 % (11 of 88): +8.0 (+2.1 to +14.0) percentage points from all others.`
fn sentence(figure: &Figure) -> String {
    let row = row(figure, "", false);
    format!(
        "{}, {} ({}): {} percentage points from all others.",
        super::verdict::begun(&named(figure)),
        row.value,
        row.count,
        points(figure)
    )
}

/// `+8.0 (+2.1 to +14.0)`, percentage points.
fn points(figure: &Figure) -> String {
    let ends = figure.difference_lower.zip(figure.difference_upper);
    match (figure.difference, ends) {
        (Some(difference), Some((lower, upper))) => format!(
            "{} ({} to {})",
            numbers::signed(100.0 * difference),
            numbers::signed(100.0 * lower),
            numbers::signed(100.0 * upper)
        ),
        _ => String::new(),
    }
}

fn group_row(figure: &Figure) -> GroupRow {
    let row = row(figure, "", false);
    GroupRow {
        by: words::column(&figure.split),
        name: figure.group.clone(),
        count: row.count,
        value: row.value,
        interval: row.interval,
        difference: points(figure),
    }
}
